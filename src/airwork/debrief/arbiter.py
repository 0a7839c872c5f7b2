"""The arbiter: out of all proposals the one consistent story that explains the flight best.

Weighted interval scheduling. What a proposal is worth is its score squared, its length, and how much a second of such
a pattern says: a lazy eight explains the same minute better than the two turns, the climb and the descent it is made
of. A stall may lie inside slow flight, a landing inside a traffic pattern; otherwise nothing overlaps by more than a
moment. Climbs, descents and level flight fill what is left. A lesson's list is mild evidence, never proof; its order
adds nothing.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace

from airwork.debrief.certainty import Given, sure
from airwork.debrief.weighing import (
    CLEARS_S,
    LIKELY,
    MOMENT_S,
    SURE,
    WELL_ROUND_RAD,
    clash,
    holds,
    is_mere,
    is_practiced,
    weighed,
    worth,
)
from airwork.maneuvers import room
from airwork.maneuvers.declared import Family, Role
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.seeing.legs import LASTS_S
from airwork.maneuvers.seeing.slow import CLEAR

NEARLY_HALF_RAD = 2.6  # 150°
ROLLED = (Family.FUNDAMENTAL, Family.PERFORMANCE, Family.GROUND)  # entered by a roll
ROUND_CORNERS = 4  # and back on the leg it began with
PLACES, OUT_AGAIN_RAD = 3, 0.35  # so many looked at one after another; 20° (no source)
# A roll-out's 10° (FAA-S-ACS-6C, V.A, VIII.D) and what a recording adds; of any angle a quarter lies so near one.
QUARTER_RAD, ROLLED_OUT_RAD, MOSTLY = 0.5 * math.pi, math.radians(12.0), 0.6
MOST_OF_IT = 0.5  # of what was recorded in the air: that one turn (common practice, no source)


@dataclass(frozen=True, slots=True)
class _Item:
    """One choice of the scheduling: an episode, with what may lie inside it."""

    episode: Episode
    inside: tuple[Episode, ...]
    worth: float


def best_story(proposals: Sequence[Episode], lesson: Sequence[str] = (), given: Given | None = None) -> list[Episode]:
    """The chosen episodes in order of time; each one's score is the probability that the claim is right.

    Parameters
    ----------
    proposals : candidates of all rooms.
    lesson : kinds of the lesson in flying order; empty when there is none.
    given : what was recorded; None leaves each room's own score as the claim's.
    """
    story, fitting = settle(proposals, lesson)
    if given is not None:
        story = sure(story, fitting, replace(given, lesson=tuple(lesson)))
    fillers = [e for e in fitting if room(e.kind).role is Role.PASSAGE]
    filled = _fill(fillers, [e for e in story if room(e.kind).role is not Role.EVENT])
    return sorted([*story, *filled], key=lambda e: (e.start_s, -e.end_s))


def settle(proposals: Sequence[Episode], lesson: Sequence[str] = ()) -> tuple[list[Episode], list[Episode]]:
    """(the story with the scores it was chosen by, without what fills it; all that was in the choice with theirs)."""
    fitting = [weighed(e, proposals, lesson) for e in proposals]
    events = [e for e in fitting if room(e.kind).role is Role.EVENT]
    fitting = [e for e in fitting if e.score >= room(e.kind).accepted]
    patterns = _apart([e for e in fitting if room(e.kind).role is Role.PATTERN])
    maneuvers = [e for e in fitting if room(e.kind).role in (Role.EXERCISE, Role.RUNWAY)]
    maneuvers, patterns = _settle_patterns(maneuvers, patterns)
    chosen = _trimmed(_without_mere_turns(_schedule(maneuvers), lesson))
    return [*chosen, *patterns, *events], fitting


def _apart(episodes: list[Episode]) -> list[Episode]:
    out: list[Episode] = []
    for e in sorted(episodes, key=lambda e: e.start_s):
        if out and e.start_s < out[-1].end_s:
            e = replace(e, start_s=out[-1].end_s)
        if e.end_s - e.start_s > LASTS_S:
            out.append(e)
    return out


def _settle_patterns(maneuvers: list[Episode], patterns: list[Episode]) -> tuple[list[Episode], list[Episode]]:
    """A pattern ends on a runway and is sure of its end; a maneuver reaching into it from before cuts its start."""
    joining = [e for e in maneuvers if any(_joins(e, pattern) for pattern in patterns)]
    maneuvers = [e for e in maneuvers if e not in joining]
    kept = list(maneuvers)
    settled: list[Episode] = []
    for pattern in patterns:
        for e in maneuvers:
            if room(e.kind).at_field or not clash(e, pattern):
                continue
            middle = 0.5 * (pattern.start_s + pattern.end_s)
            if e.score > LIKELY and not room(e.kind).by_chance and e.end_s < middle:
                pattern = replace(pattern, start_s=max(pattern.start_s, e.end_s))
            elif e in kept:
                kept.remove(e)
        settled.append(pattern)
    return kept, settled


def _joins(e: Episode, pattern: Episode) -> bool:
    """A turn, or once round a point or a field (AFH ch. 7: better twice), that ends on the downwind leg: how it was
    joined."""
    one, from_s = room(e.kind), pattern.facts.get("downwind_start_s", pattern.start_s)
    once = round(e.facts.get("circles", 2.0)) == 1 or e.facts.get("corners", math.inf) <= ROUND_CORNERS
    circle = one.on_the_way or once
    return circle and e.start_s < from_s < e.end_s + MOMENT_S and e.end_s <= pattern.facts.get("downwind_end_s", from_s)


def _items(maneuvers: list[Episode]) -> list[_Item]:
    """Every maneuver alone, and those that hold others (slow flight) together with what ends them (a stall)."""
    items = [_Item(e, (), worth(e)) for e in maneuvers]
    for slow in (e for e in maneuvers if room(e.kind).holds is not None):
        from_s = next((p.start_s for p in slow.phases if p.name == "established"), slow.start_s)
        inside = _best_apart([
            e for e in maneuvers
            if holds(slow, e) and e.score >= CLEAR and from_s <= e.start_s < slow.end_s
        ])  # fmt: skip
        if inside:
            end = max([slow.end_s, *(e.end_s for e in inside)])
            whole = worth(slow) + sum(0.5 * worth(e) for e in inside)
            items.append(_Item(replace(slow, end_s=end), inside, whole))
    return sorted(items, key=lambda i: i.episode.end_s)


def _best_apart(episodes: Sequence[Episode]) -> tuple[Episode, ...]:
    out: list[Episode] = []
    for e in sorted(episodes, key=worth, reverse=True):
        if not any(clash(e, other) for other in out):
            out.append(e)
    return tuple(sorted(out, key=lambda e: e.start_s))


def _schedule(maneuvers: list[Episode]) -> list[Episode]:
    """Heaviest chain of which neighbors don't clash."""
    items = _items(maneuvers)
    best: list[float] = []
    came: list[int] = []
    leader = [-1]  # best chain among the first j items
    ends = [item.episode.end_s for item in items]
    for j, item in enumerate(items):
        far = bisect_left(ends, item.episode.start_s, 0, j)
        # Items before `far` end before this one starts: of those the best chain does.
        before = [i for i in range(far, j) if not clash(items[i].episode, item.episode)]
        source = max([*before, *([leader[far]] if leader[far] >= 0 else [])], key=best.__getitem__, default=-1)
        best.append(item.worth + (best[source] if source >= 0 else 0.0))
        came.append(source)
        lead = leader[j]
        leader.append(j if lead < 0 or best[j] > best[lead] else lead)
    out: list[Episode] = []
    at = max(range(len(items)), key=best.__getitem__, default=-1)
    while at >= 0:
        out += [items[at].episode, *items[at].inside]
        at = came[at]
    return sorted(out, key=lambda e: e.start_s)


def _without_mere_turns(episodes: list[Episode], lesson: Sequence[str]) -> list[Episode]:
    """Level turns that no lesson asks for: only those turned again soon, or, beside other exercises, much of a circle.

    A lone half circle is how a pilot stays in the practice area or goes home; on a trip a look at something goes right
    round. Turned again one way only, with nothing else practiced, it is a hold, or another look; and most turns
    practiced end on headings asked for. A recording that holds little but one turn is of that turn. On a trip a half
    circle that cleared the air is none either; a pair of turns that did makes it a lesson.
    """
    looks = _only_looking(episodes, lesson)
    episodes = [e for e in episodes if id(e) not in looks]
    training = any(
        (is_practiced(room(e.kind)) and e.score >= LIKELY) or (room(e.kind).clears and e.score >= SURE)
        for e in episodes
    )  # fmt: skip
    turns = [e for e in episodes if room(e.kind).on_the_way and e.facts.get("change_rad", 0.0) > NEARLY_HALF_RAD]
    if not (training or _to_headings(turns)):
        turns = [e for e in turns if e.facts.get("of_flight", 0.0) > MOST_OF_IT]
    meant = {
        id(e) for chain in _turned_again(turns) for e in chain
        if len(chain) > 1 and (training or len({t.facts.get("sign") for t in chain}) > 1 or _out_again(chain))
    }  # fmt: skip
    meant |= {
        id(e) for e in turns
        if e.facts["change_rad"] > WELL_ROUND_RAD and (training or e.facts.get("of_flight", 0.0) > MOST_OF_IT)
    }  # fmt: skip
    if training:
        meant |= {id(e) for e in episodes if room(e.kind).clears}
    return [e for e in episodes if not is_mere(room(e.kind)) or e.kind in lesson or id(e) in meant]


def _to_headings(turns: Sequence[Episode]) -> bool:
    """Most were turned through quarters of a circle, as one who is asked for headings does.

    To the next line, round an object and home again one turns through any angle.
    """
    off = [abs(e.facts["change_rad"] - QUARTER_RAD * round(e.facts["change_rad"] / QUARTER_RAD)) for e in turns]
    return sum(o < ROLLED_OUT_RAD for o in off) >= MOSTLY * len(off)


def _turned_again(turns: list[Episode]) -> list[list[Episode]]:
    """Turns that follow each other within a minute and a half, together."""
    out: list[list[Episode]] = []
    for e in turns:
        if out and e.start_s - out[-1][-1].end_s < CLEARS_S:
            out[-1].append(e)
        else:
            out.append([e])
    return out


def _only_looking(episodes: list[Episode], lesson: Sequence[str]) -> set[int]:
    """Circles one way at one place after another, out on any heading, and nothing else practiced: a look at something.

    Turns are practiced to both sides, or out again where they began (common practice, no source).
    """
    round_about = [e for e in episodes if _circled_rad(e) > WELL_ROUND_RAD]
    others = any(is_practiced(room(e.kind)) and e.score >= LIKELY and e not in round_about for e in episodes)
    one_way = len({e.facts.get("sign") for e in round_about}) == 1
    meant = others or _out_again(round_about) or any(e.kind in lesson for e in round_about)
    if meant or not one_way or len(round_about) < PLACES:
        return set()
    return {id(e) for e in round_about}


def _out_again(turns: Sequence[Episode]) -> bool:
    """Most of them whole circles, rolled out on the heading they began on."""
    beyond = [_circled_rad(e) % (2.0 * math.pi) for e in turns if _circled_rad(e) > WELL_ROUND_RAD]
    return sum(min(over, 2.0 * math.pi - over) < OUT_AGAIN_RAD for over in beyond) > len(turns) / 2


def _circled_rad(e: Episode) -> float:
    """How far a turn, or turns about one point, went round; 0 for any other maneuver."""
    turned = e.facts.get("circles", 0.0) * 2.0 * math.pi
    return max(turned, e.facts.get("change_rad", 0.0) if room(e.kind).on_the_way else 0.0)


def _trimmed(episodes: list[Episode]) -> list[Episode]:
    """A moment's overlap given to the later one's start; what lies inside another stays.

    A roll-in ends a recovery: what a turn is held to is its own entry.
    """
    out: list[Episode] = []
    for e in episodes:
        if out:
            last = out[-1]
            if e.start_s < last.start_s < e.end_s:  # shortened into this one, which it held
                if e.end_s >= last.end_s:
                    out[-1] = e
                continue
            inside = holds(last, e) and e.end_s <= last.end_s
            if not inside and last.start_s < e.start_s < last.end_s and _recovering(last, e):
                kept = tuple(replace(p, end_s=min(p.end_s, e.start_s)) for p in last.phases)
                out[-1] = replace(last, end_s=e.start_s, phases=kept)
            elif not inside and last.start_s < e.start_s < last.end_s:
                phases = tuple(replace(p, start_s=max(p.start_s, last.end_s)) for p in e.phases if p.end_s > last.end_s)
                e = replace(e, start_s=last.end_s, phases=phases)
        out.append(e)
    return out


def _recovering(last: Episode, e: Episode) -> bool:
    """All that was left of a maneuver was to speed up, and one that is entered by a roll was begun."""
    left = last.phases[-1] if last.phases else None
    return left is not None and left.name == "recovery" and left.start_s < e.start_s and room(e.kind).family in ROLLED


def _fill(fillers: list[Episode], taken: list[Episode]) -> list[Episode]:
    """Climbs, descents and level flight in what the maneuvers leave over, each at most once per stretch."""
    out: list[Episode] = []
    for e in fillers:
        free = [(e.start_s, e.end_s)]
        for other in taken:
            free = [part for a, b in free for part in ((a, min(b, other.start_s)), (max(a, other.end_s), b))
                    if part[1] - part[0] > 1.0]  # fmt: skip
        for a, b in free:
            if b - a >= LASTS_S:
                phases = tuple(replace(p, start_s=max(p.start_s, a), end_s=min(p.end_s, b)) for p in e.phases)
                out.append(replace(e, start_s=a, end_s=b, phases=tuple(p for p in phases if p.end_s > p.start_s)))
    return out
