"""What was flown and not judged: what a recording can't show, finals apart, circles that belong to no maneuver."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from airwork.airdata.angles import turn_from_to_rad, wrap_positive_rad
from airwork.debrief.looked_for import has_a_standard, silent
from airwork.maneuvers import room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.seeing.turns import Turn, find_turns
from airwork.maneuvers.seeing.view import STEP_S
from airwork.masks import runs
from airwork.recording.craft import craft_of
from airwork.units import KT_MPS, to_unit, write

Judged = tuple[Episode, Grade]

FINALS = 2  # so many show a spread
MOST_OF_STALL = 1.3  # where no approach speed is published (FAA-S-ACS-6C, IV.B)
GAINS_MPS2 = 2.0  # about the lift-off: so much a second of the moment is of its speed (no source)
GROUND_APART_MPS, SAME_WAY_RAD = 15.0 * KT_MPS, np.radians(30.0)  # 10 kt, and 5 of the wind's (no source)
LOW_CIRCLE_M, LEAST_DRIFT_M, DRIFT_SHARE = (
    366.0,
    100.0,
    0.6,
)  # 1,200 ft: over the 600 to 1,000 asked for; of what the wind does in one time round
HALF_RAD = np.radians(150.0)
LONG_S, WITHIN = 300.0, (5.0, 95.0)  # the way between two exercises is shorter (no source); percent of the samples
MOST_TURNED_RAD = np.radians(120.0)  # more is turning about
CIRCLING_RAD = np.radians(330.0)  # turned so far outside every maneuver: flown and not judged


def count(n: int, what: str) -> str:
    """ "1 maneuver", "2 maneuvers"."""
    return f"{n} {what}" + ("" if n == 1 else "s")


def not_judged(evidence: Evidence, graded: Sequence[Judged], *, circled: bool) -> str:
    """Flown and not judged: exercises nothing could be said of, circles that belong to no maneuver.

    circled : half circles were flown and no height above ground is known.
    """
    if silent(evidence.flight, evidence.airplane):
        return ""  # what may have driven flew no circles
    if not has_a_standard(evidence.flight, evidence.airplane):
        what = (
            "Faster or higher than light singles train" if craft_of(evidence.flight).kind == "fast" else "A sailplane"
        )
        return f"{what} by its recording: no published standard for it here, nothing is graded."
    blind = [
        room(e.kind).named
        for e, g in graded
        if not room(e.kind).plain and g.findings and all(f.verdict == "can't be judged" for f in g.findings)
    ]
    said = []
    if blind:
        said.append(f"{', '.join(dict.fromkeys(blind))}: the recording can't show what the standard asks")
    if finals := _finals_apart(evidence, graded) or _fast_by_the_takeoff(evidence, graded):
        said.append(finals)
    circles = _circles(evidence, [e for e, _ in graded])
    if circles:
        said.append(circles)
    if circled:
        said.append("exercises by a mark on the ground, for want of a height above it: say the elevation there")
    return "; ".join(said) + "." if said else ""


def unclaimed(evidence: Evidence, episodes: Sequence[Episode]) -> tuple[str, float, float] | None:
    """The longest time in the air that is in no maneuver, where it is long: what was held in it, from when to when."""
    view = evidence.view
    free = view.airborne & view.known
    for e in episodes:
        free[view.at(e.start_s) : view.at(e.end_s) + 1] = False
    first, end = max(runs(free), key=lambda part: part[1] - part[0], default=(0, 0))
    seconds = (end - first) * STEP_S
    if silent(evidence.flight, evidence.airplane) or seconds < LONG_S:
        return None
    feet = [to_unit(h, "ft") for h in np.percentile(view.altitude_m[first:end], WITHIN)]
    text = f"{seconds / 60.0:.0f} min in the air belong to no exercise airwork knows: altitude {_rounded(feet, 10)} ft"
    turned = np.percentile(view.heading_rad[first:end], WITHIN)
    if np.ptp(turned) < MOST_TURNED_RAD and view.turn_known:
        way = "track" if view.heading_from == "track" else "heading"
        text += f", {way} " + _between([f"{np.degrees(wrap_positive_rad(h)):03.0f}" for h in turned]) + "°"
    return f"{text}.", float(view.time_s[first]), float(view.time_s[end - 1])


def _rounded(values: Sequence[float], step: int) -> str:
    return _between([f"{step * round(v / step):,}" for v in values])


def _finals_apart(evidence: Evidence, graded: Sequence[Judged]) -> str:
    """Finals further apart than one may be too fast, each held to the pilot's own speed or to none: one is wrong."""
    own = [f for e, g in graded if room(e.kind).lands for f in g.findings if f.quantity == "ias" and f.judged]
    aims = sorted(f.aim for f in own if f.aim is not None)
    if len(aims) >= FINALS and own[0].high is not None and aims[-1] - aims[0] > own[0].high:
        between = f"{aims[0]:.0f} to {aims[-1]:.0f} {own[0].unit}"
        return f"{count(len(aims), 'final')} flown at {between}: which is right isn't known without the approach speed"
    grounds = [] if evidence.has_airspeed else sorted(_ground_speeds(evidence, graded))
    if len(grounds) < FINALS or grounds[-1] - grounds[0] < GROUND_APART_MPS:
        return ""
    between = f"{to_unit(grounds[0], 'kt'):.0f} to {to_unit(grounds[-1], 'kt'):.0f} kt"
    return f"{count(len(grounds), 'final')} one way flown at {between} over the ground: the fastest was fast"


def _fast_by_the_takeoff(evidence: Evidence, graded: Sequence[Judged]) -> str:
    """The fastest final where it was fast whatever the airplane: it had flown off slower, so it stalls slower still."""
    flown_off = [g.measured["lift_off_ias_kt"] for _, g in graded if "lift_off_ias_kt" in g.measured]
    own = [f.aim for e, g in graded if room(e.kind).lands for f in g.findings if f.quantity == "ias" and f.judged]
    fastest, slowest = max((aim for aim in own if aim is not None), default=0.0), min(flown_off, default=np.inf)
    if fastest <= MOST_OF_STALL * (slowest + to_unit(GAINS_MPS2 * evidence.touch_within_s, "kt")):
        return ""
    return (
        f"a final flown at {fastest:.0f} kt: more than 1.3 times the stall, for it had lifted off at {slowest:.0f} kt; "
        "how much more needs the airplane's file"
    )


def _ground_speeds(evidence: Evidence, graded: Sequence[Judged]) -> list[float]:
    """Mean ground speed of each final along the first one's track. [m/s]"""
    ground, track = evidence.flight.get("groundspeed_mps"), evidence.flight.get("track_rad")
    finals = [s for e, g in graded if room(e.kind).lands for s in g.stretches if s.name == "final"]
    if ground is None or track is None or not finals:
        return []
    ways = [float(np.angle(np.exp(1j * track[evidence.flight.span(s.start_s, s.end_s)]).mean())) for s in finals]
    speeds = [evidence.mean(ground, s.start_s, s.end_s) for s in finals]
    return [v for v, way in zip(speeds, ways, strict=True) if abs(turn_from_to_rad(ways[0], way)) < SAME_WAY_RAD]


def by_the_ground(evidence: Evidence, episodes: Sequence[Episode]) -> bool:
    """Half circles outside any maneuver, twice or a whole one, where no height above ground is known."""
    if np.isfinite(evidence.view.agl_m).any():
        return False
    lone = [
        t.change_rad
        for t in evidence.view.once(find_turns)
        if t.change_rad > HALF_RAD and not _in_one(t, evidence, episodes)
    ]
    return len(lone) > 1 or any(change > CIRCLING_RAD for change in lone)


def _circles(evidence: Evidence, episodes: Sequence[Episode]) -> str:
    turns = evidence.view.once(find_turns)
    lone = [t for t in turns if t.change_rad > CIRCLING_RAD and not _in_one(t, evidence, episodes)]
    if not lone:
        return ""
    radii = [t.radius_m for t in lone if np.isfinite(t.radius_m)]
    spread = f", radius {_between([write(r, 'ft') for r in sorted(radii)])} over the ground" if radii else ""
    banks = [f"{b:.0f}" for b in sorted(t.bank_deg for t in lone)]
    drifted = [t for t in lone if _drifted(evidence, t)]
    which = "" if len(drifted) == len(lone) else f"{_rounds(drifted)} of them "
    drift = f"; {which}low and drifting with the wind: if a point was meant, it was not allowed for" if drifted else ""
    return f"{count(_rounds(lone), 'circle')} outside any maneuver, {_between(banks)}° of bank{spread}{drift}"


def _rounds(turns: Sequence[Turn]) -> int:
    """How many times round they went in all; one that is nearly a circle is one, once and a half too."""
    return sum(max(1, int(t.change_rad / (2.0 * np.pi) + 0.25)) for t in turns)


def _in_one(turn: Turn, evidence: Evidence, episodes: Sequence[Episode]) -> bool:
    """A turn is some maneuver's, or lies whole within plain flying."""
    start, end = (float(evidence.view.time_s[k]) for k in (turn.first, turn.last))
    over = [e for e in episodes if e.start_s < end and e.end_s > start]
    return any(not room(e.kind).plain or (e.start_s <= start and e.end_s >= end) for e in over)


def _between(ordered: Sequence[str]) -> str:
    """ "24 to 54", or the one value."""
    return ordered[0] if ordered[0] == ordered[-1] else f"{ordered[0]} to {ordered[-1]}"


def _drifted(evidence: Evidence, turn: Turn) -> bool:
    """A low circle carried along by the wind: each time round it came by about where the wind took it."""
    view = evidence.view
    above = view.agl_m[turn.first : turn.last + 1]
    if view.wind_mps is None or not np.isfinite(above).any() or not np.nanmedian(above) < LOW_CIRCLE_M:
        return False
    heading = view.heading_rad[turn.first : turn.last + 1]
    round_by = np.flatnonzero(np.abs(heading - heading[0]) >= 2.0 * np.pi)
    if not round_by.size:
        return False
    k = turn.first + int(round_by[0])
    moved = np.array([view.east_m[k] - view.east_m[turn.first], view.north_m[k] - view.north_m[turn.first]])
    part = evidence.flight.span(float(view.time_s[turn.first]), float(view.time_s[k]))
    blown = np.array([float(np.nanmean(w[part])) for w in view.wind_mps]) * (view.time_s[k] - view.time_s[turn.first])
    size = float(np.hypot(*blown))
    return bool(size > LEAST_DRIFT_M and float(moved @ blown) / size > DRIFT_SHARE * size)
