"""What the three stalls share: which break is which, and from where to where the maneuver runs."""

from __future__ import annotations

from enum import Enum

import numpy as np

from airwork.maneuvers.episode import FIRST_SIGN, Episode
from airwork.maneuvers.seeing.propose_tools import IDLE, LEAST_SCORE, aloft, episode, speed_trust, throttled
from airwork.maneuvers.seeing.signal import SHARP, first_true, last_true, median, over, under
from airwork.maneuvers.seeing.slow import (
    BACK_S,
    BANKED_RAD,
    BEFORE_S,
    EASED_SLOPE,
    FALLING_SLOPE,
    HELD_LONG_S,
    SAFE_SPEED,
    Break,
    SlowStretch,
    slow_stretches,
    slowing_began,
)
from airwork.maneuvers.seeing.turns import TURNING_RAD
from airwork.maneuvers.seeing.view import View
from airwork.masks import runs
from airwork.units import to_unit

RISE_M, ZOOMED_M = 6.0, 25.0  # a power-on stall climbs into the break; a level turn pulled tight never by 80 ft in 6 s
# Times the stall speed; a speed held below it is a stage of the entry: the stabilized descent at approach speed, the
# lift-off speed of a power-on stall.
ENTRY = 1.7
CIRCLED_RAD = np.radians(315.0)  # a stall in a turn comes soon after rolling in
DROPS_S = 2.5  # a wing that drops is banked no longer
# Flying again so soon: recovered. With the throttle left closed it may be, but is less sure.
RECOVERED_S, UNPOWERED = 15.0, 0.6
PITCH_UP_S = 6.0  # before the break: where a stall out of slow flight begins
REGAINED, GLIDED_ON_S = 1.4, 12.0  # descending on at this speed for so long: the recovery was over when it was reached
BROUGHT, BROUGHT_S = 0.15, 10.0  # share of full power; before and after the break (no source)
# A turning stall's entry turns 30 to 90° at 20° of bank; half a circle ending in a stall is a chandelle flown badly.
TURNED_RAD = np.radians(150.0)


class Way(Enum):
    """How the wing was brought to its stall."""

    IDLE = "power off"
    WITH_POWER = "power on"
    ACCELERATED = "in a steep turn, above the 1 g stall speed"


def stalls(view: View, kind: str, way: Way) -> list[Episode]:
    """Every break of a kind ("power_off_stall", "power_on_stall", "accelerated_stall") as an episode."""
    out = []
    for stretch in view.once(slow_stretches):
        for k, one in enumerate(stretch.breaks):
            score = one.score * _way_score(view, one, way) * speed_trust(view) * _recovered(view, one)
            if score < LEAST_SCORE:
                continue
            start, end = _extent(view, stretch, k)
            score *= aloft(view, start, end)
            if way is Way.WITH_POWER:
                score *= _power_brought(view, stretch, one)
                level = runs(np.abs(view.turn_bank_rad[start : one.index + 1]) < TURNING_RAD)
                rolled_in = start + max((b - 1 for a, b in level if b - a >= view.samples(DROPS_S)), default=0)
                score *= under(float(np.ptp(view.heading_rad[rolled_in : one.index + 1])), TURNED_RAD)
            made = episode(
                kind, view, start, end, score, evidence=_evidence(view, one),
                phases=(("entry", start, one.index), ("recovery", one.index, end)),
                facts={"break_s": float(view.time_s[one.index]), "bank_rad": one.bank_rad, "power": one.power}
                | ({FIRST_SIGN: 1.0} if one.first_sign else {}),
            )  # fmt: skip
            out.append(made)
    return out


def _power_brought(view: View, stretch: SlowStretch, one: Break) -> float:
    """Out of slow flight power is set for the stall, or comes in the recovery; as it was all along, the slow flight
    itself was let go to its stall.
    """
    settled = stretch.settled
    if view.power is None or settled is None or one.index - settled[0] < view.samples(2.0 * BROUGHT_S):
        return 1.0
    held = median(view.power[settled[0] : one.index - view.samples(BROUGHT_S)])
    near = view.power[one.index - view.samples(BROUGHT_S) : one.last + view.samples(BROUGHT_S) + 1]
    return over(float(near.max()) - held, BROUGHT, SHARP)


def _way_score(view: View, one: Break, way: Way) -> float:
    # Above the 1 g stall speed until the roll-in, about level; slower with the wings near level, or out of a climb, it
    # is a wing that drops.
    before = float(view.speed_mps[max(one.index - view.samples(BEFORE_S), 0)]) / view.clean_stall_mps
    accelerated = (
        over(one.bank_rad, BANKED_RAD, SHARP) * over(before, SAFE_SPEED, SHARP) * under(one.rise_m, ZOOMED_M, SHARP)
    )
    if way is Way.ACCELERATED:
        return accelerated * under(_turned(view, one.index), np.pi)  # further round is circling, sinking a spiral
    if np.isfinite(one.power):
        with_power = over(one.power, IDLE)
    else:
        energy = under(-one.energy_slope, EASED_SLOPE)
        with_power = float(np.mean([energy, energy, over(one.rise_m, RISE_M)]))
    share = with_power if way is Way.WITH_POWER else 1.0 - with_power
    if view.speed_from != "airspeed":
        share *= under(-one.energy_slope, FALLING_SLOPE)
    return (1.0 - accelerated) * share


def _recovered(view: View, one: Break) -> float:
    """1 for flying fast again soon, with power; slow flight, a glide, circling go on after a slow moment.

    Stalled again in the recovery, it is the second one that is recovered from.
    """
    index, stall = one.last, view.clean_stall_mps * min(one.speed_ratio, 1.0)  # lighter, or flaps: it flew slower
    after = slice(index + view.samples(DROPS_S), index + view.samples(RECOVERED_S) + 1)
    again = over(float(view.speed_mps[after].max(initial=0.0)) / stall, SAFE_SPEED, SHARP)
    powered = 1.0 if view.power is None else 1.0 - throttled(view, after.start, after.stop, IDLE)
    return again * (UNPOWERED + (1.0 - UNPOWERED) * powered) * under(_turned(view, one.index), CIRCLED_RAD)


def _turned(view: View, index: int) -> float:
    """How far round it had come since rolling in. [rad]"""
    shallow = last_true(np.abs(view.turn_bank_rad[: index + 1]) < 0.5 * BANKED_RAD, 0)
    return abs(float(view.heading_rad[index] - view.heading_rad[shallow]))


def _extent(view: View, stretch: SlowStretch, number: int) -> tuple[int, int]:
    one, stall = stretch.breaks[number], view.clean_stall_mps
    start = slowing_began(view, one.index, stall, ENTRY)
    if number > 0:
        start = max(start, stretch.breaks[number - 1].index + view.samples(DROPS_S))
    a, b = stretch.settled or (one.index, one.index)
    if min(b, one.index) - a > view.samples(HELD_LONG_S):
        # Out of slow flight: from where the held speed was left, or the nose raised.
        start = max(start, min(b, one.index - view.samples(PITCH_UP_S)))
    last = min(one.last + view.samples(BACK_S), view.n - 1)
    speed, climb = view.speed_mps[one.last : last] / stall, view.climb_mps[one.last : last]
    settling = view.samples(2.0)
    flying = (speed > SAFE_SPEED) & (climb > 0.0)
    end = settling + first_true(flying[settling:], last - one.last - settling)
    regained = first_true(speed[:end] > REGAINED, end)
    if end - regained > view.samples(GLIDED_ON_S):
        end = regained
    end += one.last
    if number + 1 < len(stretch.breaks):
        end = min(end, stretch.breaks[number + 1].index - view.samples(1.0))
    return start, max(end, one.last + settling)


def _evidence(view: View, one: Break) -> tuple[str, ...]:
    slowest = to_unit(float(view.speed_mps[one.index]), "kt")
    speed = "calibrated airspeed" if "airplane" in view.stall_from else "speed"  # the dial shows less, this slow
    out = [
        f"{speed} down to {slowest:.0f} kt, {one.speed_ratio:.2f} times the stall speed ({view.stall_from})",
        "recovered at the first sign, no break to be seen"
        if one.first_sign
        else f"then sinking {to_unit(-min(one.sink_mps, 0.0), 'fpm'):,.0f} fpm",
    ]
    if np.isfinite(one.power):
        out.append(f"{100 * one.power:.0f} % of the flight's full power before it")
    else:
        out.append(f"energy {'held' if -one.energy_slope < EASED_SLOPE else 'falling'} before it")
    if one.bank_rad > 2.0 * TURNING_RAD:
        out.append(f"{np.degrees(one.bank_rad):.0f}° of bank")
    return tuple(out)
