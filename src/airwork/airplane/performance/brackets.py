"""Heights nobody can promise: lost in a stall recovery, needed for a turn back after takeoff. Brackets. SI.

Both ends come from a point mass flown by the fitted polar in the vertical plane; low is a prompt pilot, high a slow
one. Times, pitch-down angles and load factors are common practice, no source. Real airplanes drop a wing, real pilots
freeze.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.atmosphere import G0_MPS2
from airwork.airdata.turn import gliding_turn_height_loss_m
from airwork.airplane.performance.answers import Bracket
from airwork.airplane.performance.climbing import excess_thrust_n
from airwork.airplane.performance.condition import FULL_THROTTLE, IDLE, Condition
from airwork.airplane.performance.gliding import best_glide
from airwork.airplane.performance.model import Performance

_STEP_S = 0.05
STALL_CAUTION = (
    "A bracket for planning height, not a promise: an aft center of gravity, a wing drop, ice or a late recovery takes "
    "more. Do stalls high enough that the higher figure leaves your minimum altitude."
)
TURN_BACK_CAUTION = (
    "An estimate in still air at the best-glide speed, to talk about, not to fly by: wind, sink, a stopped propeller, "
    "the steep turn near the stall and the lack of a straight final all add height. Many who tried stalled. Brief to "
    "land ahead unless handbook, instructor and your own tried-out figure at altitude say otherwise."
)


@dataclass(frozen=True, slots=True)
class _Recovery:
    """How a stall is recovered from: seconds to react, seconds to add power, dive angle, pull-out."""

    reaction_s: float
    power_after_s: float | None
    dive_rad: float
    until_over_stall: float  # speed at which the pull-out begins, times Vs
    pull_share: float  # of the greatest lift used in the pull-out
    greatest_load: float


_PROMPT = _Recovery(0.7, 1.5, np.radians(7.0), 1.10, 0.85, 1.6)
_SLOW = _Recovery(2.0, None, np.radians(14.0), 1.25, 0.75, 1.4)


def stall_recovery_m(performance: Performance, at: Condition) -> Bracket:
    """Height lost from a power-off stall to level flight. [m]

    Low: reaction 0.7 s, full power at 1.5 s, nose 7° below the horizon, pull-out from 1.1 Vs. High: 2 s, no power, 14°,
    from 1.25 Vs.
    """
    low, high = _recover(performance, at, _PROMPT), _recover(performance, at, _SLOW)
    return Bracket(low, max(high, low), "prompt recovery with full power", "slow recovery without power", STALL_CAUTION)


def _recover(performance: Performance, at: Condition, how: _Recovery) -> float:
    """Height lost, by stepping speed and path: m·dV/dt = T − D − W·sin γ, V·dγ/dt = g·(n − cos γ)."""
    mass_kg = float(at.mass_kg)
    stall_cas = float(performance.airplane.stall_cas_mps(mass_kg, int(at.flap_notch)))
    stall = float(tas_from_cas_mps(stall_cas, at.pressure_altitude_m, at.temperature_k))
    weight = mass_kg * G0_MPS2
    speed, path, height, time, pulling = stall, 0.0, 0.0, 0.0, False
    speeds = np.linspace(0.5 * stall, 2.5 * stall, 81)
    idle = {load: excess_thrust_n(performance, speeds, at, IDLE, load_factor=load) for load in (0.5, 1.0, 1.5)}
    full = excess_thrust_n(performance, speeds, at, FULL_THROTTLE) - idle[1.0]
    loads = np.array(sorted(idle))
    table = np.array([idle[load] for load in loads])
    while time < 40.0:
        lift = min((speed / stall) ** 2, how.greatest_load)
        if time < how.reaction_s:
            load = min(0.85 * lift, 1.0)  # stalled: less lift than it weighs, the nose drops by itself
        elif not pulling:
            load = min(0.5, lift) if path > -how.dive_rad else float(np.cos(path))
            load = min(load, 0.95 * (speed / stall) ** 2)
            pulling = speed >= how.until_over_stall * stall
        else:
            load = min(how.pull_share * (speed / stall) ** 2, how.greatest_load)
        row = np.array([np.interp(speed, speeds, values) for values in table])
        force = float(np.interp(load, loads, row))
        if how.power_after_s is not None and time >= how.power_after_s:
            force += float(np.interp(speed, speeds, full))
        speed += (force - weight * np.sin(path)) / mass_kg * _STEP_S
        path += G0_MPS2 / speed * (load - np.cos(path)) * _STEP_S
        height += speed * np.sin(path) * _STEP_S
        time += _STEP_S
        if pulling and path >= 0.0:
            break
    return float(-height)


def turn_back_m(performance: Performance, at: Condition) -> Bracket:
    """Height from engine failure in the climb to wings level, lined up with the runway behind. [m]

    Low: 3 s of surprise, 210° of turn at 45° of bank. High: 5 s, 270°, at 30°. Straight glides beyond come on top. The
    climb is flown at best glide; what the turn is flown faster costs height.

    References
    ----------
    [AFH] chapter 18, the turn back, for the shape of the sum (reaction + turn of more than 180°); here the turn's loss
    is that of a gliding turn at constant lift coefficient.
    """
    glide = best_glide(performance, at)
    ends = []
    for reaction, turn_deg, bank_deg, ratio in (
        (3.0, 210.0, 45.0, glide.glide_ratio + glide.glide_ratio_90),
        (5.0, 270.0, 30.0, glide.glide_ratio - glide.glide_ratio_90),
    ):
        bank = np.radians(bank_deg)
        turning = glide.tas_mps / float(np.sqrt(np.cos(bank)))  # the turn is flown faster by √n
        traded = (turning**2 - glide.tas_mps**2) / (2.0 * G0_MPS2)
        lost = float(gliding_turn_height_loss_m(glide.tas_mps, ratio, bank, np.radians(turn_deg)))
        ends.append(reaction * glide.tas_mps / ratio + lost + traded)
    return Bracket(
        ends[0],
        ends[1],
        "3 s to react, 210° of turn at 45° of bank",
        "5 s to react, 270° of turn at 30° of bank",
        TURN_BACK_CAUTION,
    )
