"""How well the simulated pilot flies: one level from 1 (precise) to 0 (poor), and the habits drawn from it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from airwork.units import FT_M, KT_MPS


@dataclass(frozen=True, slots=True)
class Skill:
    """A pilot's habits. Drawn once per flight; all of them shrink as the level rises."""

    level: float
    reaction_s: float  # delay before what is seen moves the hands
    scan_s: float  # time between two looks at the instruments
    power_scan_s: float  # time between two touches of the throttle
    altitude_band_m: float  # an error smaller than this is left alone
    speed_band_mps: float
    heading_band_rad: float
    bank_bias_share: float  # flies this share more (or less) bank than asked for
    bank_wander_rad: float  # slow wandering of the bank held
    pitch_wander_rad: float
    anticipation: float  # share of the back pressure a bank needs that is applied at once
    rudder: float  # 1 keeps the ball centered, 0 rests the feet
    rollout_error_rad: float  # signed: positive rolls out late
    roll_rate_radps: float
    lapse_every_s: float  # mean time between lapses of attention
    lapse_s: float
    altimeter_bias_m: float  # settles on this far off the altitude asked for
    speed_bias_mps: float
    altitude_time_s: float  # an altitude error is flown back in about this time
    pitch_gain: float  # share of the attitude change needed that is made at one look
    busy: float  # in a maneuver the instruments are looked at this many times less often
    wind_share: float  # share of the wind's effect on the ground path that is corrected
    radius_error_share: float  # signed: flies this share wider than meant in ground reference maneuvers
    quits_early_rad: float  # stops a full turn this much short
    recovery_delay_s: float  # hesitation before recovering from a stall, adding power, levelling off

    @classmethod
    def draw(cls, level: float, rng: np.random.Generator) -> Skill:
        """Habits of one pilot at this level; repeatable for a generator's state."""
        lack = 1.0 - level

        def between(good: float, poor: float) -> float:
            middle = good + (poor - good) * lack
            return float(middle * rng.uniform(0.75, 1.25))

        def signed(good: float, poor: float) -> float:
            return float((good + (poor - good) * lack) * rng.normal())

        return cls(
            level=level,
            reaction_s=between(0.12, 0.3),
            scan_s=between(0.7, 2.6),
            power_scan_s=between(2.0, 6.0),
            altitude_band_m=between(10.0, 60.0) * FT_M,
            speed_band_mps=between(0.7, 4.0) * KT_MPS,
            heading_band_rad=math.radians(between(0.7, 4.0)),
            bank_bias_share=float(np.clip(signed(0.015, 0.12) - 0.10 * lack, -0.32, 0.15)),
            bank_wander_rad=math.radians(between(0.5, 4.0)),
            pitch_wander_rad=math.radians(between(0.15, 2.3)),
            anticipation=float(np.clip(1.0 - between(0.05, 0.9) + signed(0.0, 0.25), 0.0, 1.5)),
            rudder=float(np.clip(1.0 - between(0.05, 0.85), 0.05, 1.0)),
            rollout_error_rad=math.radians(signed(1.5, 11.0) + 6.0 * lack),
            roll_rate_radps=math.radians(float(rng.uniform(9.0, 18.0))),
            lapse_every_s=between(240.0, 45.0),
            lapse_s=between(1.5, 7.0),
            altimeter_bias_m=signed(8.0, 40.0) * FT_M,
            speed_bias_mps=signed(0.4, 2.5) * KT_MPS,
            altitude_time_s=between(6.0, 24.0),
            pitch_gain=between(0.5, 0.28),
            busy=between(1.0, 10.0),
            wind_share=float(np.clip(1.0 - between(0.02, 0.75), 0.0, 1.0)),
            radius_error_share=signed(0.02, 0.15),
            quits_early_rad=math.radians(float(rng.uniform(15.0, 60.0))) if rng.random() < 0.35 * lack else 0.0,
            recovery_delay_s=between(0.3, 2.2),
        )
