"""Small things every recogniser uses: an episode from indices, a score from parts, neutral scores for the unknown."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.episode import Episode, Phase
from airwork.maneuvers.seeing.signal import median, ramp

if TYPE_CHECKING:
    from airwork.maneuvers.seeing.turns import Turn
    from airwork.maneuvers.seeing.view import View

LEAST_SCORE = 0.25  # a weaker pattern isn't worth telling the arbiter of
UNKNOWN_HEIGHT = 0.55  # height above ground not known: less than half of all flying is that low
ESTIMATED_SPEED = 0.9  # airspeed worked out from ground speed and wind
UNKNOWN_WIND = 0.8  # ground speed standing in for airspeed: wind hides slowing and adds some of its own

# Where a maneuver is practiced. Common practice, no source, beyond the standards' 600 to 1,000 ft and 1,500 ft.
GROUND_REFERENCE_TOP_M = 380.0  # 1,250 ft: the standards' 1,000 ft, a poor pilot's 100 and uneven ground
GROUND_REFERENCE_GONE_M = 450.0  # 1,480 ft
HIGH_ENOUGH_M = 360.0  # 1,200 ft
TOO_LOW_M = 200.0


def episode(
    kind: str, view: View, first: int, last: int, score: float, *, evidence: tuple[str, ...] = (),
    phases: tuple[tuple[str, int, int], ...] = (), facts: Mapping[str, float] | None = None,
) -> Episode:  # fmt: skip
    """An episode from indices of the view; phases as (name, first, last)."""

    def seconds(index: int) -> float:
        return float(view.time_s[min(max(index, 0), view.n - 1)])

    made = tuple(Phase(name, seconds(a), seconds(b)) for name, a, b in phases if b > a)
    return Episode(kind, seconds(first), seconds(last), round(min(score, 1.0), 4), made, evidence, dict(facts or {}))


def mean_agl_m(view: View, first: int, last: int) -> float:
    """Median height above ground; NaN when not known, except that height over the flight's lowest point is sure. [m]"""
    part = view.agl_m[first : last + 1]
    known = part[np.isfinite(part)]
    if known.size:
        return median(known)
    least = median(view.altitude_m[first : last + 1]) - view.lowest_m
    return least if least > GROUND_REFERENCE_GONE_M else float("nan")


def low_score(agl_m: float) -> float:
    """1 at the heights ground reference maneuvers are flown, 0 well above; neutral when not known."""
    if not np.isfinite(agl_m):
        return UNKNOWN_HEIGHT
    return ramp(agl_m, GROUND_REFERENCE_GONE_M, GROUND_REFERENCE_TOP_M) * ramp(agl_m, 60.0, 130.0)


def high_score(agl_m: float) -> float:
    """1 at the heights stalls and steep turns are flown, 0 in the pattern; neutral when not known."""
    if not np.isfinite(agl_m):
        return 0.9
    return ramp(agl_m, TOO_LOW_M, HIGH_ENOUGH_M)


def speed_trust(view: View) -> float:
    """What a score that rests on airspeed is worth with this recording's airspeed."""
    return {"airspeed": 1.0, "ground speed and wind": ESTIMATED_SPEED, "ground speed": UNKNOWN_WIND}[view.speed_from]


def side(sign: float) -> str:
    """'right' or 'left'."""
    return "right" if sign > 0 else "left"


def all_known(view: View, first: int, last: int) -> float:
    """Share of the stretch that was recorded."""
    return float(view.known[first : last + 1].mean())


def chains(turns: list[Turn], view: View, *, opposite: bool, longest_gap_s: float) -> list[list[Turn]]:
    """Runs of turns that follow each other within a gap, each to the other side (or all to the same)."""
    found: list[list[Turn]] = []
    for turn in turns:
        if found:
            before = found[-1][-1]
            gap = float(view.time_s[turn.first] - view.time_s[before.last])
            if gap <= longest_gap_s and (turn.sign != before.sign) == opposite:
                found[-1].append(turn)
                continue
        found.append([turn])
    return found


def without_ends(chain: list[Turn]) -> list[list[Turn]]:
    """The chain, and the chain without its first, its last or both: a turn before or after may not belong to it."""
    options = [chain, chain[1:], chain[:-1], chain[1:-1]]
    return [part for part in options if len(part) >= 2]


def joined_change_rad(view: View, turns: list[Turn]) -> float:
    """Heading change from the first turn's start to the last one's end, without sign. [rad]"""
    return float(abs(view.heading_rad[turns[-1].last] - view.heading_rad[turns[0].first]))


def centers_apart_m(a: Turn, b: Turn) -> float:
    """Distance between the circles two turns were flown on; NaN without position. [m]"""
    return float(np.hypot(a.center_east_m - b.center_east_m, a.center_north_m - b.center_north_m))


LEVEL_RANGE_M, WILD_RANGE_M = 90.0, 170.0  # of altitude in work by marks on the ground
STEEP_DEG, TOO_STEEP_DEG = 46.0, 58.0


def alternating_score(
    view: View, chain: list[Turn], range_m: float = LEVEL_RANGE_M, wild_m: float = WILD_RANGE_M
) -> float:
    """What S-turns and eights on pylons share: low, not steep, no lasting climb or descent."""
    first, last = chain[0].first, chain[-1].last
    altitude = view.altitude_m[first : last + 1]
    bank = float(np.degrees(np.median([turn.settled_bank_rad for turn in chain])))
    return (
        low_score(mean_agl_m(view, first, last))
        * ramp(float(np.percentile(altitude, 95) - np.percentile(altitude, 5)), wild_m, range_m)
        * ramp(bank, TOO_STEEP_DEG, STEEP_DEG)
        * all_known(view, first, last)
    )
