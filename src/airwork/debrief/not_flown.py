"""What the lesson asked for and the recording doesn't show, or shows less often than asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from airwork.debrief.plan import seen_as
from airwork.maneuvers import ROOMS, room
from airwork.maneuvers.declared import Role
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.runway_grade import surely_touched

TIMES = {1: "once", 2: "twice"}


def not_flown(evidence: Evidence, episodes: Sequence[Episode], planned: Mapping[str, int]) -> str:
    """In a sentence or two; "" where all of it was flown.

    planned : kind as the lesson has it → how often.
    """
    missing, fewer, unseen, plain = [], [], [], []
    for kind, times in planned.items():
        if kind not in ROOMS:
            continue
        if room(seen_as(kind)).propose is None:
            unseen.append(room(kind).named)
            continue
        flown = _flown(evidence, episodes, kind)
        if not flown:
            missing.append(room(kind).named + _perhaps(episodes, kind))
        elif flown < times:
            fewer.append(f"{room(kind).named} {_often(flown)}, {_often(times)} was asked for")
        if flown and seen_as(kind) != kind and room(kind).flown_as is None:
            plain.append(f"{room(kind).named}, judged as any {room(seen_as(kind)).named}")
    said = {
        "Planned and not seen": ", ".join(missing), "Planned, and no recording shows it": ", ".join(unseen),
        "Seen less often": "; ".join(fewer), "Not told apart": ", ".join(plain),
    }  # fmt: skip
    return " ".join(f"{what}: {which}." for what, which in said.items() if which)


def _flown(evidence: Evidence, episodes: Sequence[Episode], kind: str) -> int:
    """How often a recording shows it; every touchdown is a landing, and a touch-and-go a takeoff."""
    one, seen = room(kind), room(seen_as(kind))
    alike = [
        e for e in episodes
        if e.kind == seen.kind or (seen.lands and room(e.kind).lands)
        or (seen.takes_off and not seen.lands and room(e.kind).takes_off)
    ]  # fmt: skip
    if one is seen or one.flown_as is None:
        return len(alike)
    return sum(one.flown_as(e, evidence) for e in alike)


def _perhaps(episodes: Sequence[Episode], kind: str) -> str:
    """What a planned go-around may have been taken for: a touch-and-go whose touch nothing but a height shows."""
    one = room(kind)
    goes_around = one.role is Role.RUNWAY and not (one.lands or one.takes_off)
    unsure = [room(e.kind).named for e in episodes if not surely_touched(e)]
    return f" (unless it was the {unsure[0]} whose touch isn't sure)" if goes_around and unsure else ""


def _often(times: int) -> str:
    return TIMES.get(times, f"{times} times")
