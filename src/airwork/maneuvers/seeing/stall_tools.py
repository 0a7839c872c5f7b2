"""What the three stalls share: which break is which, and from where to where the maneuver runs."""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.seeing.propose_tools import LEAST_SCORE, all_known, episode, high_score, speed_trust
from airwork.maneuvers.seeing.signal import bridged, ramp, runs
from airwork.maneuvers.seeing.slow import slow_stretches, slowing_began
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
    from airwork.maneuvers.seeing.slow import Break, SlowStretch
    from airwork.maneuvers.seeing.view import View

# The engine's share shows in the energy: at idle and near the stall a light airplane loses a meter of energy height
# in some 8 to 12 flown, as steep as it glides; with power for level flight or a climb it holds or gains it.
IDLE_SLOPE, POWER_SLOPE = -0.085, -0.03
NO_RISE_M, RISE_M = 0.0, 12.0  # a power-on stall climbs into the break
GLIDING_MPS, GLIDED_THROUGH = 2.0, 0.5  # 400 fpm
IDLE_POWER, MUCH_POWER = 0.12, 0.35  # share of full power in the last three seconds
LIKELIER = 0.72
# Times the stall speed; a speed held below it is a stage of the entry: the stabilized descent at approach speed, the
# lift-off speed of a power-on stall.
ENTRY, ACCELERATED_ENTRY = 1.65, 1.75
BANKED_RAD = np.radians(27.0)  # turning stalls have up to 20° (±10°); an accelerated one about 45°
STEEP_RAD = np.radians(36.0)
# An accelerated stall is pulled soon after rolling in; a steep turn takes half a minute. Longer is circling.
CIRCLED_S, JUST_ROLLED_IN_S = 75.0, 45.0
FULL_CIRCLE_RAD, THREE_QUARTERS_RAD = np.radians(360.0), np.radians(270.0)
ROLLED_OUT_S = 8.0
STILL_BANKED_RAD, ROLLED_OUT_RAD = np.radians(35.0), np.radians(22.0)  # the recovery levels the wings
ENTRY_LEVEL_S, SPIRALING_MPS, LEVEL_ENTRY_MPS = 12.0, 6.0, 3.0  # 1,200 and 600 fpm
# Times the 1 g stall speed, known to some 5 %: at 45° of bank it stalls at 1.19; below 1 a wing dropped.
DROPS_S, NOT_YET_RAD, BANKED_BEFORE_RAD = 2.5, np.radians(24.0), np.radians(34.0)  # a wing drops in two seconds
WING_DROP, ACCELERATED = 0.95, 1.05
SAFE_SPEED = 1.2  # times the clean stall: where the recovery counts as flying again
HELD_SLOW_S = 30.0  # slow flight held this long before the break: the stall begins at its end
REGAINED, GLIDED_ON_S = 1.4, 12.0  # descending on at this speed for so long: the recovery was over when it was reached
LONGEST_RECOVERY_S = 45.0
LEVEL_RAD = np.radians(15.0)
WINGS_LEVEL_RAD, LEVEL_S = np.radians(6.0), 3.0
PITCH_UP_S = 6.0
# A turning stall's entry turns 30 to 90° at 20° of bank; half a circle ending in a stall is a chandelle flown badly.
TURNED_RAD, TURNED_TOO_FAR_RAD = np.radians(110.0), np.radians(190.0)
GAINED_M = 15.0  # a chandelle climbs through its turn


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
            score = one.score * _way_score(view, stretch, one, way) * speed_trust(view)
            score *= high_score(float(view.agl_m[one.index]))
            if score < LEAST_SCORE:
                continue
            start, end = _extent(view, stretch, k)
            score *= all_known(view, start, end)
            if way is not Way.ACCELERATED:
                rolled_in = _wings_level_before(view, start, one.index)
                turned = float(np.ptp(view.heading_rad[rolled_in : end + 1]))
                if view.altitude_m[one.index] > view.altitude_m[rolled_in] + GAINED_M:
                    score *= ramp(turned, TURNED_TOO_FAR_RAD, TURNED_RAD)
            made = episode(
                kind, view, start, end, score, evidence=_evidence(view, one),
                phases=(("entry", start, one.index), ("recovery", one.index, end)),
                facts={"break_s": float(view.time_s[one.index]), "bank_rad": one.bank_rad, "power": one.power},
            )  # fmt: skip
            out.append(made)
    return out


def _way_score(view: View, stretch: SlowStretch, one: Break, way: Way) -> float:
    speed = float(view.speed_mps[one.index]) / view.clean_stall_mps
    before = abs(float(view.bank_rad[max(one.index - view.samples(DROPS_S), 0)]))
    banked = max(ramp(speed, WING_DROP, ACCELERATED), ramp(before, NOT_YET_RAD, BANKED_BEFORE_RAD))
    accelerated = ramp(one.bank_rad, BANKED_RAD, STEEP_RAD) * banked
    if way is Way.ACCELERATED:
        return accelerated * _pulled(view, one.index)
    if np.isfinite(one.power):
        with_power = ramp(one.power, IDLE_POWER, MUCH_POWER)
    else:
        energy = ramp(one.energy_slope, IDLE_SLOPE, POWER_SLOPE)
        with_power = 0.7 * energy + 0.3 * ramp(one.rise_m, NO_RISE_M, RISE_M)
    share = with_power if way is Way.WITH_POWER else 1.0 - with_power
    if way is Way.IDLE and _gliding_through(view, one.index):
        return GLIDED_THROUGH * (1.0 - accelerated) * share
    # Which of the two it was may be unsure where the break is not: the likelier one keeps most of the break's score.
    return (1.0 - accelerated) * (LIKELIER + 2.0 * (1.0 - LIKELIER) * (share - 0.5) if share >= 0.5 else 0.7 * share)


def _wings_level_before(view: View, start: int, index: int) -> int:
    """Where the wings were last held level between two indices: a turn before that, to look for traffic, is over."""
    level = np.abs(view.turn_bank_rad[start : index + 1]) < WINGS_LEVEL_RAD
    held = [end for first, end in runs(level) if end - first >= view.samples(LEVEL_S)]
    return start + held[-1] - 1 if held else start


def _gliding_through(view: View, index: int) -> bool:
    """Gliding for long before, and gliding on after: a slow moment of a glide, from which nothing was recovered."""
    before = slice(max(index - view.samples(50.0), 0), max(index - view.samples(12.0), 1))
    after = slice(min(index + view.samples(9.0), view.n - 1), min(index + view.samples(20.0), view.n))
    sinking = max(float(view.climb_mps[before].mean()), float(view.climb_mps[after].mean())) < -GLIDING_MPS
    return sinking and (view.power is None or float(np.median(view.power[after])) < IDLE_POWER)


def _pulled(view: View, index: int) -> float:
    """1 for a pull out of level flight soon after rolling in, recovered by rolling out; 0 for circling or a spiral."""
    low = max(index - view.samples(2.0 * CIRCLED_S), 0)
    banked = np.abs(view.turn_bank_rad[low : index + 1]) > 0.6 * BANKED_RAD
    shallow = np.flatnonzero(~bridged(banked, view.samples(4.0)))
    rolled_in = low + int(shallow[-1]) if shallow.size else low
    seconds = float(view.time_s[index] - view.time_s[rolled_in]) if shallow.size else 2.0 * CIRCLED_S
    turned = abs(float(view.heading_rad[index] - view.heading_rad[rolled_in]))
    out = float(np.abs(view.turn_bank_rad[index : index + view.samples(ROLLED_OUT_S)]).min())
    sink = -float(view.climb_mps[max(index - view.samples(ENTRY_LEVEL_S), 0) : index + 1].mean())
    return (
        ramp(seconds, CIRCLED_S, JUST_ROLLED_IN_S)
        * ramp(turned, FULL_CIRCLE_RAD, THREE_QUARTERS_RAD)
        * ramp(out, STILL_BANKED_RAD, ROLLED_OUT_RAD)
        * ramp(sink, SPIRALING_MPS, LEVEL_ENTRY_MPS)
    )


def _extent(view: View, stretch: SlowStretch, number: int) -> tuple[int, int]:
    one = stretch.breaks[number]
    stall = view.clean_stall_mps
    start = stretch.start
    if number > 0:
        start = max(start, stretch.breaks[number - 1].index + view.samples(4.0))
    if stretch.settled is not None:
        a, b = stretch.settled
        if a < one.index and min(b, one.index) - a > view.samples(HELD_SLOW_S):
            # Out of slow flight: from where the held speed was left, or the nose raised.
            start = max(start, min(b, one.index - view.samples(PITCH_UP_S)))
    if start == stretch.start:
        # An accelerated stall is entered from a speed between cruise and approach, held for a while on the way.
        held = ACCELERATED_ENTRY if one.bank_rad > BANKED_RAD else ENTRY
        start = max(min(start, slowing_began(view, one.index, stall, held)), 0)
    speed, climb = view.speed_mps, view.climb_mps
    last = min(one.index + view.samples(LONGEST_RECOVERY_S), view.n - 1)
    flying = (speed[one.index : last] > SAFE_SPEED * stall) & (climb[one.index : last] > -0.2)
    flying[: view.samples(2.0)] = False
    end = one.index + int(flying.argmax()) if flying.any() else last
    regained = (speed[one.index : end] > REGAINED * stall) & (np.abs(view.bank_rad[one.index : end]) < LEVEL_RAD)
    if regained.any() and end - one.index - int(regained.argmax()) > view.samples(GLIDED_ON_S):
        end = one.index + int(regained.argmax())
    if number + 1 < len(stretch.breaks):
        end = min(end, stretch.breaks[number + 1].index - view.samples(1.0))
    return start, max(end, one.index + view.samples(2.0))


def _evidence(view: View, one: Break) -> tuple[str, ...]:
    slowest = to_unit(float(view.speed_mps[one.index]), "kt")
    speed = "calibrated airspeed" if "airplane" in view.stall_from else "speed"  # the dial shows less, this slow
    out = [
        f"{speed} down to {slowest:.0f} kt, {one.speed_ratio:.2f} times the stall speed ({view.stall_from})",
        f"then sinking {to_unit(-min(one.sink_mps, 0.0), 'fpm'):.0f} fpm",
    ]
    if np.isfinite(one.power):
        out.append(f"{100 * one.power:.0f} % of the flight's full power before it")
    else:
        out.append(f"energy {'held' if one.energy_slope > 0.5 * (IDLE_SLOPE + POWER_SLOPE) else 'falling'} before it")
    if one.bank_rad > np.radians(12.0):
        out.append(f"{np.degrees(one.bank_rad):.0f}° of bank")
    return tuple(out)
