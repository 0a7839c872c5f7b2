"""Flying a circle over the ground in wind: bank, heading and ground speed by quarter, time of a lap. SI.

Directions are TRUE. `track_minus_wind_rad` is the track less the direction the wind blows FROM: 0 = straight upwind,
π = downwind. The bank at a track is the same for left and right turns.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.angles import TWO_PI, wrap_positive_rad
from airwork.airdata.atmosphere import G0_MPS2, Array
from airwork.errors import NotPossible
from airwork.units import write


def _track(tas_mps: ArrayLike, wind_mps: ArrayLike, track_minus_wind_rad: ArrayLike) -> tuple[Array, Array, Array]:
    """(sine of the correction angle, its cosine, ground speed) on a track; NaN unless 0 ≤ W < V."""
    v, w, chi = (np.asarray(x, dtype=float) for x in (tas_mps, wind_mps, track_minus_wind_rad))
    with np.errstate(invalid="ignore", divide="ignore"):
        sine = np.where((w >= 0.0) & (w < v), -w / v, np.nan) * np.sin(chi)
    cosine = np.sqrt(1.0 - sine**2)
    return sine, cosine, v * cosine - w * np.cos(chi)


def groundspeed_on_track_mps(tas_mps: ArrayLike, wind_mps: ArrayLike, track_minus_wind_rad: ArrayLike) -> Array:
    """Ground speed on a track relative to the wind: GS = V·cos(WCA) − W·cos χ. [m/s]"""
    return _track(tas_mps, wind_mps, track_minus_wind_rad)[2]


def ground_reference_bank_rad(
    tas_mps: ArrayLike, wind_mps: ArrayLike, radius_m: ArrayLike, track_minus_wind_rad: ArrayLike
) -> Array:
    """Bank that keeps a circle over the ground in a steady wind, exact. [rad]

    tan φ = GS²/(g·r·cos WCA)

    The heading turns with the track and with the correction angle: ψ = χ + WCA, dψ/dχ = GS/(V·cos WCA), and the air
    path needs tan φ = V·(dψ/dχ)·(GS/r)/g. Straight upwind and downwind this is the handbook's GS²/(g·r); across the
    wind it is more by 1/cos WCA. NaN unless the wind is below the airspeed.

    Derived here; checked by differentiating a simulated circle.
    """
    _, cosine, groundspeed = _track(tas_mps, wind_mps, track_minus_wind_rad)
    return np.arctan(np.square(groundspeed) / (G0_MPS2 * np.asarray(radius_m, dtype=float) * cosine))


def radius_for_steepest_bank_m(tas_mps: ArrayLike, wind_mps: ArrayLike, bank_rad: ArrayLike) -> Array:
    """Radius over the ground whose steepest bank, flying downwind, is this: (V + W)²/(g·tan φ). [m]

    References
    ----------
    [AFH] chapter 7: the bank is steepest where the ground speed is highest, directly downwind.
    """
    speed = np.asarray(tas_mps, dtype=float) + np.asarray(wind_mps, dtype=float)
    with np.errstate(divide="ignore"):
        return np.square(speed) / (G0_MPS2 * np.tan(np.abs(np.asarray(bank_rad, dtype=float))))


class Quarter(NamedTuple):
    """One quarter point of a turn about a point."""

    name: str  # "downwind", "crosswind, wind from the left", ...
    track_rad: float  # true
    heading_rad: float  # true
    correction_rad: float  # wind-correction angle, right positive
    groundspeed_mps: float
    bank_rad: float  # right positive
    time_s: float  # from the first quarter point


def turn_about_point(
    tas_mps: float,
    wind_from_rad: float,
    wind_mps: float,
    radius_m: float,
    turn: Literal["left", "right"],
) -> tuple[Quarter, ...]:
    """The five quarter points of one lap, entered downwind; the last is the first again, a lap later.

    Raises
    ------
    NotPossible : the wind is as strong as the airspeed.
    """
    if not 0.0 <= wind_mps < tas_mps:
        raise NotPossible(
            f"no circle over the ground: the wind ({write(wind_mps, 'kt')}) is not below the true airspeed "
            f"({write(tas_mps, 'kt')})."
        )
    sign = 1.0 if turn == "right" else -1.0
    out = []
    for i in range(5):
        chi = np.pi + sign * i * np.pi / 2
        sine, _, groundspeed = _track(tas_mps, wind_mps, chi)
        correction = float(np.arcsin(sine))
        track = float(wrap_positive_rad(wind_from_rad + chi))
        bank = sign * float(ground_reference_bank_rad(tas_mps, wind_mps, radius_m, chi))
        side = "left" if (i == 1) == (turn == "left") else "right"
        name = "downwind" if i in (0, 4) else "upwind" if i == 2 else f"crosswind, wind from the {side}"
        elapsed = arc_time_s(tas_mps, wind_mps, radius_m, np.pi, chi)
        heading = float(wrap_positive_rad(track + correction))
        out.append(Quarter(name, track, heading, correction, float(groundspeed), bank, elapsed))
    return tuple(out)


def arc_time_s(tas_mps: float, wind_mps: float, radius_m: float, from_rad: float, to_rad: float) -> float:
    """Time to fly an arc over the ground: ∫ r/GS dχ, tracks relative to the wind as in this module. [s]

    Midpoint rule; with 720 points a lap its error is below 1 ms for winds to half the airspeed.
    """
    arc = abs(to_rad - from_rad)
    n = max(1, int(np.ceil(arc / TWO_PI * 720)))
    chi = from_rad + (np.arange(n) + 0.5) / n * (to_rad - from_rad)
    return float(np.sum(radius_m / groundspeed_on_track_mps(tas_mps, wind_mps, chi)) * arc / n)
