"""Faults of real recorders laid on a recording: steps, lag of a filter, seconds missing, fixes repeated, jumps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from airwork.units import FT_M, KT_MPS

Array = NDArray[np.float64]
EARTH_M = 6_371_000.0
POSITION = ("latitude_rad", "longitude_rad", "gps_altitude_m")


def spoil(kept: dict[str, Array], make: str, seed: int) -> dict[str, Array]:
    """A recording as another make of recorder keeps it; the time stays, what is missing is NaN.

    late : whole knots, steps of 10 ft, a filter's lag on the fixes, fixes repeated for a few seconds.
    loose : the fix jumps by meters and creeps back, noise on the bank.
    """
    rng = np.random.default_rng([seed, 77, len(make)])
    out = {name: values.copy() for name, values in kept.items()}
    n, step_s = out["time_s"].size, float(np.median(np.diff(out["time_s"])))
    if make == "late":
        for name, step in (
            ("ias_mps", KT_MPS),
            ("indicated_altitude_m", 10.0 * FT_M),
            ("pressure_altitude_m", 10.0 * FT_M),
        ):
            out[name] = np.round(out[name] / step) * step
        from scipy.signal import lfilter

        keep = float(np.exp(-step_s / rng.uniform(0.5, 1.2)))
        for name in POSITION:
            out[name], _ = lfilter([1.0 - keep], [1.0, -keep], out[name], zi=[keep * out[name][0]])
        for _ in range(int(rng.poisson(n * step_s / 600.0))):
            at, long = int(rng.integers(0, n)), round(float(rng.uniform(1.0, 4.0)) / step_s)
            for name in POSITION:
                out[name][at : at + long] = out[name][at]
    elif make == "loose":
        for _ in range(int(rng.poisson(n * step_s / 500.0))):
            at, away = int(rng.integers(0, n)), rng.normal(0.0, 7.0, 2)
            fade = np.exp(-np.arange(n - at) * step_s / 20.0)
            out["latitude_rad"][at:] += away[0] / EARTH_M * fade
            out["longitude_rad"][at:] += away[1] / (EARTH_M * np.cos(out["latitude_rad"][at:])) * fade
        out["bank_rad"] = out["bank_rad"] + rng.normal(0.0, np.radians(0.8), n)
    return out
