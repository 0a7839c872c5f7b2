"""Load factor from accelerometers, believed only when it agrees with the flight path.

A recorder fixed in the airplane feels lift along one direction of its own, whichever way it was mounted: the mean
direction of what it feels in steady flight. A phone that lies about, or rotates, has no such direction; then what it
feels along it doesn't follow the curving of the path, and is not used.
"""

from __future__ import annotations

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.recording.attitude import air_velocity
from airwork.recording.flight import Array, Mend
from airwork.recording.work import Work

_LEAST_AGREEMENT = 0.6  # correlation with the load factor of the path, where the path curves (our choice)
_CURVED = 0.06  # spread of the path's load factor that makes a test possible, in g
_SMOOTH_HALF_S = 2.0
_LEAST_G, _MOST_G = -4.0, 7.0  # an airplane flown for aerobatics


def add_measured_load(work: Work) -> None:
    """Load factor from named normal acceleration or from three axes; lateral from the named column only."""
    if "load_factor" in work.columns:
        _settle_named(work, work.columns["load_factor"].values)
        return
    normal = work.extra.get("normal_acceleration")
    if normal is not None:
        _settle_named(work, normal / G0_MPS2)
        return
    axes = [work.extra.get(f"acceleration_{axis}") for axis in "xyz"]
    if all(a is not None for a in axes):
        _from_axes(work, np.column_stack([a for a in axes if a is not None]))


def _settle_named(work: Work, raw: Array) -> None:
    """Sign and zero of a column called normal acceleration or load factor: 1, 0 or −1 in level flight."""
    known = raw[np.isfinite(raw)]
    if not known.size:
        return
    middle = float(np.median(known))
    resting = min((1.0, 0.0, -1.0), key=lambda level: abs(middle - level))
    if abs(middle - resting) > 0.25:
        resting = 1.0
    load = {1.0: raw, 0.0: raw + 1.0, -1.0: -raw}[resting]
    note = {1.0: "", 0.0: "recorded less 1 g; put back", -1.0: "recorded downwards; sign turned"}[resting]
    if abs(middle - resting) > 0.25 and not _in_g(raw):
        work.columns.pop("load_factor", None)
        work.mends.append(
            Mend("normal acceleration is not near 1 g in steady flight; not used", known.size, column="load_factor")
        )
        return
    work.columns.pop("load_factor", None)
    work.put("load_factor", load, 0.03, note, "measured")


def _in_g(raw: Array) -> bool:
    """No steady flight is in it, but what light airplanes stand: pulled and let go, most of it upward."""
    low, middle, high = (float(x) for x in np.nanpercentile(raw, [1.0, 50.0, 99.0]))
    return _LEAST_G < low < 1.0 < high < _MOST_G and middle > 0.0


def path_load(work: Work) -> Array | None:
    """Load factor the flight path asks for, smoothed, on every sample; NaN where not flying."""
    air = air_velocity(work)
    if air is None:
        return None
    (east, north), climb = air, work.scratch.get("climb_mps")
    window = work.window(max(_SMOOTH_HALF_S, 1.05 * work.step_s))
    ax, ay = window.slope(east), window.slope(north)
    az = window.slope(climb) if climb is not None else np.zeros(east.size)
    speed2 = np.maximum(east**2 + north**2, 1.0)
    along = (ax * east + ay * north) / speed2
    ax, ay = ax - along * east, ay - along * north  # across the path only
    load = np.sqrt(ax**2 + ay**2 + (G0_MPS2 + az) ** 2) / G0_MPS2
    return np.where(speed2 > 225.0, load, np.nan)


def _from_axes(work: Work, felt: Array) -> None:
    size = np.linalg.norm(felt, axis=1)
    flying = path_load(work)
    known = np.isfinite(size)
    steady = known & (np.abs(size / G0_MPS2 - 1.0) < 0.15)
    if steady.sum() < 50:
        few = known.sum() < 100 and steady.sum() > 0.5 * known.sum()
        _refuse(work, felt, "too few rows to hold them against the path" if few else "their size is not near 1 g")
        return
    down = felt[steady].mean(axis=0)
    length = float(np.linalg.norm(down))
    if length < 0.9 * float(np.median(size[steady])):
        _refuse(work, felt, "their direction wanders, as a loose phone's does")
        return
    load = felt @ (down / length) / G0_MPS2
    if flying is None or not np.isfinite(flying).any():
        _refuse(work, felt, "there is no flight path to hold them against")
        return
    smooth = work.window(max(_SMOOTH_HALF_S, 1.05 * work.step_s)).mean(load)
    both = np.isfinite(smooth) & np.isfinite(flying)
    if both.sum() < 100 or float(np.std(flying[both])) < _CURVED / 2:
        _refuse(work, felt, "the path hardly curves, so they can't be tested")
        return
    agreement = float(np.corrcoef(smooth[both], flying[both])[0, 1])
    work.facts["acceleration_agreement"] = round(agreement, 2)
    if agreement < _LEAST_AGREEMENT:
        _refuse(work, felt, f"they don't follow the flight path (agreement {agreement:.2f})")
        return
    tilt = float(np.degrees(np.arccos(np.clip(np.abs(down[2]) / length, 0.0, 1.0))))
    note = f"accelerometers leveled by {tilt:.0f}°, agree with the path ({agreement:.2f})"
    work.put("load_factor", load, 0.05, note, "measured")


def _refuse(work: Work, felt: Array, why: str) -> None:
    work.mends.append(Mend(f"accelerations not used: {why}", int(np.isfinite(felt[:, 0]).sum()), column="load_factor"))
