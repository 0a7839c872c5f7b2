"""What a proposal is worth with the story around it, and which two can't both be.

The lesson and the clearing turn before it move a room's own score a little.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from airwork.maneuvers import room
from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.episode import Episode

MOMENT_S, MOMENT_SHARE = 8.0, 0.2  # one maneuver's recovery runs into the next one's entry
CLEARS_S = 90.0  # turned this shortly before a maneuver it cleared the air
CLEARED = 1.75  # what the maneuver after it makes of a lone half circle
LIKELY, SURE = 0.4, 0.85  # of another proposal that speaks for one
NOT_IN_LESSON = 0.94
COUNTS_S = 60.0  # a longer stall says nothing more
WELL_ROUND_RAD = 3.93  # 225°: a turn back or for home is less


def weighed(e: Episode, proposals: Sequence[Episode], lesson: Sequence[str]) -> Episode:
    """The score with the story around it: the lesson, and whether a lone half circle cleared anything."""
    score, one = e.score, room(e.kind)
    if e.kind in lesson and one.role not in (Role.PASSAGE, Role.EVENT):
        score *= one.in_lesson
    elif lesson and one.role is Role.EXERCISE:  # that it takes off and lands goes without saying
        score *= NOT_IN_LESSON
    if one.after_clearing != 1.0 and just_cleared(e, proposals):
        score *= one.after_clearing
    if one.clears:
        score *= _cleared_for(e, proposals)
    if one.unless is not None:
        of_it = sum(max(overlap_s(e, p), 0.0) for p in proposals if room(p.kind).family is one.unless)
        score *= 1.0 - min(1.0, of_it / max(e.end_s - e.start_s, 1.0))
    return replace(e, score=min(score, 1.0))


def _cleared_for(e: Episode, proposals: Sequence[Episode]) -> float:
    """What a clearing turn is worth by what came after it; what was only begun counts after a half or an exact pair."""
    lone = e.facts.get("turns") == 1.0
    soon = any(cleared_for(e, p) for p in proposals)
    begun = 1.0 if soon else e.facts.get("begun", 0.0) * (1.0 if lone else e.facts.get("exact", 0.0))
    return begun * (CLEARED if lone else 1.0)


def cleared_for(e: Episode, p: Episode) -> bool:
    """The other wants a clear sky and began soon after this turn, or while it still went round."""
    within_s = 0.5 * CLEARS_S if e.facts.get("turns") == 1.0 else CLEARS_S
    soon = -MOMENT_S <= p.start_s - e.end_s <= within_s or e.start_s < p.start_s < e.end_s < entered_s(p)
    return soon and room(p.kind).wants_clear_sky and p.score >= LIKELY


def just_cleared(e: Episode, proposals: Sequence[Episode]) -> bool:
    """A sure clearing turn ended shortly before."""
    return any(
        room(p.kind).clears and p.score >= SURE and -MOMENT_S <= e.start_s - p.end_s <= CLEARS_S for p in proposals
    )


def alone(e: Episode, story: Sequence[Episode], proposals: Sequence[Episode]) -> float:
    """1 where nothing else is practiced in the flight; 0 beside a sure exercise, after a clearing turn, for a circle.

    A lesson is seldom one maneuver; on a trip a half circle for home, a slow look at something stand by themselves.
    """
    if just_cleared(e, proposals) or abs(e.facts.get("change_rad", 0.0)) > WELL_ROUND_RAD:
        return 0.0
    others = (p for p in story if p is not e and is_practiced(room(p.kind)))
    apart = (p for p in others if overlap_s(e, p) <= 0.0 or holds(p, e) or holds(e, p))
    return max(1.0 - sum(p.score**2 for p in apart), 0.0)


def is_practiced(one: Room) -> bool:
    """Flown for its own sake, and no turn that any flight has."""
    return one.role is Role.EXERCISE and not is_mere(one)


def is_mere(one: Room) -> bool:
    """A turn that any flight has."""
    return one.on_the_way or one.clears


def holds(outer: Episode, inner: Episode) -> bool:
    return room(outer.kind).holds is room(inner.kind).family


def overlap_s(a: Episode, b: Episode) -> float:
    return min(a.end_s, b.end_s) - max(a.start_s, b.start_s)


def entered_s(e: Episode) -> float:
    """Where its entry is over: slowing down, say; its start without one. [s]"""
    return next((p.end_s for p in e.phases if p.name == "entry"), e.start_s)


def clash(a: Episode, b: Episode) -> bool:
    """The two can't both be: they overlap by more than the end of the one and the entry of the other."""
    before, after = (a, b) if a.start_s <= b.start_s else (b, a)
    shorter = min(a.end_s - a.start_s, b.end_s - b.start_s)
    entry = entered_s(after)
    if before.end_s < entry and room(before.kind).clears and room(after.kind).wants_clear_sky:
        return False  # slowed down while still clearing the air for it
    if before.end_s < entry:
        return overlap_s(a, b) > 2.0 * min(MOMENT_S, MOMENT_SHARE * shorter)  # slowing down began in the turn before
    return overlap_s(a, b) > min(MOMENT_S, MOMENT_SHARE * shorter)


def worth(e: Episode) -> float:
    one: Room = room(e.kind)
    length = e.end_s - e.start_s
    return one.worth * e.score**2 * (min(length, COUNTS_S) if one.family is Family.STALL else length)
