"""Flaps where a recorder keeps none: up where they can't be down or the attitude says so; else the window is left.

Above the highest speed flaps may be down at, they are up. With the pitch recorded, the lift curve of those windows
(angle of attack over lift) tells the others: flaps lower the nose by several degrees at the same lift. What lies on the
clean line is taken for flaps up, and marked as inferred; which notch was down can't be told so, and is not guessed.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from airwork.airplane import Airplane
from airwork.airplane.performance.attitude import lift_slope_per_rad
from airwork.airplane.performance.geometry import geometry
from airwork.recording.flight import Array

_USUAL_LIMIT_SHARE = 1.75  # times the clean stall speed, where the file names no limit (common practice, no source)
_ON_LINE_RAD = np.radians(1.5)  # flaps at the first notch lower the nose by two degrees and more
_LEAST_ROWS = 8
_LIFT_SPREAD = 0.15


def surely_up(airplane: Airplane, cas_mps: Array) -> NDArray[np.bool_]:
    """Too fast for any flaps."""
    limits = [n.max_ias_mps for n in airplane.flap_notches[1:]]
    known = [float(airplane.calibration[0].cas(x)) for x in limits if x is not None]
    stall = float(airplane.stall_cas_mps(airplane.max_takeoff_mass_kg))
    limit = max(known) if known and np.isfinite(known).all() else _USUAL_LIMIT_SHARE * stall
    return np.asarray(cas_mps > limit)


def inferred_up(airplane: Airplane, cas_mps: Array, angle_rad: Array, lift_share: Array) -> NDArray[np.bool_]:
    """Windows flown with flaps up, as far as speed and attitude can say.

    Parameters
    ----------
    angle_rad : pitch less flight path; NaN where pitch is not recorded.
    lift_share : lift over ½ρV²S, i.e. the lift coefficient. [1]
    """
    up = surely_up(airplane, cas_mps)
    known = np.isfinite(angle_rad) & np.isfinite(lift_share)
    sure = up & known
    if sure.sum() < _LEAST_ROWS:
        return up
    slope = lift_slope_per_rad(geometry(airplane).aspect_ratio)
    if np.ptp(lift_share[sure]) > _LIFT_SPREAD:  # the airplane's own slope, held near the wing's
        x, y = lift_share[sure] - lift_share[sure].mean(), angle_rad[sure] - angle_rad[sure].mean()
        weight = 200.0 * 0.01
        slope = float((x @ x + weight) / (x @ y + weight / slope))
    zero = float(np.median(angle_rad[sure] - lift_share[sure] / slope))
    off = angle_rad - lift_share / slope - zero
    return up | (known & (np.abs(off) < _ON_LINE_RAD))
