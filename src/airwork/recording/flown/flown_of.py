"""A recorded flight as the performance fit takes it: rows, weight, and the trace that knows the flight again. SI."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np

from airwork.airplane import Airplane
from airwork.airplane.performance.flown import TRACE_STEP_S, Flown, Trace, WeightFrom
from airwork.recording.flight import Flight
from airwork.recording.flown.path_climbs import climbs_by_path
from airwork.recording.flown.seconds import at_seconds
from airwork.recording.flown.windows import missing_for_rows, rows_of

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
