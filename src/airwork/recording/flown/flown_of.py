"""A recorded flight as the performance fit takes it: rows, weight, and the trace that knows the flight again. SI."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2, standard_temperature_k
from airwork.airplane import Airplane
from airwork.airplane.performance.flown import FULL_CLIMB, TRACE_STEP_S, Flown, Rows, Trace, WeightFrom
from airwork.errors import NotPossible
from airwork.masks import runs
from airwork.recording.flight import Array, Flight
from airwork.recording.flown.seconds import at_seconds, by_second
from airwork.recording.flown.windows import missing_for_rows, rows_of

_WINDOW_S, _LEAST_S, _SETTLE_S, _CALM_S = 20, 40, 10, 21
_CLIMBING_MPS = 1.0
_BANK_RAD = np.radians(20.0)
_OVER_STALL = 1.15
_CEILING_M = 5000.0  # a climb is thought to fall to nothing about there: only to compare climbs of one flight
_FAST_SHARE = 0.85  # of the flight's fastest climbs
_LEAST_ROWS = 3


def climbs_by_path(flight: Flight, airplane: Airplane, mass_kg: float) -> Rows | None:
    """Windows of the flight's fastest climbs; None where there are too few, or the height or speed is not known."""
    s = by_second(flight, airplane)
    if s is None:
        return None
    try:
        stall = float(airplane.stall_cas_mps(mass_kg))
    except NotPossible:
        return None
    rate = np.convolve(np.gradient(s.altitude_m), np.ones(_CALM_S) / _CALM_S, "same")
    energy = s.altitude_m * s.temperature_k / standard_temperature_k(s.altitude_m) + s.tas_mps**2 / (2.0 * G0_MPS2)
    with np.errstate(invalid="ignore"):
        climbing = (rate > _CLIMBING_MPS) & (np.abs(s.bank_rad) < _BANK_RAD) & ~s.on_ground & np.isfinite(energy)
        climbing &= s.cas_mps > _OVER_STALL * stall
    starts = _starts(climbing)
    if starts.size < _LEAST_ROWS:
        return None
    index = starts[:, None] + np.arange(_WINDOW_S)
    centered = np.arange(_WINDOW_S) - 0.5 * (_WINDOW_S - 1)
    slope = energy[index] @ centered / np.sum(centered**2)
    height = s.altitude_m[index].mean(axis=1)
    alike = slope / (1.0 - np.minimum(height / _CEILING_M, 0.8))
    fast = alike > _FAST_SHARE * float(np.median(np.sort(alike)[-_LEAST_ROWS:]))
    if fast.sum() < _LEAST_ROWS:
        return None
    index, unknown, nothing = index[fast], np.full(int(fast.sum()), np.nan), np.zeros(int(fast.sum()), dtype=np.int64)

    def mean(values: Array) -> Array:
        return np.asarray(values[index].mean(axis=1))

    return Rows(
        time_s=s.time_s[index].mean(axis=1), tas_mps=mean(s.tas_mps), cas_mps=mean(s.cas_mps),
        density_kgpm3=mean(s.density_kgpm3), load_factor=mean(s.load_factor), notch=nothing,
        burned_kg=mean(s.burned_m3) * airplane.fuel_density_kgpm3, altitude_m=mean(s.altitude_m),
        temperature_k=mean(s.temperature_k), rpm=unknown, pressure_pa=unknown, rate_mps=slope[fast],
        kind=nothing + FULL_CLIMB, flow_m3ps=unknown, guessed=nothing,
    )  # fmt: skip


def _starts(climbing: Array) -> Array:
    """First seconds of windows inside climbs that last, their beginning and end left out."""
    out: list[int] = []
    for begin, end in runs(climbing):
        if end - begin >= _LEAST_S:
            out += range(begin + _SETTLE_S, end - _WINDOW_S - _SETTLE_S // 2 + 1, _WINDOW_S)
    return np.array(out, dtype=np.int64)


_UNKNOWN_SHARE = 0.88  # of maximum takeoff weight: two aboard and most of the fuel (common practice, no source)


def flown_of(
    flight: Flight, airplane: Airplane, mass_kg: float | None = None, weight_from: WeightFrom = "typed"
) -> Flown | None:
    """What a flight says of its airplane; None where columns are missing or nothing is usable.

    Parameters
    ----------
    mass_kg : at the first sample; assumed, and marked unknown, if not given.
    weight_from : where it was noted.
    """
    if mass_kg is None:
        mass_kg, weight_from = _UNKNOWN_SHARE * airplane.max_takeoff_mass_kg, "unknown"
    rows = rows_of(flight, airplane, mass_kg)
    if rows is None and missing_for_rows(flight, airplane) and airplane.engine.chart is None:
        # where the book prints powers it stands: a climb flown at less than full throttle looks like a weaker engine
        rows = climbs_by_path(flight, airplane, mass_kg)
    if rows is None or not len(rows):
        return None
    start = flight.start_utc_s
    date = datetime.fromtimestamp(start, UTC).date().isoformat() if np.isfinite(start) else ""
    source = flight.source
    key = str(source.get("sha256") or source.get("name") or "")[:16]
    return Flown(key, str(source.get("name", "recording")), date, mass_kg, weight_from, rows, trace_of(flight))


def trace_of(flight: Flight) -> Trace:
    """Pressure altitude and airspeed every 20 s, on whole steps of UTC so that two recordings agree."""
    start = float(flight.start_utc_s)
    first = -start % TRACE_STEP_S if np.isfinite(start) else 0.0
    time = np.arange(first, float(flight.time_s[-1]) + 1e-6, TRACE_STEP_S)

    def column(*names: str) -> np.ndarray:
        for name in names:
            values = flight.get(name)
            if values is not None and np.isfinite(values).sum() > 2:
                seconds = np.arange(np.floor(time[0]), time[-1] + 1.0) if time.size else time
                return np.interp(time, seconds, at_seconds(flight.time_s, values, seconds))
        return np.full(time.size, np.nan)

    return Trace(
        start + first, np.round(column("pressure_altitude_m", "altitude_m", "gps_altitude_m"), 1),
        np.round(column("cas_mps", "ias_mps", "tas_mps", "groundspeed_mps"), 2),
    )  # fmt: skip
