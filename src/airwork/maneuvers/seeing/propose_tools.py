"""Small things every recognizer uses: an episode from indices, a score from parts, neutral scores for the unknown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import pairwise

import numpy as np

from airwork.maneuvers.episode import Episode, Phase
from airwork.maneuvers.seeing.signal import NEARLY_ALL, SHARP, median, over, percentile, under
from airwork.maneuvers.seeing.turns import HALF_DEG, Turn, find_turns, straight_between
from airwork.maneuvers.seeing.view import STEP_S, View

LEAST_SCORE = 0.25  # a weaker pattern isn't worth telling the arbiter of
NOT_KNOWN = 0.6  # height above ground: less than half of all flying is as low as work by marks on the ground
TRUST = {"airspeed": 1.0, "ground speed and wind": 0.9, "ground speed": 0.8}  # wind hides slowing and adds its own

# What many maneuvers have in common; each limit is where half of the score is lost. Common practice, no source.
LOW_M = 415.0  # 1,360 ft: the standards' 1,000 ft for work by marks, a poor pilot's 100 and uneven ground
LOWEST_M = 95.0  # 310 ft: lower is an approach
PRACTICE_M = 280.0  # 920 ft: stalls and steep turns are practiced above, patterns flown below
LEVEL_MPS = 2.7  # 530 fpm
THROUGH_MPS, THROUGH_S = 0.9, (2.0, 20.0)  # 180 fpm; so long before and after
BEGUN_MPS, BEGUN_S = 1.3, 45.0  # 260 fpm: a descent begun in it and gone on with, not put right in so long
KEPT_M = 130.0  # an altitude kept, badly, from one end of the samples to the other
ABOUT_DEG = 42.0  # a turn meant to be so many degrees ends within this
MEDIUM_DEG = 48.0  # no more bank than this, by a poor pilot, where no steep turn is meant
ORDINARY = 1.26  # times the stall speed: slower is slow flight
IDLE, HARDLY_POWERED = 0.22, 0.5  # share of full power
SURELY_IDLE = 0.1  # however flat, it glided
SWUNG_S = 12.0  # between half circles to alternate sides
LESSON_S, SHORTER_DEG, MUCH_DEG, LIKE_DEG, CLEARING = 360.0, 75.0, 270.0, 6.0, 2  # turns in one bank
LONGER, PAUSED_S = 1.25, 2.5  # than the longest other pause of a chain: the turn before or after it was another


def episode(
    kind: str, view: View, first: int, last: int, score: float, *, evidence: tuple[str, ...] = (),
    phases: tuple[tuple[str, int, int], ...] = (), facts: Mapping[str, float] | None = None,
) -> Episode:  # fmt: skip
    """An episode from indices of the view; phases as (name, first, last)."""

    def seconds(index: int) -> float:
        return float(view.time_s[min(max(index, 0), view.n - 1)])

    made = tuple(Phase(name, seconds(a), seconds(b)) for name, a, b in phases if b > a)
    return Episode(kind, seconds(first), seconds(last), min(score, 1.0), made, evidence, dict(facts or {}))


def mean_agl_m(view: View, first: int, last: int) -> float:
    """Median height above ground; NaN when not known, except that height over the flight's lowest point is sure. [m]"""
    part = view.agl_m[first : last + 1]
    known = part[np.isfinite(part)]
    if known.size:
        return median(known)
    least = median(view.altitude_m[first : last + 1]) - view.lowest_m
    return least if least > LOW_M else float("nan")


def down_low(view: View, first: int, last: int) -> float:
    """1 at the heights of work by marks on the ground, 0 well above; neutral when not known."""
    agl = mean_agl_m(view, first, last)
    low = under(agl, LOW_M, SHARP) * over(agl, LOWEST_M) if np.isfinite(agl) else NOT_KNOWN
    return low * all_known(view, first, last)


def aloft(view: View, first: int, last: int) -> float:
    """1 at the heights stalls and steep turns are flown, 0 in the pattern; neutral when not known."""
    agl = mean_agl_m(view, first, last)
    return (over(agl, PRACTICE_M) if np.isfinite(agl) else 1.0) * all_known(view, first, last)


def level(climb_mps: float) -> float:
    """1 for a mean rate of climb or descent as a level maneuver may have."""
    return under(abs(climb_mps), LEVEL_MPS)


def no_part_of_a_climb(view: View, first: int, last: int) -> float:
    """0 where it climbed or sank before, in and after a stretch alike, or as well in it as on from there.

    A climbing turn belongs to its climb; a poor level turn is leveled off when it is over.
    """
    near, far = view.samples(THROUGH_S[0]), view.samples(THROUGH_S[1])
    after = view.climb_mps[last + near : last + far]
    if not after.size:
        return 1.0
    inside, later = median(view.climb_mps[first : last + 1]), view.climb_mps[last + near : last + view.samples(BEGUN_S)]
    through, begun = _alike(_before(view, first), inside, median(after)), _alike(inside, median(later))
    return 1.0 - max(over(through, THROUGH_MPS), over(begun, BEGUN_MPS, SHARP))


def leveled_before(view: View, first: int, last: int) -> float:
    """0 where it climbed or sank before and on through half of a stretch: no turn that is meant to be level."""
    half = median(view.climb_mps[first : (first + last) // 2 + 1])
    return 1.0 - over(_alike(_before(view, first), half), BEGUN_MPS, SHARP)


def _before(view: View, first: int) -> float:
    near, far = view.samples(THROUGH_S[0]), view.samples(THROUGH_S[1])
    return median(view.climb_mps[max(first - far, 0) : max(first - near, 1)])


def _alike(*rates_mps: float) -> float:
    """The least of rates one way; 0 for some up and some down. [m/s]"""
    return max(min(rates_mps), min(-rate for rate in rates_mps), 0.0)


def kept(view: View, first: int, last: int, range_m: float = KEPT_M) -> float:
    """1 where the altitude stayed within a range nine tenths of the time."""
    altitude = view.altitude_m[first : last + 1]
    return under(percentile(altitude, NEARLY_ALL) - percentile(altitude, 100.0 - NEARLY_ALL), range_m)


def about(change_deg: float, wanted_deg: float) -> float:
    """1 for a turn through nearly so many degrees."""
    return under(abs(change_deg - wanted_deg), ABOUT_DEG)


def no_slower(view: View, turn: Turn, *, on_the_whole: bool = False) -> float:
    """1 for a turn at an ordinary speed, 0 for one in slow flight; 1 where the stall speed isn't known.

    on_the_whole : its mean speed counts: a student's steep turn may come near the stall for a moment.
    """
    mean_mps = float(view.speed_mps[turn.first : turn.last + 1].mean())
    times_stall = (mean_mps if on_the_whole else turn.speed_least_mps) / view.clean_stall_mps
    return over(times_stall, ORDINARY, SHARP) if np.isfinite(times_stall) else 1.0


def throttled(view: View, first: int, last: int, share: float = HARDLY_POWERED) -> float:
    """1 for less than a share of full power; 1 where nothing tells."""
    return 1.0 if view.power is None else under(median(view.power[first : last + 1]), share)


def speed_trust(view: View) -> float:
    """What a score that rests on airspeed is worth with this recording's airspeed."""
    return TRUST[view.speed_from]


def side(sign: float) -> str:
    """'right' or 'left'."""
    return "right" if sign > 0 else "left"


def all_known(view: View, first: int, last: int) -> float:
    """Share of the stretch that was recorded."""
    return float(view.known[first : last + 1].mean())


def chains(
    turns: list[Turn], view: View, *, opposite: bool, longest_gap_s: float,
    apart: Callable[[Turn, Turn], bool] = lambda before, turn: False,
) -> list[list[Turn]]:  # fmt: skip
    """Runs of turns that follow each other within a gap, each to the other side (or all to the same); cut where two
    are apart."""
    found: list[list[Turn]] = []
    for turn in turns:
        if found:
            before = found[-1][-1]
            gap = float(view.time_s[turn.first] - view.time_s[before.last])
            if gap <= longest_gap_s and (turn.sign != before.sign) == opposite and not apart(before, turn):
                found[-1].append(turn)
                continue
        found.append([turn])
    return found


def swings(view: View, turns: list[Turn], k: int) -> int:
    """How many of the turns right before and after this one are half circles to the other side."""
    out = 0
    for before, after in pairwise(turns[max(k - 1, 0) : k + 2]):
        near = straight_between(view, before, after) < SWUNG_S
        out += near and before.sign != after.sign and about(min(before.change_deg, after.change_deg), HALF_DEG) > 0.0
    return out


def weaves(turns: list[Turn], view: View, longest_gap_s: float) -> list[list[Turn]]:
    """Chains to alternate sides, each also without its first, its last or both: a turn more may not belong to it.

    One that a longer pause than any other sets apart is not offered with the rest, unless a half circle broken off
    too soon made the pause.
    """
    found = chains(turns, view, opposite=True, longest_gap_s=longest_gap_s)
    parts = [part for c in found for part in (c, c[1:], c[:-1], c[1:-1]) if len(part) >= 2]
    return [part for part in parts if not _apart_at_an_end(part)]


def _apart_at_an_end(chain: list[Turn]) -> bool:
    gaps = [(after.first - before.last) * STEP_S for before, after in pairwise(chain)]
    if len(gaps) < 3:
        return False
    ends = [gaps[k] for k in (0, -1) if chain[k - (k < 0)].change_deg > HALF_DEG - 0.5 * ABOUT_DEG]
    return max(ends, default=0.0) > LONGER * max(gaps[1:-1]) + PAUSED_S


def among_its_like(view: View, turn: Turn) -> bool:
    """Other turns in the same bank around it, more than clear the air, no circle much steeper: turns are practiced."""
    near = [t for t in view.once(find_turns) if t is not turn and abs(t.first - turn.first) < view.samples(LESSON_S)]
    if any(t.change_deg > MUCH_DEG and t.bank_deg > turn.bank_deg + LIKE_DEG for t in near):
        return False
    like = [t for t in near if SHORTER_DEG < t.change_deg < MUCH_DEG and abs(t.bank_deg - turn.bank_deg) < LIKE_DEG]
    return len(like) > CLEARING


def centers_apart_m(a: Turn, b: Turn) -> float:
    """Distance between the circles two turns were flown on; NaN without position. [m]"""
    return float(np.hypot(a.center_east_m - b.center_east_m, a.center_north_m - b.center_north_m))


def alternating(view: View, chain: list[Turn], range_m: float = KEPT_M) -> float:
    """What S-turns and eights share: low, not steep, no lasting climb or descent."""
    first, last = chain[0].first, chain[-1].last
    return (
        down_low(view, first, last)
        * kept(view, first, last, range_m)
        * under(float(np.median([turn.bank_deg for turn in chain])), MEDIUM_DEG, SHARP)
    )
