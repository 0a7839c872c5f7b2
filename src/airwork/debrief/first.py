"""What a debrief says first: five to seven lines an instructor can say in a minute, before any table.

What was flown, what went well, where a margin was thin, the pattern behind the errors, one drill, one question. The
ranking, the classes and the drills are judgment (common practice, no source); every number is one of the debrief's.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from types import MappingProxyType
from typing import Literal, NamedTuple

import numpy as np

from airwork.debrief.certainty import RATHER_WRONG
from airwork.debrief.first_margins import ALSO, alike, grouped, joined, said_first
from airwork.debrief.first_places import (
    Place,
    deviation,
    exercised,
    number_of,
    pattern,
    pattern_text,
    places_of,
    ranged,
    said_of,
    sure_enough,
    where,
    word,
)
from airwork.debrief.first_words import drill, question, root_words, several, with_article
from airwork.debrief.looked_for import has_a_standard, silent
from airwork.debrief.margin import Margin
from airwork.debrief.margins import thin_margins
from airwork.debrief.not_flown import not_flown
from airwork.debrief.not_judged import by_the_ground, count, not_judged, unclaimed
from airwork.debrief.recorded import in_the_air
from airwork.maneuvers import room
from airwork.maneuvers.declared import Family, Role
from airwork.maneuvers.episode import NOT_ASKED, Episode, Finding, Grade, Root
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import FITTING, SETTLED
from airwork.maneuvers.seeing.view import STEP_S
from airwork.recording import Flight
from airwork.recording.craft import craft_of

Judged = tuple[Episode, Grade]
Heading = Literal["in short", "airplane", "not known", "went well", "not flown", "first", "pattern", "main error",
                  "to polish", "not held", "next time", "ask", "so far", "one side", "not judged"]  # fmt: skip

THEN = " Then: "  # between the drill of what is said first and that of the pattern
WELL = 0.6  # of the tolerance at worst: well inside
DEVIATES = ("ft", "kt", "deg")  # a deviation to one side or the other; other units have words of their own
MOST_WELL, MOST_INSIDE, MOST_KINDS, MOST_ALSO = 2, 3, 6, 4
OFTEN = 3  # what is also flown on the way is the lesson where it is flown so often
_AS_HELD = frozenset(["held", "steady", "can't be judged", NOT_ASKED])
OF_ONE, TWICE = "It was ", 2  # begins what is noted of one maneuver; once is no habit
ONE_SIDED_RAD = np.radians(8.0)  # between the roll-outs to one side and to the other
# What a criterion well inside says of a pilot, most first.
TELLING = ("ground_radius", "altitude", "ias", "level_off_altitude", "rollout_heading", "bank", "heading")


@dataclass(frozen=True, slots=True)
class Line:
    """One line said first. The text holds no clock time.

    start_s, end_s : the moment it is about; None for none; asks_elevation : the ground's would let more be judged.
    """

    heading: Heading
    text: str
    start_s: float | None = None
    end_s: float | None = None
    asks_elevation: bool = False


def margins_of(evidence: Evidence, graded: Sequence[Judged]) -> list[Margin]:
    """Every thin margin, worst first; none of what gets no airplane's advice."""
    return thin_margins(evidence, graded) if has_a_standard(evidence.flight, evidence.airplane) else []


def first_lines(
    evidence: Evidence, graded: Sequence[Judged], misfits: Sequence[str] = (),
    planned: Mapping[str, int] = MappingProxyType({}), margins: Sequence[Margin] | None = None,
) -> tuple[Line, ...]:  # fmt: skip
    """The lines, those that have something to say, in the order they are said.

    misfits : as `Debrief` has them. planned : kind → how often the lesson asked for it. margins : where `margins_of`
    found them already.
    """
    graded_at_all = has_a_standard(evidence.flight, evidence.airplane)  # else no airplane's advice either
    margins = margins_of(evidence, graded) if margins is None else margins
    thin = [m for m in margins if not m.good]
    said = grouped(thin)
    out = [_in_short(evidence, graded)]
    if misfits:
        out.append(Line("airplane", f"{' '.join(misfits)} Speeds, margins and power are judged with its numbers."))
    if unknown := not_known(evidence.flight):
        out.append(Line("not known", unknown))
    if well := _went_well(evidence, graded, margins) or _all_held(graded, {m.kind for m in thin}):
        out.append(Line("went well", " ".join(well)))
    if missing := not_flown(evidence, [e for e, _ in graded], planned):
        out.append(Line("not flown", missing))
    kinds = [e.kind for e, _ in graded]
    numbers = {(number_of(graded, m), m.about) for m in said_first(said)}
    places = places_of(evidence, graded, thin, planned)
    root, chosen = pattern(places, said_first(said), numbers)
    worst = {alike(m.text): m.about for m in reversed(thin)}  # of each kind; a further one is told by it alone
    told = {(number_of(graded, m), m.about) for m in thin if worst[alike(m.text)] == m.about}
    named = {(p.maneuver, p.quantity) for p in chosen} | told
    further = _also_not_held(evidence, graded, named, planned)
    passed = all(p.verdict != "not held" for p in chosen)
    patterned = bool(chosen) and not (further and passed)  # what was not held goes before anything to polish
    if thin:
        elsewhere = {p.margin for t in said_of(chosen, kinds) for p in t.places} if patterned else ()
        out.append(Line("first", joined(said, elsewhere), thin[0].start_s, thin[0].end_s))
    if patterned:
        out.append(_pattern_line(root, chosen, kinds, _each_time(places, chosen, kinds)))
    out += [further] if further else []
    out += _noted_each_time(graded)
    out += _next_time(said_first(said), root, chosen, kinds)
    sided = _one_sided(graded)
    if sided:
        out.append(Line("one side", sided))
    circled = by_the_ground(evidence, [e for e, _ in graded])
    if unjudged := not_judged(evidence, graded, circled=circled):
        out.append(Line("not judged", unjudged, asks_elevation=circled))
    if graded_at_all and (left := unclaimed(evidence, [e for e, _ in graded])):
        out.append(Line("not judged", *left))
    return tuple(out)


def _each_time(places: Sequence[Place], chosen: Sequence[Place], kinds: Sequence[str]) -> str:
    """The dearest fault without a number to hold that was there each time its maneuver was flown; "" for none."""
    told = {p.name for p in chosen}
    found: dict[tuple[str, str], dict[int, Place]] = {}
    for p in places:
        if p.maneuver >= 0 and not (p.quantity or p.margin or p.name in told) and p.verdict == "not held":
            found.setdefault((kinds[p.maneuver], p.name), {}).setdefault(p.maneuver, p)
    often = [list(at.values()) for (kind, _), at in found.items() if len(at) > 1 and len(at) == kinds.count(kind)]
    if not often:
        return ""
    text = said_of(max(often, key=lambda group: sum(p.rank for p in group)), kinds)[0].text
    return f"{ALSO}{text[0].lower()}{text[1:]}."


def _noted_each_time(graded: Sequence[Judged]) -> list[Line]:
    """What no number is printed for and no drill is of, noted of every maneuver of its kind, two at least."""
    out = []
    for kind in dict.fromkeys(e.kind for e, _ in graded):
        flown = [
            (e, [c for c in g.causes if not c.root and c.text.startswith(OF_ONE)]) for e, g in graded if e.kind == kind
        ]
        each = set.intersection(*({c.name for c in causes} for _, causes in flown))
        if len(flown) < TWICE or not each:
            continue
        first = next(c for c in flown[0][1] if c.name in each)
        who = several(kind, len(flown), len(flown))
        text = f"{who[0].upper()}{who[1:]} were {first.text.removeprefix(OF_ONE)}"
        out.append(Line("to polish", text, first.start_s, first.end_s))
    return out


def _pattern_line(root: Root, chosen: Sequence[Place], kinds: Sequence[str], also: str = "") -> Line:
    """The places of the root behind most, one of them as the main error; what was inside the standard is polish.

    kinds : of every maneuver, by number; also : what was wrong each time beside it.
    """
    told = said_of(chosen, kinds)
    at = told[0].places[0]  # as they were flown: the clock is the first one's
    flown = [kinds[p.maneuver] for p in chosen if p.maneuver >= 0]
    words = root_words(root, {p.quantity for p in chosen}, flown, early=_early(chosen), names={p.name for p in chosen})
    heading: Heading = "pattern" if len({p.maneuver for p in chosen}) > 1 else "main error"
    text = pattern_text(words, told, len(chosen))
    verdicts = {p.verdict for p in chosen}
    if "not held" not in verdicts:
        numbered = any(p.quantity for p in chosen)
        inside = "Inside the standard." if numbered else "No tolerance is printed for it."
        inside = inside if verdicts == {"held"} else "Out of it for a moment and put right."
        heading, text = "to polish", f"{text} {inside}"
    return Line(heading, f"{text}{also}", at.start_s, at.end_s)


def _early(chosen: Sequence[Place]) -> bool:
    return any("early)" in p.text for p in chosen)


class _Aim(NamedTuple):
    """What a drill and a question are of."""

    root: Root
    kind: str
    where: str
    quantities: frozenset[str] = frozenset()
    names: frozenset[str] = frozenset()
    early: bool = False

    @classmethod
    def of_margin(cls, m: Margin) -> _Aim:
        where = room(m.kind).named if m.kind else "that moment"
        return cls(m.root, m.kind, where, frozenset(), frozenset({m.name}))

    @classmethod
    def of_places(cls, root: Root, chosen: Sequence[Place], kinds: Sequence[str]) -> _Aim:
        of = chosen[:1] if root == "target not set" else chosen  # one thing is set at a time: the dearest
        kind = kinds[chosen[0].maneuver] if chosen[0].maneuver >= 0 else ""
        return cls(root, kind, chosen[0].where, frozenset(p.quantity for p in of), frozenset(p.name for p in of),
                   _early(chosen))  # fmt: skip


def _next_time(said: Sequence[Margin], root: Root, chosen: Sequence[Place], kinds: Sequence[str]) -> list[Line]:
    """One drill for what is said first, which is flown first, one for the pattern's root; one question, of the former.

    A graver margin told beside the first one takes the pattern's place.
    """
    then = _Aim.of_places(root, chosen, kinds) if chosen and root else None
    graver = next((m for m in said[1:] if m.root not in ("", said[0].root, root)), None)
    if graver is not None and chosen and graver.rank > chosen[0].rank:
        then = _Aim.of_margin(graver)
    first = _Aim.of_margin(said[0]) if said and said[0].root else None
    aims = [aim for aim in (first, then) if aim is not None]
    if not aims:  # no reason, no drill: what was meant is asked
        meant = _Aim.of_places("target not set", chosen, kinds) if chosen else None
        return [] if meant is None else [Line("ask", question(meant.root, meant.where, meant.kind))]
    drills = dict.fromkeys(
        drill(aim.root, aim.quantities, aim.kind, aim.names) for aim in aims
    )  # two faults, one drill
    asked = aims[0]
    asks = question(asked.root, asked.where, asked.kind, early=asked.early, names=asked.names)
    return [Line("next time", THEN.join(drills)), Line("ask", asks)]


def not_known(flight: Flight) -> str:
    """What the recording leaves open that an instructor takes for granted, and what follows; "" for nothing."""
    found = [
        words for words, known in (
            ("where it was flown (no runway, no wind, no area)", flight.has("latitude_rad")),
            ("the day and time (no day or night, nothing counts as recent)", bool(np.isfinite(flight.start_utc_s))),
        ) if not known
    ]  # fmt: skip
    return "; ".join(found)


def _in_short(evidence: Evidence, graded: Sequence[Judged]) -> Line:
    likely = {e.kind for e, _ in graded if e.score >= RATHER_WRONG} | set(evidence.targets)
    flown = Counter(e.kind for e, _ in graded if e.kind in likely)
    lone = not any(room(k).role is Role.EXERCISE and not room(k).on_the_way for k in flown)  # else they are the lesson
    least = OFTEN - lone
    often = {kind for kind, n in flown.items() if room(kind).on_the_way and (n >= least or kind in evidence.targets)}
    shown = [room(kind) for kind in flown if kind in often or not room(kind).plain]
    shown = shown or [room(kind) for kind in flown if room(kind).on_the_way]  # the table has it: so it was flown
    exercises = [r.named for r in shown if r.role is Role.EXERCISE]
    kinds = list(dict.fromkeys([*exercises, *(r.named for r in shown)]))
    more = f" and {len(kinds) - MOST_KINDS} more" if len(kinds) > MOST_KINDS else ""
    named = ", ".join(kinds[:MOST_KINDS]) + more if kinds else "no exercise"
    if silent(evidence.flight, evidence.airplane):
        what = "what this is doesn't show" if craft_of(evidence.flight).kind == "unsure" else "no flight"
        return Line("in short", f"{what} · {evidence.flight.time_s[-1] / 60.0:.0f} min recorded")
    minutes = in_the_air(evidence).sum() * STEP_S / 60.0
    return Line("in short", f"{named} · {minutes:.0f} min in the air · {count(len(graded), 'maneuver')}")


def _went_well(evidence: Evidence, graded: Sequence[Judged], margins: Sequence[Margin]) -> list[str]:
    """True, specific, measured: right decisions; kinds well inside each time, nothing of which was not held."""
    out = [f"{m.text}." for m in margins if m.good][:1]
    spoiled = {m.kind for m in margins if not m.good}
    found: list[tuple[int, float, str]] = []
    order = sorted(graded, key=lambda g: g[0].kind)
    for kind, group in groupby(order, key=lambda g: g[0].kind):
        flown = list(group)
        grave = any(c.weight > 1.0 and c.explains == "" for _, g in flown for c in g.causes)
        missed = any(f.verdict == "not held" for _, g in flown for f in g.findings)
        unseen = room(kind).family is Family.STALL and not evidence.has_airspeed  # its heading alone is no stall
        if room(kind).plain or kind in spoiled or grave or missed or unseen:
            continue
        found += _best(evidence, kind, [g for _, g in flown])
    return out + [text for *_, text in sorted(found)[: MOST_WELL - len(out)]]


def _all_held(graded: Sequence[Judged], spoiled: Collection[str]) -> list[str]:
    """Where nothing was well inside: the exercises, patterns and landings each of which was held.

    spoiled : kinds in which a margin was thin.
    """
    kinds: dict[str, list[set[str]]] = {}
    for e, g in graded:
        if any(c.weight > 1.0 and not c.explains for c in g.causes):
            spoiled = {*spoiled, e.kind}
        if not room(e.kind).plain and g.findings:
            kinds.setdefault(e.kind, []).append({f.verdict for f in g.findings})
    told = [
        several(kind, len(all_of), len(all_of)) if len(all_of) > 1 else with_article(room(kind).named)
        for kind, all_of in kinds.items()
        if kind not in spoiled and all("held" in verdicts and verdicts <= _AS_HELD for verdicts in all_of)
    ]
    told = [*told[:MOST_KINDS], *([f"{len(told) - MOST_KINDS} more"] if len(told) > MOST_KINDS else [])]
    listed = f"{', '.join(told[:-1])} and {told[-1]}" if len(told) > 1 else "".join(told)
    return [f"Held, as far as recorded: {listed}."] if told else []


def _best(evidence: Evidence, kind: str, grades: Sequence[Grade]) -> Iterator[tuple[int, float, str]]:
    """What was well inside each time of one kind: (how telling, share of tolerance, words)."""
    inside: list[tuple[int, float, str]] = []
    for telling, quantity in enumerate(TELLING):
        findings = [f for g in grades for f in g.findings if f.quantity == quantity]
        if len(findings) < len(grades) or any(f.verdict != "held" or f.worst is None for f in findings):
            continue
        if quantity == "ias" and any(own in g.target_source for g in grades for own in (FITTING, SETTLED)):
            continue  # near a speed that was chosen to be near it
        blamed = any(c.explains == quantity for g in grades for c in g.causes)
        if blamed or any(f.judged for f in findings):
            continue
        worst = max(findings, key=lambda f: abs(f.worst or 0.0))
        side = None if worst.worst is None else worst.high if worst.worst > 0.0 else worst.low
        if side and worst.worst is not None and (share := worst.worst / side) <= WELL:
            within = deviation(evidence, worst, abs(worst.worst))
            inside.append((telling, share, f"{word(findings[0])} within {within}"))
    if not inside:
        return
    told = inside[:MOST_INSIDE]
    each = room(kind).named if len(grades) == 1 else several(kind, len(grades), len(grades))
    yield *told[0][:2], f"{each[0].upper()}{each[1:]}: {', '.join(text for *_, text in told)}."


def _also_not_held(
    evidence: Evidence, graded: Sequence[Judged], told: Collection[tuple[int, str]], planned: Collection[str] = ()
) -> Line | None:  # fmt: skip
    """What was not held that no line before names: the worst of it and where.

    told : (number of the maneuver, quantity) that was named.
    """
    practiced = exercised(graded)
    said: dict[str, list[str]] = {}  # what differs in its numbers alone is told once
    at: list[tuple[float, float]] = []
    for number, (e, grade) in enumerate(graded):
        missed = [
            f for f in grade.findings if f.verdict == "not held" and (number, f.quantity) not in told
            and not (f.quantity == "heading" and room(e.kind).plain and e.kind not in planned)  # the pilot's
        ]  # fmt: skip
        if (
            not missed
            or not sure_enough(e, planned, graded)
            or (room(e.kind).plain and not practiced and e.kind not in planned)
        ):
            continue
        at.append((_begun_s(missed, e, grade), e.end_s))
        words = _missed(evidence, missed, grade, with_article(where(e)))
        said.setdefault(alike(words), []).append(words)
    if not said:
        return None
    told_once = [ranged(x) + (f", {len(x)} times" if len(x) > 1 else "") for x in said.values()]
    left = sum(len(x) for x in [*said.values()][MOST_ALSO:])
    text = "; ".join([*told_once[:MOST_ALSO], *([f"and {count(left, 'more maneuver')}"] if left else [])])
    return Line("not held", f"{text[0].upper()}{text[1:]}.", *at[0])


def _missed(evidence: Evidence, missed: Sequence[Finding], grade: Grade, place: str) -> str:
    """ "altitude −182 ft, bank +12° in the left steep turn"; what is no deviation in its reason's words."""
    what: list[str] = []
    for f in missed:
        reason = next((c.text for c in grade.causes if c.explains == f.quantity), None)
        if f.worst is not None and f.unit in DEVIATES and not (f.low or 0.0) > 0.0:
            sign = "+" if f.worst > 0.0 else "−"
            what.append(f"{word(f)} {sign}{deviation(evidence, f, abs(f.worst))}")
        elif reason is None:
            what.append(f.name)
        else:
            words = reason.split(". ")[0].rstrip(".")
            what.append(f"{words[0].lower()}{words[1:]}")
    return f"{', '.join(what)} in {place}"


def _begun_s(missed: Sequence[Finding], e: Episode, grade: Grade) -> float:
    """Where what was missed began, by its reasons and first excursions; the maneuver's start where none tells. [s]"""
    reasons = {c.explains: c.start_s for c in reversed(grade.causes)}
    begun = [reasons.get(f.quantity, f.first_excursion_s) for f in missed]
    return min((at_s for at_s in begun if at_s is not None), default=e.start_s)


def _one_sided(graded: Sequence[Judged]) -> str:
    """Roll-outs late or early to one side and not to the other, twice at least each: the picture differs by side."""
    errors: dict[float, list[float]] = {1.0: [], -1.0: []}
    guessed = False
    for e, grade in graded:
        off = grade.measured.get("rollout_error_deg", grade.measured.get("off_quarter_turn_deg"))
        if off is not None and e.facts.get("sign") in errors:
            errors[e.facts["sign"]].append(float(np.radians(off)))
            guessed |= "rollout_error_deg" not in grade.measured
    right, left = errors[1.0], errors[-1.0]
    if min(len(right), len(left)) < 2:
        return ""
    if min(abs(a - b) for a in right for b in left) < ONE_SIDED_RAD:
        return ""  # no clear gap between the sides
    if guessed and (
        max(np.ptp(right), np.ptp(left)) > ONE_SIDED_RAD
        or min(abs(np.mean(right)), abs(np.mean(left))) > 0.5 * ONE_SIDED_RAD
    ):
        return ""  # headings nobody named: quarters of a circle met to the one side, missed alike to the other
    listed = [", ".join(f"{np.degrees(x):+.0f}°".replace("-", "−") for x in row) for row in (right, left)]
    return (
        f"Roll-outs past (+) or short of (−) the heading: right {listed[0]}; left {listed[1]}. "
        "Cowling and horizon look different to each side."
    )


def as_json(lines: Sequence[Line]) -> list[Mapping[str, object]]:
    """The lines as plain data."""
    when: Callable[[float | None], float | None] = lambda s: None if s is None else round(s, 1)  # noqa: E731
    return [{"heading": x.heading, "text": x.text, "start_s": when(x.start_s), "end_s": when(x.end_s)} for x in lines]
