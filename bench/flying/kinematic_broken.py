"""Maneuvers begun and given up: what looks like an exercise for its first third and is none. Nothing is marked."""

from __future__ import annotations

import math

import numpy as np

from airwork.units import FT_M
from flying import kinematic_air as air
from flying import kinematic_show as show
from flying.kinematic import Driver

BEGUN = ("steep_turn", "slow_flight", "power_off", "power_on", "chandelle", "spiral", "dive", "point", "eight")


def broken_off(d: Driver, what: str, rng: np.random.Generator) -> None:
    """Begin one of `BEGUN`, let it be, and fly on level from where that leaves the airplane."""
    side, fast, stall = float(rng.choice([-1.0, 1.0])), air.cruise(d), air.speed(d, "stall_flaps_up")
    here, heading = d.altitude_m, d.heading_rad
    if what == "steep_turn":
        air.turn(d, here, side * float(rng.uniform(0.9, 2.2)), math.radians(float(rng.uniform(38.0, 48.0))))
    elif what in ("slow_flight", "power_off", "power_on"):
        least = stall * float(rng.uniform(1.2, 1.5))
        d.idle = what == "power_off"
        rise = {"slow_flight": d.hold(here), "power_off": -1.5, "power_on": air.climb_rate(d)}[what]
        d.drive(
            lambda: d.ias_mps < least, bank=d.steer(heading), climb=rise, ias=least - 3.0, speed_lag_s=9.0,
            at_most_s=40.0,
        )  # fmt: skip
        if what == "slow_flight":
            air.level(d, float(rng.uniform(2.0, 8.0)), here, least)
    elif what == "chandelle":
        d.drive(
            air.turned_by(d, side, float(rng.uniform(0.7, 1.7))), bank=side * math.radians(30.0),
            climb=1.5 * air.climb_rate(d), ias=fast * 0.8, speed_lag_s=8.0, at_most_s=40.0,
        )  # fmt: skip
    elif what == "spiral":
        d.idle = True
        d.drive(
            air.turned_by(d, side, float(rng.uniform(2.5, 5.0))), bank=side * math.radians(42.0), climb=-5.5,
            ias=air.speed(d, "best_glide") + 4.0, at_most_s=60.0,
        )  # fmt: skip
    elif what == "dive":
        bottom = here - float(rng.uniform(250.0, 500.0)) * FT_M
        d.drive(lambda: d.altitude_m < bottom, bank=side * 0.3, climb=-9.0, ias=fast * 1.12, at_most_s=40.0)
    elif what == "point":
        circle = show.circle_bank(d, 450.0, side)
        d.drive(
            air.turned_by(d, side, float(rng.uniform(2.5, 4.0))), bank=circle, climb=d.hold(here), ias=d.about(fast)
        )
    else:
        d.drive(
            air.turned_by(d, side, float(rng.uniform(0.8, 2.0))), bank=side * 0.45, climb=4.0, ias=fast * 0.8,
            speed_lag_s=6.0, at_most_s=30.0,
        )  # fmt: skip
        d.drive(8.0, bank=0.0, climb=-3.0, ias=fast)
    air.level(d, float(rng.uniform(15.0, 60.0)), d.altitude_m)


def several(d: Driver, rng: np.random.Generator) -> None:
    """A flight of them, every other after a clearing turn."""
    for what in rng.permutation(BEGUN):
        if d.agl_m < 900.0:
            air.to_altitude(d, d.altitude_m + float(rng.uniform(500.0, 900.0)))
        if rng.random() < 0.5:
            air.clearing_turn(d, d.altitude_m, float(rng.choice([-1.0, 1.0])))
        broken_off(d, str(what), rng)
