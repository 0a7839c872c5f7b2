"""The runway's direction: as published, else as it was rolled along."""

from __future__ import annotations

import math

import numpy as np

from airwork.airdata.angles import turn_from_to_rad
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.runway_ends import ALONG_RAD, BESIDE_M, DATA_M, Touch, touched
from airwork.maneuvers.seeing.signal import Array
from airwork.masks import runs

SLOWS_MPS2 = 1.0  # about the touch: so much a second of the moment is of its speed
ROLL_S = (0.5, 4.0)  # after the touch the track is the runway's
FAST_MPS = 8.0  # slower than any roll: it may be turning off
SATELLITE_M = 100.0  # 5 m of height on a path of 3°, and a flare is flatter
LONG_M = 100.0  # a shorter roll's direction is the fixes' scatter
SAME_M = 2000.0  # from the touch: farther off it is another airport's runway


def rolled_rad(evidence: Evidence, touch_s: float) -> float | None:
    """The mean track rolling after the touch, or at the lowest point of a go-around. [rad]"""
    track = evidence.flight.get("track_rad")
    if track is None:
        return None
    rolling = track[evidence.flight.span(touch_s + ROLL_S[0], touch_s + ROLL_S[1])]
    rolling = rolling[np.isfinite(rolling)]
    return float(np.angle(np.exp(1j * rolling).mean())) if rolling.size else None


def place_error_m(evidence: Evidence, touch_s: float) -> float:
    """How far along the runway the place of a touch may be off: it went on while the moment isn't known. [m]"""
    ground = evidence.mean(evidence.flight.get("groundspeed_mps"), touch_s - 0.5, touch_s + 0.5)
    gone = evidence.touch_within_s * float(np.nan_to_num(ground))
    return DATA_M + max(gone, SATELLITE_M if evidence.altitude_is_satellite else 0.0)


def where_touched(evidence: Evidence, touch_s: float) -> Touch | None:
    """Where on the published runway the wheels met it; None without positions or such a runway."""
    flight = evidence.flight
    latitude, longitude, along = flight.get("latitude_rad"), flight.get("longitude_rad"), rolled_rad(evidence, touch_s)
    if not evidence.runways or along is None or latitude is None or longitude is None:
        return None
    k = flight.index_at(touch_s)
    if not np.isfinite(latitude[k]):
        return None
    return touched(evidence.runways, float(latitude[k]), float(longitude[k]), along)


def course_rad(evidence: Evidence, low_s: float) -> float | None:
    """The runway's direction at its lowest point, a touch or a go-around's. [rad]

    The published one; else the one way of every roll of the flight along it; else the track just there, some
    degrees of which are drift and swing.
    """
    where, own = where_touched(evidence, low_s), rolled_rad(evidence, low_s)
    if where is not None or own is None:
        return own if where is None else where.end.heading_rad
    flight = evidence.flight
    east, north, ground = (flight.get(name) for name in ("east_m", "north_m", "on_ground"))
    speed = flight.get("groundspeed_mps")
    if east is None or north is None or ground is None or speed is None:
        return own
    k = flight.index_at(low_s)
    e, n = east - east[k], north - north[k]
    rolling = (np.nan_to_num(ground) > 0.5) & (speed > FAST_MPS) & (np.hypot(e, n) < SAME_M)
    rolls = [slice(a, b) for a, b in runs(rolling) if _along(e[a:b], n[a:b], own)]
    if not rolls:
        return own
    nearest = min(rolls, key=lambda part: abs(part.start - k))
    angle = _direction(e[nearest], n[nearest], own)
    across = np.abs(e * math.cos(angle) - n * math.sin(angle))
    on_it = [part for part in rolls if across[part].mean() < BESIDE_M]
    if not on_it:  # the nearest one is another runway's
        return own
    # Side by side rather than in line: one beside the center line turns none of them.
    e, n = (np.concatenate([x[part] - x[part].mean() for part in on_it]) for x in (e, n))
    return _direction(e, n, own)


def by_the_runway(evidence: Evidence, low_s: float) -> tuple[Array, Array] | None:
    """Along the runway and right of it from the lowest point, of every sample; None without positions. [m]"""
    east, north = evidence.flight.get("east_m"), evidence.flight.get("north_m")
    course = course_rad(evidence, low_s)
    if east is None or north is None or course is None:
        return None
    k, sin, cos = evidence.flight.index_at(low_s), math.sin(course), math.cos(course)
    e, n = east - east[k], north - north[k]
    return e * sin + n * cos, e * cos - n * sin


def _along(east_m: Array, north_m: Array, track_rad: float) -> bool:
    """A roll long enough to have a direction, and that is the track's, or against it: a runway has two ends."""
    angle = _direction(east_m, north_m, track_rad)
    length = float(np.ptp(east_m * math.sin(angle) + north_m * math.cos(angle)))
    return length > LONG_M and abs(float(turn_from_to_rad(angle, track_rad))) < ALONG_RAD


def _direction(east_m: Array, north_m: Array, track_rad: float) -> float:
    """Of the line with the least squares across, on the track's side. [rad]"""
    e, n = east_m - east_m.mean(), north_m - north_m.mean()
    angle = 0.5 * math.atan2(2.0 * float(e @ n), float(n @ n - e @ e))
    return angle + (math.pi if abs(float(turn_from_to_rad(angle, track_rad))) > 0.5 * math.pi else 0.0)
