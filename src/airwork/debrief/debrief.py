"""Debrief: a flown flight held against a standard, as one immutable value that becomes JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl

from airwork.airplane import Airplane
from airwork.debrief.arbiter import best_story
from airwork.debrief.certainty import Given
from airwork.debrief.first import Line, first_lines, margins_of
from airwork.debrief.first import as_json as lines_json
from airwork.debrief.first_margins import alike
from airwork.debrief.first_places import number_of
from airwork.debrief.fits import misfits
from airwork.debrief.fuel_record import fuel_record
from airwork.debrief.looked_for import has_a_standard, looked_for, silent
from airwork.debrief.margin import Margin
from airwork.debrief.notes import lesson_notes, marked, notes_of
from airwork.debrief.on_the_ground import ground_notes
from airwork.debrief.plan import LessonPlan, plan_json, plan_of
from airwork.debrief.record import clearing_record, excursions, with_clearing
from airwork.debrief.recorded import in_the_air, known_from, nothing_seen, quality_json, wind_found
from airwork.lesson.runway_ends import runway_ends_near
from airwork.maneuvers import room, rooms
from airwork.maneuvers.declared import Room
from airwork.maneuvers.episode import Episode, Grade, ungraded
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.runway_ends import RunwayEnd
from airwork.maneuvers.seeing.view import STEP_S, View
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording.flight import Flight
from airwork.standards import Standard
from airwork.units import to_unit
from airwork.version import VERSION

if TYPE_CHECKING:
    from airwork.lesson.briefing import Briefing


@dataclass(frozen=True, slots=True)
class Graded:
    """One maneuver found, with everything said of it."""

    episode: Episode
    grade: Grade

    @property
    def verdict(self) -> str:
        """The worst verdict of its criteria; "can't be judged" where none could be, "" where there are none."""
        said = {f.verdict for f in self.grade.findings}
        return next((v for v in ("not held", "briefly out and corrected", "held", "can't be judged") if v in said), "")

    @property
    def met(self) -> bool | None:
        """No criterion of the standard was missed; what can't be judged doesn't count. None: nothing could."""
        judged = [f.verdict != "not held" for f in self.grade.findings if f.verdict != "can't be judged"]
        return all(judged) if judged else None


@dataclass(frozen=True, slots=True, repr=False)
class Debrief:
    """A flight debriefed.

    mass_kg : as it was taken for the debrief; None: not given.
    misfits : what in the recording the airplane can't do, in words.
    airborne_s, known_from : time in the air, and what each quantity is known from; None, empty when there was too
        little to look at, or nothing known to have flown. wind : mean wind and height in blocks of ten minutes in the
        air.
    """

    flight: Flight
    standard: Standard
    airplane: Airplane | None
    plan: LessonPlan
    mass_kg: float | None = None
    misfits: tuple[str, ...] = ()
    episodes: tuple[Graded, ...] = ()
    airborne_s: float | None = None
    known_from: Mapping[str, str] = field(default_factory=dict)
    wind: tuple[Mapping[str, Any], ...] = ()
    fuel: Mapping[str, Any] = field(default_factory=dict)
    clearing: tuple[Mapping[str, Any], ...] = ()
    excursions: tuple[Mapping[str, Any], ...] = ()
    notes: tuple[str, ...] = ()
    margins: tuple[Margin, ...] = ()
    first: tuple[Line, ...] = ()

    @property
    def airplane_name(self) -> str:
        """Its name; "" without one."""
        return "" if self.airplane is None else self.airplane.name

    @property
    def met(self) -> bool:
        """Every graded maneuver met the standard."""
        return all(graded.met is not False for graded in self.episodes)

    @property
    def wants_elevation(self) -> bool:
        """A height above ground was to be judged and is not known: its elevation would help."""
        judged = (f for g in self.episodes for f in g.grade.findings if f.quantity == "agl")
        unknown = any(f.verdict == "can't be judged" and f.worst is None for f in judged)
        return unknown or any(line.asks_elevation for line in self.first)

    def __repr__(self) -> str:
        missed = sum(g.met is False for g in self.episodes)
        name = self.flight.source.get("name") or "a recording"
        return f"<Debrief of {name}: {len(self.episodes)} maneuvers, {missed} not held, against {self.standard.title}>"

    def _repr_html_(self) -> str:
        """For notebooks: what it is, and the table."""
        return f"<p>{escape(repr(self))}</p>{self.table()._repr_html_()}"

    def table(self) -> pl.DataFrame:
        """The maneuvers as a polars frame, one in a row: what, when, how sure, the verdict, what was missed, why."""
        rows = [
            {
                "number": n, "kind": g.episode.kind, "title": room(g.episode.kind).title, "start_s": g.episode.start_s,
                "end_s": g.episode.end_s, "start_utc": _utc(self.flight, g.episode.start_s),
                "confidence": round(g.episode.score, 3), "verdict": g.verdict,
                "missed": [f.name for f in g.grade.findings if f.verdict == "not held"],
                "reason": g.grade.causes[0].text if g.grade.causes else "",
            }
            for n, g in enumerate(self.episodes, start=1)
        ]  # fmt: skip
        kinds: dict[str, Any] = {
            "number": pl.Int64, "kind": pl.String, "title": pl.String, "start_s": pl.Float64, "end_s": pl.Float64,
            "start_utc": pl.String, "confidence": pl.Float64, "verdict": pl.String, "missed": pl.List(pl.String),
            "reason": pl.String,
        }  # fmt: skip
        return pl.DataFrame(rows, schema=kinds)

    def as_json(self) -> dict[str, Any]:
        """Plain data as the JSON Schema of the package describes it; unit-bearing keys, no NaN."""
        lesson, pairs = plan_json(self.plan), [(g.episode, g.grade) for g in self.episodes]
        of: dict[int, list[Margin]] = {}
        for margin in self.margins:
            of.setdefault(number_of(pairs, margin), []).append(margin)
        return {
            "flight": _flight_json(self),
            "quality": quality_json(self.flight),
            "wind": [dict(row) for row in self.wind],
            "episodes": [_episode_json(self.flight, graded, of.get(k, ())) for k, graded in enumerate(self.episodes)],
            "fuel": dict(self.fuel),
            "notes": list(self.notes),
            "first": list(lines_json(self.first)),
            **({"lesson": lesson} if lesson else {}),
        }


def debrief(
    flight: Flight,
    *,
    standard: Standard,
    airplane: Airplane | None = None,
    briefing: Briefing | LessonPlan | None = None,
    mass_kg: float | None = None,
) -> Debrief:
    """What was flown, held against the standard, and why it drifted.

    Parameters
    ----------
    airplane : improves the stall margin, flaps, power and the handbook speeds; works without.
    briefing : the lesson: targets, what it lists as mild evidence, area, fuel and tank plan.
    mass_kg : the airplane's mass; the lesson's, the recording's or the greatest allowed one without it.
    """
    plan = LessonPlan() if briefing is None else briefing if isinstance(briefing, LessonPlan) else plan_of(briefing)
    mass = mass_kg if mass_kg is not None else plan.mass_kg
    found = Debrief(flight, standard, airplane, plan, mass, misfits(flight, airplane))
    evidence = evidence_of(found)
    if evidence is None:
        return replace(found, first=(Line("not known", nothing_seen(flight)),))
    episodes = recognize(evidence.view, plan.order, airplane)
    if not silent(flight, airplane):  # what may have driven has no time in the air
        length_s = float(flight.time_s[-1] - flight.time_s[0])  # each sample stands for a step, the last one too
        found = replace(
            found, airborne_s=min(float(in_the_air(evidence).sum()) * STEP_S, length_s),
            known_from=known_from(evidence.view), wind=tuple(wind_found(evidence)),
        )  # fmt: skip
    evidence = replace(evidence, episodes=tuple(episodes))
    return with_episodes(found, evidence, [graded(e, evidence) for e in episodes])


def evidence_of(found: Debrief) -> Evidence | None:
    """The grader's desk of a debrief, looked at anew: a debrief doesn't carry it. None when there is too little."""
    view = build_view(found.flight, airplane=found.airplane, mass_kg=found.mass_kg)
    if view is None:
        return None
    return Evidence(found.flight, view, found.standard, found.airplane, found.mass_kg, found.plan.targets,
                    worked_out=found.plan.worked_out, glide_asked=found.plan.glide_asked, ground_m=found.plan.ground_m,
                    runways=_runways(found.flight))  # fmt: skip


def _runways(flight: Flight) -> tuple[RunwayEnd, ...]:
    """Published runways where the wheels met the ground."""
    latitude, longitude = flight.get("latitude_rad"), flight.get("longitude_rad")
    if latitude is None or longitude is None:
        return ()
    down = [flight.index_at(c.time_s) for c in flight.contacts]
    found = (end for k in down for end in runway_ends_near(float(latitude[k]), float(longitude[k])))
    return tuple(dict.fromkeys(found))


def with_episodes(found: Debrief, evidence: Evidence, judged: Sequence[Graded]) -> Debrief:
    """The debrief with these maneuvers, and everything that follows from them."""
    episodes, plan = [g.episode for g in judged], found.plan
    fuel, fuel_notes = fuel_record(evidence, episodes, plan)
    clearing, left = clearing_record(evidence, episodes), excursions(evidence, episodes, plan)
    longest_s = found.standard.judging["clearing_turn_before_s"]
    if has_a_standard(found.flight, found.airplane):
        judged = [
            g if ungraded(g.episode.evidence)
            else replace(g, grade=with_clearing(g.grade, g.episode, clearing, longest_s))
            for g in judged
        ]  # fmt: skip
    else:
        judged = [replace(g, grade=replace(g.grade, findings=(), causes=())) for g in judged]
    pairs = [(g.episode, g.grade) for g in judged]
    margins = margins_of(evidence, pairs)
    notes = (
        *marked(found.flight, episodes),
        *lesson_notes(plan, found.airplane, found.flight.start_utc_s),
        *ground_notes(evidence.view), *notes_of(evidence, episodes, clearing, left), *fuel_notes,
    )  # fmt: skip
    return replace(
        found, episodes=tuple(judged), fuel=fuel, clearing=tuple(clearing), excursions=tuple(left), notes=notes,
        margins=tuple(m for m in margins if not m.good),
        first=first_lines(evidence, pairs, found.misfits, plan.planned, margins),
    )  # fmt: skip


def graded(episode: Episode, evidence: Evidence) -> Graded:
    """An episode with what its room says of it."""
    grade = room(episode.kind).grade
    assert grade is not None, episode.kind
    return Graded(episode, grade(episode, evidence))


def recognize(view: View, lesson: Sequence[str] = (), airplane: Airplane | None = None) -> list[Episode]:
    """The maneuvers of a flight: every room that may proposes, the arbiter decides and says how sure it is."""
    return best_story(proposals_of(view, looked_for(view.flight, airplane)), lesson, given_of(view))


def proposals_of(view: View, asked: Sequence[Room] | None = None) -> list[Episode]:
    """What these rooms see, all without."""
    return [episode for one in (rooms() if asked is None else asked) for episode in one.seen(view)]


def given_of(view: View) -> Given:
    """What is recorded, as far as claims hang on it."""
    return Given(view.speed_from != "airspeed", view.flight.step_s)


def _utc(flight: Flight, seconds: float) -> str | None:
    if not math.isfinite(flight.start_utc_s):
        return None
    return (
        datetime.fromtimestamp(flight.start_utc_s + seconds, UTC)
        .isoformat(timespec="milliseconds")
        .replace("+00:00", "Z")
    )


def _flight_json(found: Debrief) -> dict[str, Any]:
    flight = found.flight
    last = float(flight.time_s[-1]) if len(flight) else 0.0
    source = {k: v for k, v in flight.source.items() if isinstance(v, (str, int, float, bool))}
    out: dict[str, Any] = {
        "name": str(source.get("name", "")), "sha256": str(source.get("sha256", "")), "source": _plain(source),
        "start_utc": _utc(flight, 0.0), "end_utc": _utc(flight, last), "duration_s": round(last, 2),
        "samples": len(flight), "airplane": found.airplane_name, "lesson": found.plan.title,
        "standard": {
            "id": found.standard.id, "title": found.standard.title, "edition": found.standard.edition,
            "authority": found.standard.authority, "notes": list(found.standard.notes),
            "documents": dict(found.standard.documents),
            "thresholds": [
                {"name": t.name, "value": t.value, "unit": t.unit, "why": t.why, "whose": t.whose}
                for t in found.standard.judging.thresholds.values()
            ],
        },
        "airwork_version": VERSION, "met": found.met,
        "contacts": [{"kind": c.kind, "time_s": round(c.time_s, 2)} for c in flight.contacts],
        "clearing_turns": [dict(row) for row in found.clearing], "excursions": [dict(row) for row in found.excursions],
    }  # fmt: skip
    if np.isfinite(flight.start_utc_s):
        out["start_utc_s"] = round(flight.start_utc_s, 3)
    if found.airborne_s is not None:
        out |= {"airborne_s": round(found.airborne_s, 1), "known_from": dict(found.known_from)}
    return out


def _plain(values: Mapping[str, Any]) -> dict[str, Any]:
    return {k: v for k, v in values.items() if not (isinstance(v, float) and not math.isfinite(v))}


def _instead_json(e: Episode) -> dict[str, Any]:
    """The second-best story."""
    return {
        "kind": e.kind, "title": room(e.kind).title, "start_s": round(e.start_s, 2), "end_s": round(e.end_s, 2),
        "confidence": round(e.score, 3),
    }  # fmt: skip


def _episode_json(flight: Flight, graded: Graded, margins: Sequence[Margin] = ()) -> dict[str, Any]:
    e, g = graded.episode, graded.grade
    worst: dict[str, Margin] = {}
    for m in margins:  # worst first: of pushes and the like the worst alone
        worst.setdefault(alike(m.text), m)
    thin = [m for m in worst.values() if m.text not in {c.text for c in g.causes}]
    return {
        "kind": e.kind, "title": room(e.kind).title, "start_s": round(e.start_s, 2), "end_s": round(e.end_s, 2),
        "start_utc": _utc(flight, e.start_s), "end_utc": _utc(flight, e.end_s), "confidence": round(e.score, 3),
        **({} if e.instead is None else {"instead": _instead_json(e.instead)}),
        "phases": [{"name": p.name, "start_s": round(p.start_s, 2), "end_s": round(p.end_s, 2)} for p in e.phases],
        "evidence": list(e.evidence), "target": dict(g.target), "target_source": g.target_source,
        "measured": _plain(g.measured), "met": graded.met,
        "criteria": [
            {
                "name": f.name, "limit": f.limit, "low": f.low, "high": f.high, "unit": f.unit, "worst": f.worst,
                "within_fraction": f.within_fraction, "verdict": f.verdict, "why": f.why,
                "first_excursion_s": None if f.first_excursion_s is None else round(f.first_excursion_s, 2),
                "longest_excursion_s": f.longest_excursion_s, "trend_per_min": f.trend_per_min,
                "source": f.source, "label": f.label, "quantity": f.quantity, "allowance": f.allowance,
                "shape": f.shape, "judged": f.judged,
            }
            for f in g.findings
        ],
        "causes": [
            {"text": c.text, "try_next": c.try_next, "start_s": round(c.start_s, 2), "end_s": round(c.end_s, 2),
             "weight": round(c.weight, 3), "name": c.name, "root": c.root, "explains": c.explains,
             "share": None if c.share is None else round(c.share, 2)}
            for c in g.causes
        ],
        **({"margins": [{"text": m.text, "start_s": round(m.start_s, 2), "end_s": round(m.end_s, 2)} for m in thin]}
           if thin else {}),
        "said": list(g.said),
        "stretches": [
            {"name": s.name, "start_s": round(s.start_s, 2), "end_s": round(s.end_s, 2), "source": s.source,
             "altitude_ft": None if s.altitude_m is None else round(to_unit(s.altitude_m, "ft"))}
            for s in g.stretches
        ],
    }  # fmt: skip
