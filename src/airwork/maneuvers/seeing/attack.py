"""The stall speed out of a recorded angle of attack: lift grows along a straight line with it until the wing stalls.

With n the load factor, V the calibrated airspeed and α the angle of attack, n/V² = k·(α − α0) as long as the air
follows the wing; the weight and the wing are in k, a vane's offset in α0. At the stall α − α0 is about the same in all
light airplanes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# From no lift to the greatest: a lift coefficient of some 1.5 at a slope of some 5.2 per radian (common practice, no
# source); the stall speed goes with its root, so 15 % of it are 8 % of the speed.
STALLS_AT_RAD = np.radians(16.5)
LEAST, MOST, SPREAD_RAD = 400, 3_000, np.radians(3.0)  # samples, and how far apart their angles must be
SCATTER = 0.08  # of the line, as a share: more and it is no angle of attack, or in another unit


def stall_by_attack_mps(
    attack_rad: Array | None, speed_mps: Array, load: Array | None, use: NDArray[np.bool_]
) -> float | None:
    """1 g stall speed by the angle of attack; None where none was recorded or it doesn't follow the lift.

    Parameters
    ----------
    speed_mps : calibrated airspeed.
    use : samples in the air, flaps up.

    >>> angle = np.radians(np.linspace(1.0, 9.0, 900))
    >>> speed = 1.0 / np.sqrt(0.0045 * (angle + np.radians(3.0)))
    >>> round(stall_by_attack_mps(angle, speed, None, angle > 0.0), 1)
    27.8
    """
    if attack_rad is None:
        return None
    n = np.ones(speed_mps.size) if load is None else load
    good = np.flatnonzero(use & np.isfinite(attack_rad) & np.isfinite(n) & (speed_mps > 1.0) & (n > 0.5))
    good = good[:: max(good.size // MOST, 1)]
    angle, lift = attack_rad[good], n[good] / speed_mps[good] ** 2
    if angle.size < LEAST or np.ptp(np.percentile(angle, [2.0, 98.0])) < SPREAD_RAD:
        return None
    weight: Array = np.ones(angle.size)
    slope = offset = scatter = 0.0
    for _ in range(6):  # stalled flight bends away from the line and hardly counts
        line = np.stack([angle, np.ones(angle.size)], axis=1) * weight[:, None]
        slope, offset = np.linalg.lstsq(line, lift * weight, rcond=None)[0]
        left = lift - slope * angle - offset
        scatter = 1.4826 * float(np.median(np.abs(left)))
        weight = 1.0 / np.sqrt(1.0 + (left / (2.0 * max(scatter, 1e-12))) ** 2)
    if slope <= 0.0 or scatter > SCATTER * float(np.median(lift)):
        return None
    return float(1.0 / np.sqrt(slope * STALLS_AT_RAD))
