"""From the states of a simulated flight to a `Trace`: twice a second, with the other speeds and the wind's part. SI."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata import turn as turning
from airwork.airdata.airspeed import cas_from_tas_mps
from airwork.airdata.angles import wrap_positive_rad
from airwork.airdata.wind import wind_vector_mps
from airwork.airplane import Airplane
from airwork.maneuvers.setup import Array, Conditions, Trace

SAMPLE_S = 0.5


@dataclass(frozen=True)
class Simulated:
    """The states of a simulated flight: shape (n,) or scalar, the heading without jumps. Not compared (arrays).

    time_s : shape (n,), increasing. load_factor : that of a level turn at this bank if not given.
    slip_rad : nose right of the path through the air (forward slip).
    """

    time_s: ArrayLike
    heading_rad: ArrayLike
    tas_mps: ArrayLike
    altitude_m: ArrayLike
    bank_rad: ArrayLike
    load_factor: ArrayLike | None = None
    notch: ArrayLike = 0
    slip_rad: ArrayLike = 0.0


def make_trace(airplane: Airplane, conditions: Conditions, flown: Simulated) -> Trace:
    """The trace of a simulated flight."""
    given = np.asarray(flown.time_s, dtype=float)
    time = np.arange(0.0, given[-1] - given[0] + 1e-6, SAMPLE_S)
    if given[-1] - given[0] - time[-1] > 0.05:  # the last moment belongs to it
        time = np.append(time, given[-1] - given[0])

    def sampled(values: ArrayLike) -> Array:
        full = np.broadcast_to(np.asarray(values, dtype=float), given.shape)
        return np.interp(time, given - given[0], full)

    course, tas, altitude = sampled(flown.heading_rad), sampled(flown.tas_mps), sampled(flown.altitude_m)
    notches, load = np.round(sampled(flown.notch)), flown.load_factor
    pressure, temperature = conditions.air.pressure_altitude_m(altitude), conditions.air.temperature_at_k(altitude)
    cas = cas_from_tas_mps(tas, pressure, temperature)
    ias = np.full(time.shape, np.nan)
    for one in set(notches.tolist()):  # np.unique would load numpy.ma
        here = notches == one
        ias[here] = airplane.ias_from_cas_mps(cas[here], int(one))
    climb = np.gradient(altitude, time) if time.size > 1 else np.zeros(time.shape)
    level = np.sqrt(np.maximum(tas**2 - climb**2, 0.0))
    from_rad, speed = conditions.air.wind_at(altitude)
    wind = wind_vector_mps(from_rad, speed)
    velocity = [level * part(course) + w for part, w in zip((np.sin, np.cos), wind, strict=True)]
    path = [integral(v, time) for v in velocity]
    heading = course + sampled(flown.slip_rad)
    columns = {
        "altitude_m": altitude,
        "agl_m": altitude - conditions.ground_elevation_m,
        "heading_rad": np.asarray(wrap_positive_rad(heading)),
        "heading_mag_rad": np.asarray(wrap_positive_rad(heading - conditions.variation_rad)),
        "tas_mps": tas,
        "cas_mps": cas,
        "ias_mps": ias,
        "bank_rad": sampled(flown.bank_rad),
        "load_factor": sampled(turning.load_factor(flown.bank_rad) if load is None else load),
        "vertical_speed_mps": climb,
        "flight_path_rad": np.arcsin(np.clip(climb / np.maximum(tas, 1.0), -1.0, 1.0)),
        "turn_rate_radps": np.gradient(course, time) if time.size > 1 else np.zeros(time.shape),
        "flap_notch": notches,
        "wind_from_rad": np.asarray(from_rad),
        "wind_mps": np.asarray(speed),
        "east_m": path[0],
        "north_m": path[1],
        "groundspeed_mps": np.hypot(*velocity),
        "track_rad": np.asarray(wrap_positive_rad(np.arctan2(*velocity))),
    }
    return Trace(time, columns)


def integral(rate: Array, time: Array) -> Array:
    """What a rate adds up to from the first moment on, by trapezoids; shape of both."""
    return np.concatenate([[0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(time))])
