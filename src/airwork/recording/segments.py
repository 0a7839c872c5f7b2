"""Stabilised stretches of a recording, as readings of steady flight for the performance fit. SI; rpm in rev/min.

A stretch counts when for at least 45 s speed, engine and flap held still and the flight was level (or climbed at full
throttle, or glided with the throttle closed) without a turn. Airspeed, pressure altitude and RPM must have been
measured: what was derived from satellite fixes carries the wind's error and would teach the airplane wrong habits.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane import Airplane
from airwork.airplane.performance import Condition, Performance, Reading, performance
from airwork.airplane.performance.readings import Kind
from airwork.airplane.performance.throttle import full_throttle_rpm
from airwork.errors import AirworkError
from airwork.recording.flight import Array, Flight
from airwork.units import FPM_MPS, FT_M, KT_MPS

# Common practice, no source: what "stabilised" means, over a window about each second
_WINDOW_S, _SHORTEST_S, _LONGEST_S = 30, 45, 150
_SPEED_SD_MPS, _SPEED_TREND_MPS2 = 1.5 * KT_MPS, 2.0 * KT_MPS / 60.0
_RPM_SD, _LEVEL_MPS, _HEIGHT_SD_M = 20.0, 60.0 * FPM_MPS, 25.0 * FT_M
_BANK_RAD, _CLIMB_MPS, _VERTICAL_SD_MPS = np.radians(5.0), 150.0 * FPM_MPS, 120.0 * FPM_MPS
_FULL_SHARE, _IDLE_SHARE = 0.96, 0.48  # of the predicted full-throttle RPM; of the rated RPM
_PER_BIN, _BIN_MPS = 2, 4.0 * KT_MPS  # stretches kept for each flap setting and 4 kt of speed: more say the same again


@dataclass(frozen=True, slots=True)
class Segment:
    """A stabilised stretch and the reading it makes."""

    start_s: float
    end_s: float
    reading: Reading


def missing_for_segments(flight: Flight, airplane: Airplane) -> tuple[str, ...]:
    """Columns without which nothing can be learned; empty if there are enough."""
    out = []
    if not _measured(flight, "cas_mps", "ias_mps", "tas_mps"):
        out.append("measured airspeed")
    if not _measured(flight, "rpm"):
        out.append("RPM")
    if not airplane.fixed_pitch and not _measured(flight, "manifold_pressure_pa"):
        out.append("manifold pressure")
    if flight.get("pressure_altitude_m") is None:
        out.append("pressure altitude")
    return tuple(out)


def _measured(flight: Flight, *names: str) -> bool:
    return any(name in flight.columns and flight.columns[name].known == "measured" for name in names)


def stabilised_segments(
    flight: Flight, airplane: Airplane, mass_kg: float, *, fitted: Performance | None = None
) -> tuple[Segment, ...]:
    """Stabilised stretches of a flight, in time order; empty where columns are missing (`missing_for_segments`).

    Parameters
    ----------
    mass_kg : at the first sample; fuel burned since is taken off where the recording knows it.
    fitted : tells full throttle from less; the airplane's own fit if not given.
    """
    if missing_for_segments(flight, airplane):
        return ()
    second = _by_second(flight, airplane, mass_kg)
    if second is None:
        return ()
    known = performance(airplane) if fitted is None else fitted
    found = []
    for start, stop in _steady_runs(second):
        segment = _segment(second, slice(start, stop), airplane, known, str(flight.source.get("name", "recording")))
        if segment is not None:
            found.append(segment)
    return tuple(_thinned(found))


@dataclass(frozen=True)
class _Seconds:
    """The columns needed, at whole seconds; NaN in gaps."""

    time_s: Array
    cas: Array
    rpm: Array
    altitude: Array
    bank: Array
    temp: Array
    notch: NDArray[np.int64]
    mass: Array
    pressure: Array
    flow: Array
    pitch: Array
    on_ground: Array


def _by_second(flight: Flight, airplane: Airplane, mass_kg: float) -> _Seconds | None:
    if len(flight) < 2 or flight.time_s[-1] - flight.time_s[0] < _SHORTEST_S:
        return None
    time = np.arange(np.ceil(flight.time_s[0]), np.floor(flight.time_s[-1]) + 1.0)

    def column(name: str, default: float = np.nan) -> Array:
        values = flight.get(name)
        if values is None:
            return np.full(time.size, default)
        good = np.isfinite(values)
        if good.sum() < 2:
            return np.full(time.size, default)
        out = np.interp(time, flight.time_s[good], values[good])
        nearest = np.searchsorted(flight.time_s[good], time)
        kept = flight.time_s[good]
        gap = np.minimum(
            np.abs(time - kept[np.minimum(nearest, kept.size - 1)]), np.abs(time - kept[np.maximum(nearest - 1, 0)])
        )
        return np.where(gap <= 2.0, out, np.nan)

    altitude = column("pressure_altitude_m")
    temp = column("oat_k")
    temp = np.where(np.isfinite(temp), temp, standard_temperature_k(altitude))
    flap = flight.get("flap_notch")
    notch = np.zeros(time.size, dtype=np.int64)
    if flap is not None:
        index = np.clip(np.searchsorted(flight.time_s, time, side="right") - 1, 0, len(flight) - 1)
        notch = np.clip(np.nan_to_num(flap[index], nan=0.0), 0, airplane.flaps_full).astype(np.int64)
    flow = column("fuel_flow_m3ps")
    burned = np.concatenate([[0.0], np.cumsum(np.nan_to_num(flow, nan=0.0))[:-1]])
    total = column("fuel_total_m3")
    if np.isfinite(total).sum() > 0.5 * total.size:
        first = total[np.isfinite(total)][0]
        burned = np.where(np.isfinite(total), first - total, burned)
    mass = mass_kg - np.maximum(burned, 0.0) * airplane.fuel_density_kgpm3
    measured_flow = flow if _measured(flight, "fuel_flow_m3ps") else np.full(time.size, np.nan)
    pitch = column("pitch_rad") if _measured(flight, "pitch_rad") else np.full(time.size, np.nan)
    return _Seconds(
        time, column("cas_mps"), column("rpm"), altitude, column("bank_rad", 0.0), temp, notch, mass,
        column("manifold_pressure_pa"), measured_flow, pitch, column("on_ground", 0.0),
    )  # fmt: skip


def _rolling(values: Array) -> tuple[Array, Array, Array]:
    """(mean, standard deviation, slope per second) in a window about each second; NaN where the window has gaps."""
    n, half = values.size, _WINDOW_S // 2
    out = np.full((3, n), np.nan)
    if n < 2 * half + 1:
        return out[0], out[1], out[2]
    windows = np.lib.stride_tricks.sliding_window_view(values, 2 * half + 1)
    time = np.arange(-half, half + 1, dtype=float)
    mean = windows.mean(axis=1)
    slope = windows @ time / np.sum(time**2)
    rest = windows - mean[:, None] - slope[:, None] * time
    out[:, half : n - half] = mean, np.sqrt(np.mean(rest**2, axis=1)), slope
    return out[0], out[1], out[2]


def _steady_runs(s: _Seconds) -> list[tuple[int, int]]:
    """Half-open index ranges where everything holds still; long ones are cut."""
    _, speed_sd, speed_trend = _rolling(s.cas)
    _, rpm_sd, _ = _rolling(s.rpm)
    _, height_sd, climb = _rolling(s.altitude)
    bank, _, _ = _rolling(np.abs(s.bank))
    with np.errstate(invalid="ignore"):
        still = (speed_sd < _SPEED_SD_MPS) & (np.abs(speed_trend) < _SPEED_TREND_MPS2) & (rpm_sd < _RPM_SD)
        still &= (height_sd < _HEIGHT_SD_M) & (bank < _BANK_RAD) & (s.on_ground < 0.5)
    mode = np.where(np.abs(climb) < _LEVEL_MPS, 0, np.where(climb > _CLIMB_MPS, 1, np.where(climb < -_CLIMB_MPS, 2, 3)))
    key = np.where(still & (mode < 3), mode * 10 + s.notch, -1)
    runs: list[tuple[int, int]] = []
    edges = np.flatnonzero(np.diff(key)) + 1
    for start, stop in zip([0, *edges], [*edges, key.size], strict=True):
        if key[start] < 0 or stop - start < _SHORTEST_S:
            continue
        pieces = max(1, int(np.ceil((stop - start) / _LONGEST_S)))
        cuts = np.linspace(start, stop, pieces + 1).astype(int)
        runs += [(int(a), int(b)) for a, b in pairwise(cuts)]
    return runs


def _segment(s: _Seconds, part: slice, airplane: Airplane, known: Performance, name: str) -> Segment | None:
    climb, height_rest = np.polyfit(s.time_s[part] - s.time_s[part][0], s.altitude[part], 1)
    cas, rpm, temp = float(np.mean(s.cas[part])), float(np.mean(s.rpm[part])), float(np.mean(s.temp[part]))
    altitude = float(np.mean(s.altitude[part]))
    kind = _kind(float(climb), cas, rpm, altitude, temp, airplane, known)
    if kind is None or not np.isfinite(height_rest + cas + rpm):
        return None

    def mean(values: Array) -> float | None:
        return float(np.mean(values[part])) if np.all(np.isfinite(values[part])) else None

    start, end = float(s.time_s[part][0]), float(s.time_s[part][-1])
    reading = Reading(
        kind=kind,
        mass_kg=float(np.mean(s.mass[part])),
        pressure_altitude_m=altitude,
        temperature_k=temp,
        flap_notch=int(s.notch[part][0]),
        cas_mps=cas,
        rpm=None if kind == "idle_glide" else rpm,
        manifold_pressure_pa=mean(s.pressure) if not airplane.fixed_pitch else None,
        climb_rate_mps=None if kind == "level" else float(climb),
        fuel_flow_m3ps=mean(s.flow) if kind == "level" else None,
        pitch_rad=mean(s.pitch) if kind == "level" else None,
        recording=name,
        note=f"{start:.0f} to {end:.0f} s",
    )
    return Segment(start, end, reading)


def _kind(
    climb: float, cas: float, rpm: float, altitude: float, temp: float, airplane: Airplane, known: Performance
) -> Kind | None:
    if abs(climb) < _LEVEL_MPS:
        return "level"
    try:
        full = float(full_throttle_rpm(known, cas, Condition(0.0, altitude, temp)))
    except AirworkError:
        return None
    if climb > 0:
        return "full_throttle_climb" if rpm >= _FULL_SHARE * full else None
    return "idle_glide" if rpm <= _IDLE_SHARE * airplane.rated_rpm else None


def _thinned(segments: list[Segment]) -> list[Segment]:
    """The longest few of each kind, flap setting and speed."""
    bins: dict[tuple[str, int, int], list[Segment]] = {}
    for segment in segments:
        r = segment.reading
        bins.setdefault((r.kind, r.flap_notch, int(r.cas_mps // _BIN_MPS)), []).append(segment)
    kept = [
        segment for group in bins.values() for segment in sorted(group, key=lambda g: g.start_s - g.end_s)[:_PER_BIN]
    ]
    return sorted(kept, key=lambda g: g.start_s)
