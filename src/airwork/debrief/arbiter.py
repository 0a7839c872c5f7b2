"""The arbiter: out of all proposals the one consistent story that explains the flight best.

Weighted interval scheduling. What a proposal is worth is its score squared, its length, and how much a second of such
a pattern says: a lazy eight explains the same minute better than the two turns, the climb and the descent it is made
of. A stall may lie inside slow flight, a landing inside a traffic pattern; otherwise nothing overlaps by more than a
moment. Climbs, descents and level flight fill what is left. A lesson's list and order are mild evidence, never proof.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from airwork.maneuvers import room
from airwork.maneuvers.declared import Role, Room
from airwork.maneuvers.episode import Episode

NEARLY_HALF_RAD, WELL_ROUND_RAD = 2.6, 3.93  # 150° and 225°
SOME_EXERCISE, AGAIN_S = 0.5, 90.0  # as sure as this; a turn practiced is soon turned again

MOMENT_S, MOMENT_SHARE = 8.0, 0.2  # one maneuver's recovery runs into the next one's entry
ENTRY_S, ENTRY_SHARE = 15.0, 0.4  # slowing down may begin in the last part of the turn before
NESTED_SURE = 0.88  # inside slow flight only a clear break is a stall: a wobble is poor slow flight
NESTED_AFTER_S = 20.0  # slow flight held this long before the stall is an exercise of its own
NESTED_RECOVERY_S = 30.0  # and was recovered from: who wallows on at the same speed is still in slow flight
CLEARS_S, LONE_CLEARS_S = 90.0, 45.0  # turned this shortly before a maneuver it cleared the air; a half circle alone
SLIPPED_SHARE = 0.6  # a descent slipped for this part of it is the slip, not a glide
CLEARED = 1.75  # what the maneuver after it makes of a lone half circle
LONE_FOR = 0.5  # how sure that maneuver has to be for a half circle alone
UNFOLLOWED, LONE_UNFOLLOWED, CLEARED_NOTHING = (
    0.7,
    0.5,
    0.4,
)  # nothing soon after it to clear the air for; nothing in all the flight
JUST_CLEARED_S = 30.0
NOT_IN_LESSON = 0.94
THERE_AND_BACK = 0.40  # how sure what it was made for has to be for a clearing turn to both sides
IN_ORDER = 1.05
SURE, IN_TRAINING, ALONE = 0.85, 1.12, 0.85  # a stall in a flight without any other exercise is a doubtful one
NEIGHBOURS = 8


@dataclass(frozen=True, slots=True)
class _Item:
    """One choice of the scheduling: an episode, with what may lie inside it."""

    episode: Episode
    inside: tuple[Episode, ...]
    worth: float


def best_story(proposals: Sequence[Episode], lesson: Sequence[str] = ()) -> list[Episode]:
    """The chosen episodes in order of time; each one's score is the confidence it is claimed with.

    Parameters
    ----------
    proposals : candidates of all rooms.
    lesson : kinds of the lesson in flying order; empty when there is none.
    """
    weighed = [_weighed(e, proposals, lesson) for e in proposals]
    events = [e for e in weighed if room(e.kind).role is Role.EVENT]
    weighed = [e for e in weighed if e.score >= room(e.kind).accepted]
    fillers = [e for e in weighed if room(e.kind).role is Role.PASSAGE]
    patterns = _apart([e for e in weighed if room(e.kind).role is Role.PATTERN])
    maneuvers = [e for e in weighed if room(e.kind).role in (Role.EXERCISE, Role.RUNWAY)]
    maneuvers, patterns = _settle_patterns(maneuvers, patterns)
    chosen = _trimmed(_without_mere_turns(_schedule(maneuvers, lesson), lesson))
    filled = _fill(fillers, [*chosen, *patterns])
    return sorted([*chosen, *patterns, *filled, *events], key=lambda e: (e.start_s, -e.end_s))


def _weighed(e: Episode, proposals: Sequence[Episode], lesson: Sequence[str]) -> Episode:
    """The score with the story around it: the lesson, and whether a lone half circle cleared anything."""
    score, one = e.score, room(e.kind)
    if lesson and one.role not in (Role.PASSAGE, Role.EVENT):
        score *= one.in_lesson if e.kind in lesson else NOT_IN_LESSON
    if one.clears:
        score *= _cleared_for(e, proposals)
    if one.after_clearing != 1.0 and _just_cleared(e, proposals):
        score *= one.after_clearing
    if one.doubtful_alone:
        score *= IN_TRAINING if _training(e, proposals) else 1.0 if _may_lie_inside(e, proposals) else ALONE
    if one.unless is not None:
        of_it = [_overlap_s(e, p) for p in proposals if room(p.kind).family is one.unless and _overlap_s(e, p) > 0.0]
        score *= 1.0 - min(1.0, sum(of_it) / max(SLIPPED_SHARE * (e.end_s - e.start_s), 1.0))
    return replace(e, score=min(score, 1.0))


def _cleared_for(e: Episode, proposals: Sequence[Episode]) -> float:
    """What a clearing turn is worth by what came after it: one that clears the air for nothing is none."""
    there_and_back = e.facts.get("back") == 1.0
    enough = THERE_AND_BACK if there_and_back else LONE_FOR
    wanting = [p for p in proposals if room(p.kind).wants_clear_sky and p.score >= enough]
    patience_s = CLEARS_S if there_and_back else LONE_CLEARS_S
    soon = [p for p in wanting if -ENTRY_S <= p.start_s - e.end_s <= patience_s]
    if soon and (there_and_back or not _cleared_again(e, max(p.start_s for p in soon), proposals)):
        return CLEARED if e.facts.get("turns") == 1.0 else 1.0
    if not any(_overlap_s(e, p) <= 0.0 for p in wanting):
        return CLEARED_NOTHING
    return UNFOLLOWED if there_and_back else LONE_UNFOLLOWED


def _cleared_again(e: Episode, until_s: float, proposals: Sequence[Episode]) -> bool:
    """A sure clearing turn lies between the half circle and what it might have been for."""
    return any(
        room(p.kind).clears and p.facts.get("back") == 1.0 and p.score >= SURE
        and e.end_s <= p.start_s and p.end_s <= until_s + ENTRY_S
        for p in proposals
    )  # fmt: skip


def _just_cleared(e: Episode, proposals: Sequence[Episode]) -> bool:
    """A sure clearing turn there and back ended right before."""
    return any(
        room(p.kind).clears and p.facts.get("back") == 1.0 and p.score >= SURE
        and -1.0 <= e.start_s - p.end_s <= JUST_CLEARED_S
        for p in proposals
    )  # fmt: skip


def _training(e: Episode, proposals: Sequence[Episode]) -> bool:
    """A clearing turn came shortly before, or the flight has other sure exercises in it."""
    cleared = any(
        room(p.kind).clears and p.score >= 0.6 and -ENTRY_S <= e.start_s - p.end_s <= CLEARS_S for p in proposals
    )
    others = sum(room(p.kind).wants_clear_sky and p.score >= SURE and _overlap_s(e, p) <= 0.0 for p in proposals)
    return cleared or others >= 2


def _may_lie_inside(e: Episode, proposals: Sequence[Episode]) -> bool:
    """A sure one of those that hold such a maneuver overlaps it."""
    return any(_holds(p, e) and p.score >= SURE and _overlap_s(e, p) > 0.0 for p in proposals)


def _holds(outer: Episode, inner: Episode) -> bool:
    return room(outer.kind).holds is room(inner.kind).family


def _overlap_s(a: Episode, b: Episode) -> float:
    return min(a.end_s, b.end_s) - max(a.start_s, b.start_s)


def _clash(a: Episode, b: Episode) -> bool:
    """The two can't both be: they overlap by more than the end of the one and the entry of the other."""
    before, after = (a, b) if a.start_s <= b.start_s else (b, a)
    shorter = min(a.end_s - a.start_s, b.end_s - b.start_s)
    entry = next((p.end_s for p in after.phases if p.name == "entry"), after.start_s)
    if before.end_s < entry:
        return _overlap_s(a, b) > min(ENTRY_S, ENTRY_SHARE * shorter)
    return _overlap_s(a, b) > min(MOMENT_S, MOMENT_SHARE * shorter)


def _apart(episodes: list[Episode]) -> list[Episode]:
    out: list[Episode] = []
    for e in sorted(episodes, key=lambda e: e.start_s):
        if out and e.start_s < out[-1].end_s:
            e = replace(e, start_s=out[-1].end_s)
        if e.end_s - e.start_s > 20.0:
            out.append(e)
    return out


def _settle_patterns(maneuvers: list[Episode], patterns: list[Episode]) -> tuple[list[Episode], list[Episode]]:
    """A pattern ends on a runway and is sure of its end; a maneuver reaching into it from before cuts its start."""
    kept = list(maneuvers)
    settled: list[Episode] = []
    for pattern in patterns:
        for e in maneuvers:
            if room(e.kind).at_field or not _clash(e, pattern):
                continue
            middle = 0.5 * (pattern.start_s + pattern.end_s)
            if e.score > 0.6 and not room(e.kind).by_chance and e.end_s < middle:
                pattern = replace(pattern, start_s=max(pattern.start_s, e.end_s))
            elif e in kept:
                kept.remove(e)
        settled.append(pattern)
    return kept, settled


def _worth(e: Episode) -> float:
    one: Room = room(e.kind)
    return one.worth * e.score**2 * min(e.end_s - e.start_s, one.counts_s)


def _items(maneuvers: list[Episode]) -> list[_Item]:
    """Every maneuver alone, and those that hold others (slow flight) together with what ends them (a stall)."""
    items = [_Item(e, (), _worth(e)) for e in maneuvers]
    for slow in (e for e in maneuvers if room(e.kind).holds is not None):
        established = next((p.start_s for p in slow.phases if p.name == "established"), slow.start_s)
        inside = tuple(
            e for e in maneuvers
            if _holds(slow, e) and e.score >= NESTED_SURE and e.start_s >= established + NESTED_AFTER_S
            and _overlap_s(e, slow) > 0.0 and e.end_s - e.facts.get("break_s", e.end_s) < NESTED_RECOVERY_S
        )  # fmt: skip
        inside = _best_apart(inside)
        if inside:
            end = max([slow.end_s, *(e.end_s for e in inside)])
            worth = _worth(slow) + sum(0.5 * _worth(e) for e in inside)
            items.append(_Item(replace(slow, end_s=end), inside, worth))
    return sorted(items, key=lambda i: i.episode.end_s)


def _best_apart(episodes: Sequence[Episode]) -> tuple[Episode, ...]:
    out: list[Episode] = []
    for e in sorted(episodes, key=_worth, reverse=True):
        if not any(_clash(e, other) for other in out):
            out.append(e)
    return tuple(sorted(out, key=lambda e: e.start_s))


def _schedule(maneuvers: list[Episode], lesson: Sequence[str]) -> list[Episode]:
    """Chain of greatest total worth in which neighbours don't clash; order of the lesson as a small bonus."""
    items = _items(maneuvers)
    best: list[float] = []
    came: list[int] = []
    leader = [-1]  # best chain among the first j items
    ends = [item.episode.end_s for item in items]
    for j, item in enumerate(items):
        far = bisect_left(ends, item.episode.start_s, 0, j)
        # Items before `far` end before this one starts: of those the best chain does, and the last few for their order.
        top, source = item.worth, -1
        near = range(max(far - NEIGHBOURS, 0), j)
        for i in (*near, *([leader[far]] if leader[far] >= 0 else [])):
            if best[i] + item.worth * IN_ORDER > top and not _clash(items[i].episode, item.episode):
                bonus = IN_ORDER if _in_order(items[i].episode.kind, item.episode.kind, lesson) else 1.0
                if best[i] + item.worth * bonus > top:
                    top, source = best[i] + item.worth * bonus, i
        best.append(top)
        came.append(source)
        lead = leader[j]
        leader.append(j if lead < 0 or best[j] > best[lead] else lead)
    out: list[Episode] = []
    at = max(range(len(items)), key=best.__getitem__, default=-1)
    while at >= 0:
        out += [items[at].episode, *items[at].inside]
        at = came[at]
    return sorted(out, key=lambda e: e.start_s)


def _in_order(before: str, after: str, lesson: Sequence[str]) -> bool:
    return any(a == before and b == after for a, b in pairwise(lesson))


def _without_mere_turns(episodes: list[Episode], lesson: Sequence[str]) -> list[Episode]:
    """Level turns that no lesson asks for: only those turned again soon, or, beside other exercises, much of a circle.

    A lone half circle is how a pilot stays in the practice area or goes home; on a trip a look at something goes right
    round. There a clearing turn, which cleared the air for nothing, is none either.
    """
    training = any(_practiced(room(e.kind)) and e.score >= SOME_EXERCISE for e in episodes)
    turns = [e for e in episodes if room(e.kind).on_the_way and e.facts.get("change_rad", 0.0) > NEARLY_HALF_RAD]
    meant = {id(e) for one, two in pairwise(turns) if two.start_s - one.end_s < AGAIN_S for e in (one, two)}
    if training:
        meant |= {id(e) for e in turns if e.facts["change_rad"] > WELL_ROUND_RAD}
        meant |= {id(e) for e in episodes if room(e.kind).clears}
    return [e for e in episodes if not _mere(room(e.kind)) or e.kind in lesson or id(e) in meant]


def _mere(one: Room) -> bool:
    """A turn that any flight has."""
    return one.on_the_way or one.clears


def _practiced(one: Room) -> bool:
    return one.role is Role.EXERCISE and not _mere(one)


def _trimmed(episodes: list[Episode]) -> list[Episode]:
    """A moment's overlap given to the later one's start; what lies inside another stays."""
    out: list[Episode] = []
    for e in episodes:
        if out:
            last = out[-1]
            inside = _holds(last, e) and e.end_s <= last.end_s + 0.01
            if not inside and last.start_s < e.start_s < last.end_s:
                e = replace(e, start_s=last.end_s)
        out.append(e)
    return out


def _fill(fillers: list[Episode], taken: list[Episode]) -> list[Episode]:
    """Climbs, descents and level flight in what the maneuvers leave over, each at most once per stretch."""
    out: list[Episode] = []
    for e in fillers:
        free = [(e.start_s, e.end_s)]
        for other in taken:
            free = [part for a, b in free for part in ((a, min(b, other.start_s)), (max(a, other.end_s), b))
                    if part[1] - part[0] > 1.0]  # fmt: skip
        for a, b in free:
            if b - a >= room(e.kind).least_s:
                phases = tuple(replace(p, start_s=max(p.start_s, a), end_s=min(p.end_s, b)) for p in e.phases)
                out.append(replace(e, start_s=a, end_s=b, phases=tuple(p for p in phases if p.end_s > p.start_s)))
    return out
