"""Motion over the ground: local coordinates, ground velocity, ground speed and track, from fixes or as recorded."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from airwork.airdata.angles import wrap_positive_rad
from airwork.airdata.geodesy import east_north_m, radii_m
from airwork.recording.flight import Array, Mend
from airwork.recording.recorded import FLYING_MPS
from airwork.recording.smooth import slow_rate, unwrapped
from airwork.recording.variation import variation_about_rad
from airwork.recording.work import Work
from airwork.units import to_unit

_VARIES_RAD, _FLOWN_S = 0.05, 180.0  # less variation, or a shorter flight, shows in no track
# With far fixes a turn looks like noise, and no receiver's fix is worse; a usual one where too few steps tell.
_EVEN, _LEAST_THIRDS, _USUAL_FIX_M, _WORST_FIX_M = 0.2, 20, 3.0, 15.0
# A receiver whose filter lags a turn catches up in one step: faster or slower than the steps about it by what neither
# drag nor an engine does in a second or two, and by many times the fixes' own noise. (Limits are our own, wide.)
_HOP_MPS, _HOP_M, _HOP_NOISE, _HOP_STEP_S, _HOP_STEPS, _HOP_NEAR_S, _HOPS = 10.0, 8.0, 5.0, 3.5, 3, 10.0, 2
SLOW_MPS = 1.5  # below this the track of a fix is noise


def position_noise_m(work: Work, east: Array, north: Array) -> float:
    """One standard error of single fixes, from third differences: motion cancels, noise stays. [m]

    Only over steps of one length: over others motion doesn't cancel.
    """
    step = max(round(0.2 / work.step_s), 1)
    if east[::step].size <= _LEAST_THIRDS:
        return _USUAL_FIX_M
    three = np.lib.stride_tricks.sliding_window_view(np.diff(work.time_s[::step]), 3)
    even = np.ptp(three, axis=1) < _EVEN * three.mean(axis=1)
    thirds = (np.abs(np.diff(values[::step], 3)[even]) for values in (east, north))
    known = [x[np.isfinite(x)] for x in thirds]
    if min(x.size for x in known) <= _LEAST_THIRDS:
        return _USUAL_FIX_M
    noise = max(float(np.median(x)) for x in known) / (0.6745 * np.sqrt(20.0))
    return float(min(noise, _WORST_FIX_M))


def add_motion(work: Work) -> None:
    """East and north, ground velocity (scratch "ground_east", "ground_north"), ground speed, track."""
    lat, lon = work.get("latitude_rad"), work.get("longitude_rad")
    _true_track(work, lat, lon)
    speed, track = work.get("groundspeed_mps"), work.get("track_rad")
    if "velocity_north" in work.extra and "velocity_east" in work.extra and speed is None:
        east, north = work.extra["velocity_east"], work.extra["velocity_north"]
        work.put("groundspeed_mps", np.hypot(east, north), 0.2, "from its recorded parts", "measured")
        work.put("track_rad", wrap_positive_rad(np.arctan2(east, north)), 0.01, "from its recorded parts", "measured")
        speed, track = work.get("groundspeed_mps"), work.get("track_rad")
    if lat is None or lon is None:
        if speed is not None and track is not None:
            _from_recorded(work, speed, track)
        return
    east_m, north_m = east_north_m(lat, lon)
    work.put("east_m", east_m, None, "from latitude and longitude")
    work.put("north_m", north_m, None, "from latitude and longitude")
    if speed is not None and track is not None:
        _from_recorded(work, speed, track)
        return
    _from_fixes(work, lat, lon, east_m, north_m, speed)


def _true_track(work: Work, lat: Array | None, lon: Array | None) -> None:
    """A magnetic track made true: one named so, or one that lies beside the way flown by the variation."""
    recorded, named = work.extra.get("magnetic_variation"), work.extra.get("magnetic_track")
    track, variation = work.measured("track_rad"), None
    if recorded is not None and np.isfinite(recorded).any():
        variation = float(np.nanmedian(recorded))
    elif lat is not None and lon is not None and (named is not None or track is not None):
        variation = variation_about_rad(float(np.nanmedian(lat)), float(np.nanmedian(lon)), work.start_utc_s)
    if variation is None:
        return
    if track is None and named is not None:
        work.put("track_rad", wrap_positive_rad(named + variation), 0.02, "magnetic track and variation", "measured")
    elif track is not None and lat is not None and lon is not None and abs(variation) > _VARIES_RAD:
        east, north = velocity_mps(work.time_s, lat, lon, max(4.0, 2.0 * work.step_s))
        beside = np.exp(1j * (track - np.arctan2(east, north)))[np.hypot(east, north) > FLYING_MPS]
        beside = np.angle(beside[np.isfinite(beside)])
        off = float(np.median(beside)) if beside.size * work.step_s > _FLOWN_S else 0.0
        if abs(off + variation) < 0.3 * abs(variation):
            said = "the track lies beside the way flown by the variation: it is magnetic, made true"
            work.columns["track_rad"] = replace(
                work.columns["track_rad"], values=wrap_positive_rad(track + variation), note=said
            )
            work.mends.append(Mend(said, track.size, column="track_rad"))


def _from_recorded(work: Work, speed: Array, track: Array) -> None:
    work.scratch["ground_east"] = speed * np.sin(track)
    work.scratch["ground_north"] = speed * np.cos(track)


def _from_fixes(work: Work, lat: Array, lon: Array, east_m: Array, north_m: Array, speed: Array | None) -> None:
    """Speeds from the slope of the fixes, over a window as short as their noise allows."""
    noise = position_noise_m(work, east_m, north_m)
    fix_s = max(work.step_s, float(work.facts.get("position_step_s", 0.0)))  # type: ignore[arg-type]
    half = float(np.clip((noise * np.sqrt(2.0 * fix_s) / 0.25) ** (2.0 / 3.0), max(1.0, 1.05 * fix_s), 4.0))
    half = round(half, 1)
    window = work.window(half)
    meridian, parallel = radii_m(lat)
    hop_east, hop_north, unsteady = _hops(work, east_m, north_m, noise)
    east, north = window.slope(lon) * parallel, window.slope(lat) * meridian
    if unsteady:
        east, north = east - window.slope(hop_east), north - window.slope(hop_north)
    direction = np.arctan2(east, north)
    moving = np.hypot(east, north)
    # The slope over ±h makes a velocity that turns at ω too short by sinc²(ωh/2): a known loss, put back.
    omega = window.slope(np.where(moving > 5.0, unwrapped(direction), np.nan))
    loss = np.sinc(np.clip(np.nan_to_num(omega) * half / 2.0, -0.8, 0.8) / np.pi) ** 2
    east, north = east / loss, north / loss
    error = max(0.15, float(noise * np.sqrt(2.0 * fix_s) / window.half_s**1.5), unsteady * np.sqrt(fix_s / half))
    if speed is not None:
        east, north = speed * np.sin(direction), speed * np.cos(direction)
    else:
        work.put("groundspeed_mps", np.hypot(east, north), error, f"from positions over ±{half:g} s")
    known = np.where(np.hypot(east, north) >= SLOW_MPS, wrap_positive_rad(direction), np.nan)
    work.put("track_rad", known, error / 40.0, f"from positions over ±{half:g} s")
    work.scratch["ground_east"], work.scratch["ground_north"] = east, north
    work.facts["fix_window_s"] = half
    work.facts["fix_noise_m"] = round(float(noise), 3)


def _hops(work: Work, east_m: Array, north_m: Array, noise_m: float) -> tuple[Array, Array, float]:
    """(how far fixes have hopped east, north [m] till each sample, how the speed wavers about the hops [m/s])."""
    t, nothing = work.time_s, np.zeros(east_m.size)
    known = np.flatnonzero(np.isfinite(east_m) & np.isfinite(north_m))
    if known.size < 4 * _HOP_STEPS or work.step_s > _HOP_STEP_S:
        return nothing, nothing, 0.0
    step = np.diff(t[known])
    velocity = (np.diff(east_m[known]) + 1j * np.diff(north_m[known])) / step
    speed, far_m = np.abs(velocity), max(_HOP_M, _HOP_NOISE * np.sqrt(2.0) * noise_m)
    limit = np.maximum(_HOP_MPS, far_m / step)
    around = np.lib.stride_tricks.sliding_window_view(np.pad(speed, _HOP_STEPS, mode="reflect"), 2 * _HOP_STEPS + 1)
    sides = np.median(around[:, :_HOP_STEPS], axis=1), np.median(around[:, _HOP_STEPS + 1 :], axis=1)
    slow, fast = np.minimum(*sides), np.maximum(*sides)
    hop = (np.maximum(slow - speed, speed - fast) > limit) & (slow > FLYING_MPS) & (step < _HOP_STEP_S)
    if hop.sum() < _HOPS:
        return nothing, nothing, 0.0
    at = t[known[1:]]
    flown = np.interp(at, at[~hop], velocity[~hop])
    far = np.where(hop, (velocity - flown) * step, 0.0)
    edges = np.concatenate(([-np.inf], at[hop], [np.inf]))
    last = np.searchsorted(edges, at, side="right")
    about = ~hop & (np.minimum(at - edges[last - 1], edges[last] - at) < _HOP_NEAR_S)
    wavers = np.where(about, speed - 0.5 * (slow + fast), 0.0)
    said = f"positions hop by up to {to_unit(float(np.abs(far).max()), 'ft'):,.0f} ft: speed, turn and bank are rough"
    work.mends.append(Mend(said, int(hop.sum()), float(at[hop][0]), float(at[hop][-1])))
    work.facts["hops"] = int(hop.sum())
    total = np.interp(t, at, np.cumsum(far))
    return total.real, total.imag, float(np.sqrt(np.mean(wavers**2)))


def velocity_mps(time_s: Array, latitude_rad: Array, longitude_rad: Array, span_s: float) -> tuple[Array, Array]:
    """(east, north) over the ground by fixes about so far apart, crude and quick; NaN at the ends. [m/s]"""
    meridian, parallel = radii_m(np.nanmedian(latitude_rad))
    return slow_rate(time_s, longitude_rad, span_s) * parallel, slow_rate(time_s, latitude_rad, span_s) * meridian
