"""The places an error showed in, ranked by what it cost, and the root behind most of them.

Repeats of one error are one place with how many times and from where to where: nobody is told a sentence four times.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airwork.debrief.certainty import RATHER_WRONG
from airwork.debrief.first_margins import alike
from airwork.debrief.first_words import SETTLED, several, with_article
from airwork.debrief.margin import Margin
from airwork.debrief.weighing import is_practiced
from airwork.maneuvers import room
from airwork.maneuvers.declared import Role
from airwork.maneuvers.episode import Cause, Episode, Finding, Grade, Root, Verdict
from airwork.maneuvers.grading.causes.arrival import BOUNCED
from airwork.maneuvers.grading.causes.heading import WALLOWED
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import told_beside
from airwork.units import from_unit, write

STANDARD, BRIEF, TO_AND_FRO, MOST_SIZE, EACH_FURTHER = 30.0, 5.0, 0.2, 3.0, 0.5
LEAST_SURE = 0.7  # of what may well be another maneuver nothing is failed first
UNEXPLAINED = 0.5  # there is nothing to drill: said where nothing else weighs as much
OWN, MOST_OWN = "airwork", 1.5  # a tolerance no standard prints weighs less, however far out
SWINGS = ("chased", "out of trim")
SAME_S = 120.0  # within this of the thin margin it is the same event
LEAST_SIZE = 0.65  # of the tolerance: told beside its maneuver, no error to work on
LEAST_HELD = 0.8  # the same of what was held
NEAR_IT = 1.3  # of a tolerance: nearer, where it can't be judged, a worked-out column's error decides
MOST_PLACES = 4
IN = "{in}"  # where the maneuver is named in a place's text
NUMBER = re.compile(r"[−+]?\d[\d,.]*\d|[−+]?\d")
WORDS = {"altitude": "altitude", "ias": "speed", "bank": "bank", "rollout_heading": "roll-out", "heading": "heading",
         "level_off_altitude": "level-off", "ground_radius": "radius", "pattern_altitude": "altitude",
         "pattern_ias": "speed"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Place:
    """One error somewhere in the flight, ready to be ranked.

    text : with IN where its maneuver is named; where : that maneuver; maneuver : number of the episode, -1 none;
    quantity : whose deviation it explains; margin : what kind of thin margin it is, told as such; name : of its cause;
    verdict : of what it explains; a thin margin and a fault of weight without a tolerance are not held.
    """

    text: str
    where: str
    rank: float
    root: Root
    start_s: float
    end_s: float
    maneuver: int
    quantity: str = ""
    margin: str = ""
    name: str = ""
    verdict: Verdict = "not held"


class Told(NamedTuple):
    """An error in words and the places it stands for, in the order flown."""

    text: str
    places: list[Place]


def sure_enough(e: Episode, planned: Collection[str], graded: Sequence[tuple[Episode, Grade]]) -> bool:
    """The claim can bear an error told first: it is likely, the lesson asked for it, or the like was surely practiced.

    A poor one looks less like itself than a good one: beside a sure one of its kind it need be no more than likely.
    """
    if e.score >= LEAST_SURE or e.kind in planned:
        return True
    practiced = is_practiced(room(e.kind)) and any(o.kind == e.kind and o.score >= LEAST_SURE for o, _ in graded)
    return practiced and e.score >= RATHER_WRONG


def exercised(graded: Sequence[tuple[Episode, Grade]]) -> bool:
    """Something was practiced: on a trip nobody asked for a heading, a speed or an altitude on the way."""
    return any(room(e.kind).role is Role.EXERCISE and not room(e.kind).on_the_way for e, _ in graded)


def places_of(
    evidence: Evidence, graded: Sequence[tuple[Episode, Grade]], thin: Sequence[Margin], planned: Collection[str] = ()
) -> list[Place]:  # fmt: skip
    """Every error with its rank: class × size over tolerance, before recurrence."""
    out = [Place(m.short, room(m.kind).named if m.kind else "that moment", m.rank, m.root, m.start_s, m.end_s,
                 number_of(graded, m), margin=alike(m.text), name=m.name) for m in thin if m.root]  # fmt: skip
    practiced = exercised(graded)
    for number, (e, grade) in enumerate(graded):
        if not sure_enough(e, planned, graded):
            continue
        for cause in grade.causes:
            if cause.grave or not cause.root:  # a margin by itself; a clearing turn missed is a note, no error flown
                continue
            finding = next((f for f in grade.findings if cause.explains and f.quantity == cause.explains), None)
            asked = practiced or e.kind in planned
            if room(e.kind).plain and (finding is None or finding.judged or not asked):
                continue  # on the way somewhere
            if finding is not None and finding.verdict == "briefly out and corrected" and _a_moment(evidence, finding):
                continue  # a gust or a sample is told beside its maneuver, and is nothing to work on
            size = min(_size(cause, finding), MOST_SIZE)
            held = finding is not None and finding.verdict == "held"
            if size < (LEAST_HELD if held else LEAST_SIZE) or (held and finding is not None and finding.judged):
                continue
            if finding is None or finding.source == OWN:
                size = min(size, MOST_OWN)
            shape = "" if finding is None or cause.name == WALLOWED else finding.shape
            wavy = cause.name in SWINGS or shape == "to and fro"
            factor = TO_AND_FRO if wavy else 1.0
            # No number is printed for a radius, but correcting for the wind is asked for (FAA-S-ACS-6C, V.B).
            unjudged = finding is None or finding.verdict == "can't be judged" or cause.root == "wind"
            near = finding is not None and finding.worst is not None and cause.root != "wind"
            least = NEAR_IT if unjudged and near else 1.0
            missed = size >= least if unjudged else finding is not None and finding.verdict == "not held"
            verdict: Verdict = "not held" if missed else "held" if unjudged or finding is None else finding.verdict
            rank = (STANDARD if missed else BRIEF) * size * factor
            rank *= e.score  # what may be another maneuver costs as much less
            out.append(Place(_told(evidence, cause, finding), where(e), rank, cause.root, cause.start_s, cause.end_s,
                             number, cause.explains, name=cause.name, verdict=verdict))  # fmt: skip
        out += _unexplained(evidence, e, grade, number)
    return sorted(out, key=lambda p: -p.rank)


def _a_moment(evidence: Evidence, finding: Finding) -> bool:
    """Out for no longer than what is never held against a pilot."""
    longest = finding.longest_excursion_s
    return longest is not None and longest <= max(evidence.standard.judging["excursion_counts_s"], evidence.step_s)


MOSTLY = 0.75  # of the time: the standards' "consistently exceeding" is a quarter of it (airwork's own)


def _unexplained(evidence: Evidence, e: Episode, grade: Grade, number: int) -> Iterator[Place]:
    """What was not held and has no reason: an examiner tells it all the same."""
    explained = {c.explains for c in grade.causes}
    for f in grade.findings:
        side = (f.high if f.worst > 0.0 else f.low) if f.worst is not None else None
        if f.verdict != "not held" or room(e.kind).plain or explained & {f.quantity, "*"}:
            continue
        if f.judged and (f.within_fraction or 0.0) > MOSTLY:
            continue  # the pilot's own number, left for moments
        if f.worst is None or not side or f.quantity not in WORDS:
            continue
        sign = "+" if f.worst > 0 else "−"
        beside = told_beside(f, grade.causes)
        why = "" if beside == "" else f" ({beside or 'the data show no reason'})"
        text = f"{word(f)} {sign}{deviation(evidence, f, abs(f.worst))} {IN}{why}"
        rank = UNEXPLAINED * STANDARD * min(f.worst / side, MOST_SIZE) * e.score
        at = f.first_excursion_s or e.start_s
        yield Place(text, where(e), rank, "", at, e.end_s, number, f.quantity)


def _size(cause: Cause, finding: Finding | None) -> float:
    """How far out over the tolerance on that side, as far as the cause explains it; the cause's own without one."""
    if finding is None or finding.worst is None:
        return cause.weight
    side = finding.high if finding.worst > 0.0 else finding.low
    if not side or side * finding.worst <= 0.0:
        return cause.weight
    return max(cause.weight, finding.worst / side * (1.0 if cause.share is None else cause.share))


def number_of(graded: Sequence[tuple[Episode, Grade]], margin: Margin) -> int:
    """Number of the episode a thin margin lies in, -1 none."""
    for number, (e, _) in enumerate(graded):
        if e.kind == margin.kind and e.start_s <= margin.end_s and e.end_s >= margin.start_s:
            return number
    return -1


def where(e: Episode) -> str:
    """The maneuver in a sentence, with its side."""
    side = {1.0: "right ", -1.0: "left "}.get(float(e.facts.get("sign", 0.0)), "") if e.kind.endswith("turn") else ""
    return f"{side}{room(e.kind).named}"


def word(finding: Finding) -> str:
    """What was off, in a sentence: after a takeoff the climb speed, not the takeoff's."""
    return finding.name if finding.name.endswith(" speed") else WORDS.get(finding.quantity, finding.name)


def deviation(evidence: Evidence, finding: Finding, size: float) -> str:
    """A deviation's size as read off the dial."""
    if finding.unit == "kt":
        return evidence.speed_text(from_unit(max(size, 1.0), "kt"))
    if finding.unit == "%":
        return f"{size:.0f} %"
    return write(from_unit(size, finding.unit), finding.unit, 0) if finding.unit not in ("turns", "") else f"{size:.1f}"


def _told(evidence: Evidence, cause: Cause, finding: Finding | None) -> str:
    """One number for one place, or the cause's own sentence."""
    if finding is None or finding.worst is None or finding.quantity not in WORDS:  # a share, a height: no deviation
        text = cause.text.split(". ")[0].rstrip(".")
        text = f"{text[0].lower()}{text[1:]}"
        return f"{IN} {text}"
    sign = "+" if finding.worst > 0 else "−"
    # What was settled on is what was flown: not the worst of it, which is a moment's.
    share = cause.share if cause.root == "target not set" and cause.share is not None else 1.0
    off = deviation(evidence, finding, abs(finding.worst) * share)
    return f"{word(finding)} {sign}{off} {IN} ({cause.name})"


def pattern(
    places: Sequence[Place], said: Sequence[Margin], numbers: Collection[tuple[int, str]] = ()
) -> tuple[Root, list[Place]]:
    """The root that cost most, half of each further maneuver with the same one added; its places, one a maneuver.

    What has just been said as thin margins is no news and not among them. numbers : (maneuver, quantity) said there.
    """
    told = {alike(m.text) for m in said}
    places = [p for p in places if not p.quantity or (p.maneuver, p.quantity) not in numbers]
    faults = {m.name for m in said if m.name}  # told first, it is nothing to polish elsewhere
    places = [p for p in places if p.name not in faults or p.verdict == "not held"]
    worst = next((m for m in said if m.root), None)
    best: tuple[float, Root, list[Place]] = (0.0, "", [])
    for root, thing in dict.fromkeys((p.root, _beside(p)) for p in places):
        one_each: dict[int, Place] = {}
        for p in places:
            if (p.root, _beside(p)) == (root, thing) and p.margin not in told and p.maneuver not in one_each:
                one_each[p.maneuver] = p
        chosen = list(one_each.values())
        if not root:
            chosen = chosen[:1]
        same = worst is not None and worst.root == root
        at_s = worst.start_s if worst is not None and same else -np.inf
        missed = BRIEF * MOST_SIZE  # dearer than any brief excursion: a criterion not held is news beside its outcome
        news = [p for p in chosen if abs(p.start_s - at_s) >= SAME_S or (p.quantity and p.rank > missed)]
        ranks = [p.rank for p in news]
        score = EACH_FURTHER * sum(ranks) + (1.0 - EACH_FURTHER) * max(ranks, default=0.0)
        if score > best[0]:
            best = (score, root, news)
    return best[1], best[2]


def _beside(p: Place) -> str:
    """What has no pattern with others of its root: a speed here and a bank there settled on, a bounce and a lead."""
    if p.root == "target not set":
        return SETTLED.get(p.quantity, p.quantity)
    return p.name if p.name == BOUNCED else ""


def said_of(chosen: Sequence[Place], kinds: Sequence[str]) -> list[Told]:
    """The dearest places in words, what was not held before the rest, then in the order flown; repeats of one error
    are told once with count and range.

    kinds : of every maneuver of the flight, by number.
    """
    groups: dict[tuple[str | bool, str], list[Place]] = {}
    for p in chosen:
        groups.setdefault((_sort(kinds[p.maneuver]) if p.maneuver >= 0 else "", alike(p.text)), []).append(p)
    told = []
    for (sort, _), group in list(groups.items())[:MOST_PLACES]:
        group.sort(key=lambda p: p.start_s)
        where = f"in {with_article(group[0].where)}"
        if len(group) > 1:
            of = sum(_sort(k) == sort for k in kinds)
            kind = kinds[group[0].maneuver]
            where = f"in {several(kind, len(group), of)}" if sort else f"{len(group)} times"
        told.append(Told(ranged([p.text for p in group]).replace(IN, where).rstrip("."), group))
    return sorted(told, key=lambda t: (all(p.verdict != "not held" for p in t.places), t.places[0].start_s))


def _sort(kind: str) -> str | bool:
    """What is counted together: every touchdown is a landing."""
    return room(kind).lands or kind


def ranged(texts: Sequence[str]) -> str:
    """Texts that differ in their numbers alone as one, each number from the least to the greatest."""
    rows = [NUMBER.findall(t) for t in texts]
    value = lambda x: float(x.replace("−", "-").replace(",", ""))  # noqa: E731
    columns = [sorted(set(column), key=value) for column in zip(*rows, strict=True)]
    spans = iter(c[0] if len(c) == 1 else f"{c[0]} to {c[-1]}" for c in columns)
    return NUMBER.sub(lambda _: next(spans), texts[0])


def pattern_text(words: str, told: Sequence[Told], places: int) -> str:
    """ "The wind was not allowed for, in 5 places: …; …; and 2 more."; one error alone without the root's words."""
    if len(told) == 1 and places == len(told[0].places):
        return f"{told[0].text[0].upper()}{told[0].text[1:]}."
    more = places - sum(len(t.places) for t in told)
    listed = [*(t.text for t in told), *([f"and {more} more"] if more else [])]
    return f"{words}, in {places} places: {'; '.join(listed)}."
