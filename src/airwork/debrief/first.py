"""What a debrief says first: five to seven lines an instructor can say in a minute, before any table.

What was flown, what went well, where a margin was thin, the pattern behind the errors, one drill, one question. The
ranking, the classes and the drills are judgment (common practice, no source); every number is one of the debrief's.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from airwork.debrief.first_margins import alike, grouped, joined, said_first
from airwork.debrief.first_words import QUESTIONS, drill, on_the_dial, root_words, with_article
from airwork.debrief.looked_for import has_a_standard
from airwork.debrief.margins import Margin, speed_words, thin_margins
from airwork.maneuvers import room
from airwork.maneuvers.declared import Role
from airwork.maneuvers.episode import Cause, Episode, Finding, Grade, Root
from airwork.maneuvers.seeing.turns import Turn, find_turns
from airwork.maneuvers.seeing.view import STEP_S
from airwork.units import from_unit, write

if TYPE_CHECKING:
    from airwork.maneuvers.grading.evidence import Evidence

Judged = tuple[Episode, Grade]

STANDARD, TO_AND_FRO, MOST_SIZE, EACH_FURTHER = 30.0, 0.2, 3.0, 0.5
OWN, MOST_OWN = "airwork", 1.5  # a tolerance no standard prints weighs less, however far out
SWINGS = ("chased", "out of trim")
SAME_S = 120.0  # within this of the thin margin it is the same event
INSIDE = 0.95  # at least this share inside is never "not held"
LEAST_SIZE = 0.65  # of the tolerance: told beside its maneuver, no error to work on
WELL = 0.6  # of the tolerance at worst: well inside
MOST_PLACES, MOST_WELL, MOST_KINDS = 4, 2, 6
LOW_CIRCLE_M, LEAST_DRIFT_M, DRIFT_SHARE = 460.0, 100.0, 0.6  # 1,500 ft; of what the wind does in one time round
ONE_SIDED_RAD = np.radians(8.0)  # between the roll-outs to one side and to the other
CIRCLING_RAD = np.radians(330.0)  # turned so far outside every maneuver: flown and not judged
WORDS = {"altitude": "altitude", "ias": "speed", "bank": "bank", "rollout_heading": "roll-out", "heading": "heading",
         "level_off_altitude": "level-off", "ground_radius": "radius", "pattern_altitude": "altitude",
         "pattern_ias": "speed"}  # fmt: skip
# What a criterion well inside says of a pilot, most first.
TELLING = ("ground_radius", "altitude", "ias", "level_off_altitude", "rollout_heading", "bank", "heading")
PLURAL_SAME = ("s-turns", "turns around a point", "eights on pylons")


@dataclass(frozen=True, slots=True)
class Line:
    """One line said first. start_s, end_s : the moment it is about; None for none. The text holds no clock time."""

    heading: str
    text: str
    start_s: float | None = None
    end_s: float | None = None


@dataclass(frozen=True, slots=True)
class _Place:
    """One error somewhere in the flight, ready to be ranked."""

    text: str
    where: str
    rank: float
    root: Root
    start_s: float
    end_s: float
    maneuver: int  # number of the episode; -1 none
    quantity: str = ""  # whose deviation it explains
    margin: str = ""  # what kind of thin margin it is, told as such


def first_lines(evidence: Evidence, graded: Sequence[Judged]) -> tuple[Line, ...]:
    """The lines, those that have something to say, in the order they are said."""
    margins = thin_margins(evidence, graded)
    thin = [m for m in margins if not m.good]
    said = grouped(thin)
    out = [_in_short(evidence, graded)]
    well = _went_well(evidence, graded, margins)
    if well:
        out.append(Line("went well", " ".join(well)))
    if thin:
        out.append(Line("first", joined(said), thin[0].start_s, thin[0].end_s))
    places = _places(evidence, graded, thin)
    root, chosen = _pattern(places, said_first(said))
    kind = thin[0].kind if thin else ""
    if chosen:
        maneuvers = {p.maneuver: graded[p.maneuver][0].kind for p in chosen if p.maneuver >= 0}
        heading = "pattern" if len({p.maneuver for p in chosen}) > 1 else "main error"
        shown = sorted(
            chosen[:MOST_PLACES], key=lambda p: p.start_s
        )  # as they were flown: the clock is the first one's
        if heading == "pattern":
            words = root_words(root, {p.quantity for p in chosen}, maneuvers.values())
            text = _pattern_text(words, shown, len(chosen))
        else:
            text = f"{shown[0].text[0].upper()}{shown[0].text[1:].rstrip('.')}."
        out.append(Line(heading, text, shown[0].start_s, shown[0].end_s))
        kind = maneuvers.get(chosen[0].maneuver, "")
    elif thin:
        root = thin[0].root
    if root:
        place = chosen[0].where if chosen else room(kind).title.lower() if kind else "that moment"
        out.append(Line("next time", drill(root, {p.quantity for p in chosen}, kind)))
        out.append(Line("ask", QUESTIONS[root].format(place=with_article(place))))
    sided = _one_sided(graded)
    if sided:
        out.append(Line("one side", sided))
    unjudged = _not_judged(evidence, graded)
    if unjudged:
        out.append(Line("not judged", unjudged))
    return tuple(out)


def _in_short(evidence: Evidence, graded: Sequence[Judged]) -> Line:
    shown = [room(e.kind) for e, _ in graded if not room(e.kind).plain]
    exercises = [r.title.lower() for r in shown if r.role is Role.EXERCISE]
    kinds = list(dict.fromkeys([*exercises, *(r.title.lower() for r in shown)]))
    more = f" and {len(kinds) - MOST_KINDS} more" if len(kinds) > MOST_KINDS else ""
    named = ", ".join(kinds[:MOST_KINDS]) + more if kinds else "no exercise"
    minutes = evidence.view.airborne.sum() * STEP_S / 60.0
    return Line("in short", f"{named} · {minutes:.0f} min in the air · {_count(len(graded), 'maneuver')}")


def _count(n: int, what: str) -> str:
    return f"{n} {what}" + ("" if n == 1 else "s")


def _went_well(evidence: Evidence, graded: Sequence[Judged], margins: Sequence[Margin]) -> list[str]:
    """True, specific, measured: kinds whose criterion was well inside each time, and right decisions."""
    out = [f"{m.text}." for m in margins if m.good][:1]
    spoiled = {m.kind for m in margins if not m.good}
    found: list[tuple[int, float, str]] = []
    order = sorted(graded, key=lambda g: g[0].kind)
    for kind, group in groupby(order, key=lambda g: g[0].kind):
        flown = list(group)
        if room(kind).plain or kind in spoiled or any(c.weight > 1.0 for _, g in flown for c in g.causes):
            continue
        best = _best(evidence, room(kind).title.lower(), [g for _, g in flown])
        if best is not None:
            found.append(best)
    return out + [text for _, _, text in sorted(found)[: MOST_WELL - len(out)]]


def _best(evidence: Evidence, title: str, grades: Sequence[Grade]) -> tuple[int, float, str] | None:
    """The first criterion well inside through all of one kind: (how telling, worst share of tolerance, sentence)."""
    shares: dict[str, tuple[float, float, Finding]] = {}
    for quantity in TELLING:
        findings = [f for g in grades for f in g.findings if f.quantity == quantity]
        if len(findings) < len(grades) or any(f.verdict != "held" or f.worst is None for f in findings):
            continue
        if any(f.judged for f in findings):
            continue
        worst = max(findings, key=lambda f: abs(f.worst or 0.0))
        sizes = [abs(x) for x in (worst.low, worst.high) if x]
        if sizes and worst.worst is not None and (share := abs(worst.worst) / max(sizes)) <= WELL:
            shares[quantity] = (share, abs(worst.worst), worst)
    if not shares:
        return None
    quantity = min(shares, key=TELLING.index)
    share, size, worst = shares[quantity]
    n = len(grades)
    if n == 1:
        each = f"the {title}"
    elif title in PLURAL_SAME:
        each = f"{title}, {'both' if n == 2 else f'all {n}'} times,"
    else:
        each = f"both {title}s" if n == 2 else f"all {n} {title}s"
    return (
        TELLING.index(quantity),
        share,
        f"{WORDS.get(quantity, quantity).capitalize()} in {each} within {_value(evidence, worst, size)}.",
    )


def _value(evidence: Evidence, finding: Finding, size: float) -> str:
    """A deviation's size as read off the dial."""
    if finding.unit == "kt":
        return speed_words(evidence, from_unit(max(size, 1.0), "kt"))
    if finding.unit == "%":
        return f"{size:.0f} %"
    return write(from_unit(size, finding.unit), finding.unit, 0) if finding.unit not in ("turns", "") else f"{size:.1f}"


def _places(evidence: Evidence, graded: Sequence[Judged], thin: Sequence[Margin]) -> list[_Place]:
    """Every error with its rank: class × size over tolerance, before recurrence."""
    out = [_Place(m.short, room(m.kind).title.lower() if m.kind else "that moment", m.rank, m.root, m.start_s, m.end_s,
                  _number(graded, m), margin=alike(m.text.rstrip("."))) for m in thin if m.root]  # fmt: skip
    for number, (e, grade) in enumerate(graded):
        if room(e.kind).plain and not any(f.verdict == "not held" for f in grade.findings):
            continue
        for cause in grade.causes:
            if cause.name == "again":
                continue  # told as a margin
            finding = next((f for f in grade.findings if cause.explains and f.quantity == cause.explains), None)
            size = min(_size(cause, finding), MOST_SIZE)
            if size < LEAST_SIZE:
                continue
            if finding is not None and finding.within_fraction is not None and finding.within_fraction >= INSIDE:
                size = min(size, 0.8)
            if finding is not None and finding.source == OWN:
                size = min(size, MOST_OWN)
            wavy = cause.name in SWINGS or (finding is not None and finding.shape == "to and fro")
            factor = TO_AND_FRO if wavy else 1.0
            where = _where(e)
            text = _told(evidence, where, cause, finding)
            rank = STANDARD * size * factor * e.score  # what may be another maneuver costs as much less
            out.append(_Place(text, where, rank, cause.root, cause.start_s, cause.end_s, number, cause.explains))
    return sorted(out, key=lambda p: -p.rank)


def _size(cause: Cause, finding: Finding | None) -> float:
    """How far out over the tolerance on that side, as far as the cause explains it; the cause's own without one."""
    if finding is None or finding.worst is None:
        return cause.weight
    side = finding.high if finding.worst > 0.0 else finding.low
    if not side or side * finding.worst <= 0.0:
        return cause.weight
    return max(cause.weight, finding.worst / side * (1.0 if cause.share is None else cause.share))


def _number(graded: Sequence[Judged], margin: Margin) -> int:
    for number, (e, _) in enumerate(graded):
        if e.kind == margin.kind and e.start_s <= margin.end_s and e.end_s >= margin.start_s:
            return number
    return -1


def _where(e: Episode) -> str:
    side = {1.0: "right ", -1.0: "left "}.get(float(e.facts.get("sign", 0.0)), "") if e.kind.endswith("turn") else ""
    return f"{side}{room(e.kind).title.lower()}"


def _told(evidence: Evidence, where: str, cause: Cause, finding: Finding | None) -> str:
    """One number for one place, or the cause's own sentence."""
    if finding is None or finding.worst is None:
        unit = "kt" if evidence.airplane is None else evidence.airplane.dial_unit
        text = on_the_dial(cause.text.split(". ")[0].rstrip("."), unit)
        return f"in {with_article(where)} {text[0].lower()}{text[1:]}"
    sign = "+" if finding.worst > 0 else "−"
    what = WORDS.get(finding.quantity, finding.name)
    return f"{where} {what} {sign}{_value(evidence, finding, abs(finding.worst))} ({cause.name})"


def _pattern(places: Sequence[_Place], said: Sequence[Margin]) -> tuple[Root, list[_Place]]:
    """The root that cost most, counting each further maneuver with the same one; its places, one a maneuver.

    What has just been said as thin margins is no pattern by itself.
    """
    told = {alike(re.sub(r" \(\d+ times\)", "", m.text).rstrip(".")) for m in said}
    worst = next((m for m in said if m.root), None)
    worst_s = 0.0 if worst is None else worst.start_s
    best: tuple[float, Root, list[_Place]] = (0.0, "", [])
    for root in dict.fromkeys(p.root for p in places):
        one_each: dict[int, _Place] = {}
        for p in places:
            if p.root == root and p.maneuver not in one_each:
                one_each[p.maneuver] = p
        chosen = list(one_each.values())
        if not root:
            chosen = chosen[:1]
        near = worst is not None and worst.root == root
        if all((p.margin and p.margin in told) or (near and abs(p.start_s - worst_s) < SAME_S) for p in chosen):
            continue
        score = chosen[0].rank * (1.0 + EACH_FURTHER * (len(chosen) - 1))
        if score > best[0]:
            best = (score, root, chosen)
    return best[1], best[2]


def _pattern_text(words: str, shown: Sequence[_Place], places: int) -> str:
    said = "; ".join(p.text.rstrip(".") for p in shown)
    more = f"; and {places - len(shown)} more" if places > len(shown) else ""
    return f"{words}, in {places} places: {said}{more}."


def _one_sided(graded: Sequence[Judged]) -> str:
    """Roll-outs late or early to one side and not to the other, twice at least each: the picture differs by side."""
    errors: dict[float, list[float]] = {1.0: [], -1.0: []}
    for e, grade in graded:
        off = grade.measured.get("rollout_error_deg")
        if off is not None and e.facts.get("sign") in errors:
            errors[e.facts["sign"]].append(float(np.radians(off)))
    right, left = errors[1.0], errors[-1.0]
    if min(len(right), len(left)) < 2:
        return ""
    if min(abs(a - b) for a in right for b in left) < ONE_SIDED_RAD:
        return ""  # no clear gap between the sides
    listed = [", ".join(f"{np.degrees(x):+.0f}°".replace("-", "−") for x in row) for row in (right, left)]
    return (
        f"Roll-outs past (+) or short of (−) the heading: right {listed[0]}; left {listed[1]}. "
        "Cowling and horizon look different to each side."
    )


def _not_judged(evidence: Evidence, graded: Sequence[Judged]) -> str:
    """Flown and not judged: exercises nothing could be said of, circles that belong to no maneuver."""
    if not has_a_standard(evidence.flight, evidence.airplane):
        return "A sailplane by its recording: no published standard for it here, nothing is graded."
    blind = [
        room(e.kind).title.lower()
        for e, g in graded
        if not room(e.kind).plain and g.findings and all(f.verdict == "can't be judged" for f in g.findings)
    ]
    said = []
    if blind:
        said.append(f"{', '.join(dict.fromkeys(blind))}: the recording can't show what the standard asks")
    circles = _circles(evidence, [e for e, _ in graded])
    if circles:
        said.append(circles)
    return "; ".join(said) + "." if said else ""


def _circles(evidence: Evidence, episodes: Sequence[Episode]) -> str:
    view = evidence.view
    lone = []
    for turn in view.once(find_turns):
        start, end = float(view.time_s[turn.first]), float(view.time_s[turn.last])
        inside = any(e.start_s < end and e.end_s > start and not room(e.kind).plain for e in episodes)
        if turn.change_rad > CIRCLING_RAD and not inside:
            lone.append(turn)
    if not lone:
        return ""
    radii = [t.radius_m for t in lone if np.isfinite(t.radius_m)]
    spread = f", radius {_between([write(r, 'ft') for r in sorted(radii)])} over the ground" if radii else ""
    banks = [f"{b:.0f}" for b in sorted(t.bank_deg for t in lone)]
    drifted = [t for t in lone if _drifted(evidence, t)]
    drift = f"; {len(drifted)} of them low and drifting with the wind: it was not allowed for" if drifted else ""
    return f"{_count(len(lone), 'circle')} outside any maneuver, {_between(banks)}° of bank{spread}{drift}"


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


def as_json(lines: Sequence[Line]) -> list[Mapping[str, object]]:
    """The lines as plain data."""
    when: Callable[[float | None], float | None] = lambda s: None if s is None else round(s, 1)  # noqa: E731
    return [{"heading": x.heading, "text": x.text, "start_s": when(x.start_s), "end_s": when(x.end_s)} for x in lines]
