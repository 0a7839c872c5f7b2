"""Windows of a flight as rows of the energy balance. SI; rpm in rev/min.

A window is 16 seconds of flight without a gap, away from the stall, not steeply banked, with the flaps at rest. The
slope of the energy height over it is the mean of the energy's rate weighted by a parabola, so the conditions are
averaged with the same weights: nothing need hold still.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import G0_MPS2, standard_air, standard_temperature_k
from airwork.airplane import Airplane
from airwork.airplane.performance.attitude import lift_slope_per_rad
from airwork.airplane.performance.flown import GLIDE, POWERED, WINDOW_S, Rows
from airwork.airplane.performance.geometry import geometry
from airwork.errors import NotPossible
from airwork.recording.flight import Array, Flight
from airwork.recording.flown.seconds import Seconds, by_second, measured

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


_HALF_S = 90
_WIND_SD_MPS = 1.5  # how far the wind here may stand from the flight's wind
_GUST_SD_MPS = 1.0
_FAR_MPS = 4.0


def quiet_tas_mps(s: Seconds) -> Array:
    """|ground velocity − W|, or true airspeed where the ground velocity or the wind is not known. [m/s]"""
    east, north = s.ground_east_mps - s.wind_east_mps, s.ground_north_mps - s.wind_north_mps
    speed = np.hypot(east, north)
    off = s.tas_mps - speed
    good = np.isfinite(off) & (speed > 15.0) & (np.abs(off) < _FAR_MPS + 6.0)
    if good.sum() < 60:
        return s.tas_mps
    ue, un = np.where(good, east / np.maximum(speed, 1.0), 0.0), np.where(good, north / np.maximum(speed, 1.0), 0.0)
    wind_e = wind_n = np.zeros(s.time_s.size)
    for _ in range(3):  # robust: far ones count less with each pass
        left = np.where(good, off, 0.0) + ue * wind_e + un * wind_n
        weight = np.where(good, 1.0 / (1.0 + (left / (2.0 * _GUST_SD_MPS)) ** 2), 0.0)
        aee, ann, aen = (_around(weight * a * b) for a, b in ((ue, ue), (un, un), (ue, un)))
        be, bn = _around(-weight * ue * np.where(good, off, 0.0)), _around(-weight * un * np.where(good, off, 0.0))
        damp = 8.0 * (_GUST_SD_MPS / _WIND_SD_MPS) ** 2  # gusts hang together over some seconds
        det = (aee + damp) * (ann + damp) - aen**2
        wind_e, wind_n = (be * (ann + damp) - bn * aen) / det, (bn * (aee + damp) - be * aen) / det
    quiet = np.hypot(east - wind_e, north - wind_n)
    # what is left on average over the same time is the airspeed's own: keep the airspeed's level
    level = _around(np.where(good, s.tas_mps - quiet, 0.0)) / np.maximum(_around(good.astype(float)), 1.0)
    quiet = quiet + level
    # judged over the same time: changing from one speed to the other in mid-gust would be a jump of its own
    apart = _around(np.where(good, np.abs(s.tas_mps - quiet), 0.0)) / np.maximum(_around(good.astype(float)), 1.0)
    return np.where(np.isfinite(quiet) & (apart < _FAR_MPS), quiet, s.tas_mps)


def _around(values: Array) -> Array:
    """Sum over ± 90 s."""
    running = np.concatenate([[0.0], np.cumsum(values)])
    index = np.arange(values.size)
    return running[np.minimum(index + _HALF_S + 1, values.size)] - running[np.maximum(index - _HALF_S, 0)]


MOST_LIFT = 0.87  # of the greatest lift, on the mean: closer to the stall the drag follows no formula
_STALLED = 1.0  # of the greatest lift, in no second
_BANK_RAD = np.radians(35.0)
_FLAPS_REST_S = 5
_IDLE_SHARE = 0.46  # of rated RPM: a windmilling propeller at closed throttle turns slower than this
_POWERED_SHARE = 0.52
_PULLS_BELOW = 0.8  # advance ratio: less and the propeller pulls, however slowly it turns and however the hand hunts
_ONE_THROTTLE = 0.25  # of rated RPM: more between highest and lowest, and the throttle was closed or opened
_IDLE_PRESSURE = 0.45  # of the ambient pressure: the manifold at closed throttle
_LEAST_CAS = 0.9  # times the stall speed: below it is no flying
_RESTLESS_LOAD = 0.20  # scatter of the load factor in a window: no formula of mean values holds
_RESTLESS_RAD = np.radians(5.0)  # likewise of the pitch attitude
_MUSH_RAD = np.radians(3.0)
_HARSH_MPS = 12.0  # an energy rate beyond this is no airplane's of this kind


def missing_for_rows(flight: Flight, airplane: Airplane) -> tuple[str, ...]:
    """Columns without which the power part can't be learned; empty if there are enough."""
    out = []
    if not measured(flight, "cas_mps", "ias_mps", "tas_mps"):
        out.append("measured airspeed")
    if not measured(flight, "rpm"):
        out.append("RPM")
    if not airplane.fixed_pitch and not measured(flight, "manifold_pressure_pa"):
        out.append("manifold pressure")
    if flight.get("pressure_altitude_m") is None:
        out.append("pressure altitude")
    return tuple(out)


def rows_of(flight: Flight, airplane: Airplane, mass_kg: float) -> Rows | None:
    """The flight's windows; None where columns are missing (`missing_for_rows`) or nothing is usable.

    Parameters
    ----------
    mass_kg : at the first sample; only tells stalled flight from flying.
    """
    if missing_for_rows(flight, airplane):
        return None
    s = by_second(flight, airplane)
    return None if s is None else _rows(s, airplane, mass_kg)


def _rows(s: Seconds, airplane: Airplane, mass_kg: float) -> Rows | None:
    quiet = quiet_tas_mps(s)
    energy = s.altitude_m * s.temperature_k / standard_temperature_k(s.altitude_m) + quiet**2 / (2.0 * G0_MPS2)
    burned = s.burned_m3 * airplane.fuel_density_kgpm3
    load = _smooth(s.load_factor, 3)
    share, usable = _usable(s, airplane, mass_kg, energy, load, quiet)
    starts = _starts(usable, s.notch)
    if not starts.size:
        return None
    index = starts[:, None] + np.arange(WINDOW_S)
    centered = np.arange(WINDOW_S) - 0.5 * (WINDOW_S - 1)
    slope = energy[index] @ centered / np.sum(centered**2)
    weight = 0.25 * WINDOW_S**2 - centered**2
    weight = weight / weight.sum()

    def mean(values: Array) -> Array:
        return np.asarray(values[index] @ weight)

    def square(values: Array) -> Array:
        return np.asarray(np.sqrt(mean(values**2)))

    rpm = square(s.rpm)
    idle, powered = _throttle(s, airplane, index, mean(quiet))
    keep = (idle | powered) & np.isfinite(slope) & (np.abs(slope) < _HARSH_MPS) & (mean(share) < MOST_LIFT)
    keep &= np.std(s.load_factor[index], axis=1) < _RESTLESS_LOAD
    climb = s.altitude_m[index] @ centered / np.sum(centered**2)
    angle = mean(s.pitch_rad) - np.arcsin(np.clip(climb / mean(quiet), -0.5, 0.5))
    keep &= ~_mushing(angle, square(load) / (mean(s.density_kgpm3) * mean(quiet) ** 2), s.notch[starts])
    keep &= ~(np.std(s.pitch_rad[index], axis=1) > _RESTLESS_RAD)
    rows = Rows(
        s.time_s[starts] + 0.5 * WINDOW_S, mean(quiet), mean(s.cas_mps), mean(s.density_kgpm3), square(s.load_factor),
        s.notch[starts], mean(burned), mean(s.altitude_m), mean(s.temperature_k), rpm, mean(s.pressure_pa), slope,
        np.where(idle, GLIDE, POWERED), mean(s.flow_m3ps), np.zeros(starts.size, dtype=np.int64),
    )  # fmt: skip
    guessed = rows.notch < 0
    if guessed.any():
        pressed_n = 0.5 * rows.density_kgpm3 * rows.tas_mps**2 * geometry(airplane).wing_area_m2
        lift = square(load) * mass_kg * G0_MPS2 / pressed_n
        up = inferred_up(airplane, rows.cas_mps, angle, lift)
        keep &= ~guessed | up
        rows = replace(rows, notch=np.maximum(rows.notch, 0), guessed=guessed.astype(np.int64))
    return rows.take(keep) if keep.any() else None


def _mushing(angle_rad: Array, lift: Array, notch: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Windows with the nose much higher above the path than their lift needs: stalled, or hanging behind a stall."""
    out = np.zeros(angle_rad.size, dtype=bool)
    known = np.isfinite(angle_rad)
    for one in np.unique(notch):
        here = known & (notch == one)
        if here.sum() < 8:
            continue
        x, y = lift[here] / np.median(lift[here]), angle_rad[here]
        weight = np.ones(x.size)
        for _ in range(8):
            a = np.stack([np.ones(x.size), x], axis=1) * weight[:, None]
            line, *_ = np.linalg.lstsq(a, y * weight, rcond=None)
            off = y - line[0] - line[1] * x
            spread = 1.4826 * float(np.median(np.abs(off))) + np.radians(0.3)
            weight = np.where(off > 0, 1.0 / (1.0 + (off / (1.5 * spread)) ** 2), 1.0)
        out[here] = off > max(_MUSH_RAD, 4.0 * spread)
    return out


def _usable(
    s: Seconds, airplane: Airplane, mass_kg: float, energy: Array, load: Array, quiet: Array
) -> tuple[Array, NDArray[np.bool_]]:
    """(share of the greatest lift, seconds a window may hold)."""
    needed = energy + s.cas_mps + s.rpm + quiet + load
    if not airplane.fixed_pitch:
        needed = needed + s.pressure_pa
    stall = _stalls_mps(airplane, np.maximum(s.notch, 0), mass_kg)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = load * (stall / s.cas_mps) ** 2
        good = np.isfinite(needed) & ~s.on_ground & (share < _STALLED) & (s.cas_mps > _LEAST_CAS * stall)
        good &= np.abs(s.bank_rad) < _BANK_RAD
    moved = np.concatenate([[False], np.diff(s.notch) != 0])
    settling = np.convolve(moved, np.ones(_FLAPS_REST_S), "full")[: moved.size] > 0
    near_ground = np.convolve(s.on_ground, np.ones(21), "same") > 0  # ground effect, flare, acceleration
    return share, np.asarray(good & ~settling & ~near_ground)


def _stalls_mps(airplane: Airplane, notch: NDArray[np.int64], mass_kg: float) -> Array:
    """Stall speed of each second's flap setting; NaN, and hence no window, where the file has none."""
    out = np.full(notch.size, np.nan)
    for one in np.unique(notch):
        try:
            out[notch == one] = airplane.stall_cas_mps(mass_kg, int(one))
        except NotPossible:
            continue
    return out


def _starts(usable: NDArray[np.bool_], notch: NDArray[np.int64]) -> NDArray[np.int64]:
    """First seconds of windows that lie wholly in usable flight, one after another."""
    out = []
    run = 0
    for i in range(usable.size):
        run = run + 1 if usable[i] and (i == 0 or notch[i] == notch[i - 1] or run == 0) else int(usable[i])
        if run == WINDOW_S:
            out.append(i - WINDOW_S + 1)
            run = 0
    return np.array(out, dtype=np.int64)


def _smooth(values: Array, seconds: int) -> Array:
    """Means of an odd number of seconds; NaN stays NaN."""
    if values.size < seconds:
        return values
    padded = np.pad(values, seconds // 2, mode="edge")
    return np.lib.stride_tricks.sliding_window_view(padded, seconds).mean(axis=1)


def _throttle(
    s: Seconds, airplane: Airplane, index: NDArray[np.int64], tas_mps: Array
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """(throttle closed, engine pulling) for each window; neither where it is in between or was moved through it."""
    rated = airplane.rated_rpm
    low, high = np.min(s.rpm[index], axis=1), np.max(s.rpm[index], axis=1)
    if airplane.fixed_pitch:
        # a diving propeller windmills faster: what it pulls is told by its advance ratio, the fit judges that
        sizes = geometry(airplane)
        pulls = tas_mps < _PULLS_BELOW * low / 60.0 * sizes.diameter_m / sizes.gear
        powered = pulls | ((low > _POWERED_SHARE * rated) & (high - low < _ONE_THROTTLE * rated))
        return (high < _IDLE_SHARE * rated) & ~pulls, powered
    ambient = standard_air(s.altitude_m).pressure_pa[index]
    share = s.pressure_pa[index] / ambient
    return np.max(share, axis=1) < _IDLE_PRESSURE, (np.min(share, axis=1) > 0.48) & (low > 0.6 * rated)
