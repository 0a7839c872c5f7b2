"""A flight over the ground in degrees, for the page's map: track, maneuvers' ideals, area. Computes nothing else."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.geodesy import radii_m
from airwork.maneuvers.setup import Trace
from airwork.output.report_drawings import stretches
from airwork.output.report_series import as_list, nearest, sample_times
from airwork.recording.flight import Flight

Around = Callable[[float, float, float, float], dict[str, Any]]
POSITION_DIGITS = 5  # of a degree: about a meter
NOWHERE: dict[str, Any] = {"lat": [], "lon": []}


def track_data(
    flight: Flight, corners_rad: Iterable[Sequence[float]], ideals: Mapping[int, Trace], *, around: Around | None = None
) -> dict[str, Any]:
    """Latitude and longitude at the report's times, ideals over the ground, the practice area. [deg]

    corners_rad : of the area.
    around : what lies in a box of south, west, north, east: {"land": GeoJSON, "airports": […]}.
    """
    latitude, longitude = flight.get("latitude_rad"), flight.get("longitude_rad")
    if latitude is None or longitude is None or len(flight) < 2:
        return NOWHERE
    times = sample_times(flight)
    at = nearest(flight, times)
    lat, lon = np.degrees(latitude[at]), np.degrees(longitude[at])
    good = np.isfinite(lat) & np.isfinite(lon)
    if not good.any():
        return NOWHERE
    box = float(lat[good].min()), float(lon[good].min()), float(lat[good].max()), float(lon[good].max())
    return {
        **positions(flight, times),
        "ideals": [path for trace in ideals.values() for path in _paths(flight, trace)],
        "area": [[round(float(np.degrees(x)), POSITION_DIGITS) for x in corner] for corner in corners_rad],
        **({} if around is None else around(*box)),
    }  # fmt: skip


def positions(flight: Flight, times_s: NDArray[np.float64]) -> dict[str, list[float | None]]:
    """Latitude and longitude at moments; nothing of a flight without. [deg]"""
    latitude, longitude = flight.get("latitude_rad"), flight.get("longitude_rad")
    if latitude is None or longitude is None:
        return {}
    at = nearest(flight, times_s)
    return {name: as_list(np.degrees(x[at]), POSITION_DIGITS) for name, x in (("lat", latitude), ("lon", longitude))}


def _paths(flight: Flight, trace: Trace) -> list[list[list[float]]]:
    """An ideal that is tied to the ground, as lines of latitude and longitude in degrees, a gap between lines."""
    if "east_m" not in trace.columns:
        return []
    east, north = flight["east_m"], flight["north_m"]
    found = []
    for x, y in stretches(np.asarray(trace.columns["east_m"]), np.asarray(trace.columns["north_m"])):
        away = np.hypot(east - x[0], north - y[0])
        near = int(np.nanargmin(away))  # a plane around a fix nearby: a maneuver is a mile or two across
        latitude, longitude = float(flight["latitude_rad"][near]), float(flight["longitude_rad"][near])
        meridian, parallel = (float(r) for r in radii_m(latitude))
        lat = np.degrees(latitude + (y - north[near]) / meridian)
        lon = np.degrees(longitude + (x - east[near]) / parallel)
        found.append(np.round(np.column_stack([lat, lon]), POSITION_DIGITS).tolist())
    return found
