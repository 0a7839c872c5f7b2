"""What the three stalls share: which break is which, and from where to where the maneuver runs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode, high_score, speed_trust
from airwork.maneuvers.signal import ramp
from airwork.maneuvers.slow import slowing_began
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
    from airwork.maneuvers.slow import Break, SlowStretch
    from airwork.maneuvers.view import View

# The engine's share shows in the energy: at idle a light airplane at stalling speed loses some 3 m/s of energy height,
# at 65 % power and more it gains or holds it.
IDLE_ENERGY_MPS, POWER_ENERGY_MPS = -3.0, -1.0
DESCENDED_M, LEVEL_M = 30.0, 5.0  # a power-off stall begins with a stabilized descent, a power-on stall in level flight
IDLE_POWER, MUCH_POWER = 0.12, 0.35  # share of full power in the last three seconds
BANKED_RAD = np.radians(27.0)  # turning stalls have up to 20° (±10°); an accelerated one about 45°
STEEP_RAD = np.radians(36.0)
SAFE_SPEED = 1.2  # times the clean stall: where the recovery counts as flying again
HELD_SLOW_S = 30.0  # slow flight held this long before the break: the stall begins at its end
LONGEST_RECOVERY_S = 45.0
PITCH_UP_S = 6.0


def stalls(view: View, kind: str) -> list[Episode]:
    """Every break of a kind ("power_off_stall", "power_on_stall", "accelerated_stall") as an episode."""
    out = []
    for stretch in view.slow_stretches:
        for k, one in enumerate(stretch.breaks):
            score = one.score * _kind_score(view, stretch, one, kind) * speed_trust(view)
            score *= high_score(float(view.agl_m[one.index]))
            if score < LEAST_SCORE:
                continue
            start, end = _extent(view, stretch, k)
            score *= all_known(view, start, end)
            made = episode(
                kind, view, start, end, score, evidence=_evidence(view, one),
                phases=(("entry", start, one.index), ("recovery", one.index, end)),
                facts={"break_s": float(view.time_s[one.index]), "bank_rad": one.bank_rad, "power": one.power},
            )  # fmt: skip
            out.append(made)
    return out


def _kind_score(view: View, stretch: SlowStretch, one: Break, kind: str) -> float:
    accelerated = ramp(one.bank_rad, BANKED_RAD, STEEP_RAD)
    if kind == "accelerated_stall":
        return accelerated
    if np.isfinite(one.power):
        with_power = ramp(one.power, IDLE_POWER, MUCH_POWER)
    else:
        start = max(stretch.start, one.index - view.samples(90.0))
        descended = float(view.altitude_m[start] - view.altitude_m[one.index])
        energy = ramp(one.energy_rate_mps, IDLE_ENERGY_MPS, POWER_ENERGY_MPS)
        with_power = 0.55 * energy + 0.45 * ramp(descended, DESCENDED_M, LEVEL_M)
    return (1.0 - accelerated) * (with_power if kind == "power_on_stall" else 1.0 - with_power)


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
        start = min(start, slowing_began(view, one.index, stall))
        start = max(start, 0)
    speed, climb = view.speed_mps, view.climb_mps
    last = min(one.index + view.samples(LONGEST_RECOVERY_S), view.n - 1)
    flying = (speed[one.index : last] > SAFE_SPEED * stall) & (climb[one.index : last] > -0.2)
    flying[: view.samples(2.0)] = False
    end = one.index + int(flying.argmax()) if flying.any() else last
    if number + 1 < len(stretch.breaks):
        end = min(end, stretch.breaks[number + 1].index - view.samples(1.0))
    return start, max(end, one.index + view.samples(2.0))


def _evidence(view: View, one: Break) -> tuple[str, ...]:
    slowest = to_unit(float(view.speed_mps[one.index]), "kt")
    out = [
        f"speed down to {slowest:.0f} kt, {one.speed_ratio:.2f} times the stall speed ({view.stall_from})",
        f"then sinking {to_unit(-min(one.sink_mps, 0.0), 'fpm'):.0f} fpm",
    ]
    if np.isfinite(one.power):
        out.append(f"{100 * one.power:.0f} % of the flight's full power before it")
    else:
        out.append(f"energy {'held' if one.energy_rate_mps > IDLE_ENERGY_MPS else 'falling'} before it")
    if one.bank_rad > np.radians(12.0):
        out.append(f"{np.degrees(one.bank_rad):.0f}° of bank")
    return tuple(out)
