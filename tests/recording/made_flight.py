"""A flight made of known motion, for tests and benchmarks: exact truth, then columns as a recorder would write them.

Coordinated point-mass motion through steady air: bank and airspeed and height are given over time, heading follows
from the bank (ω = g·tan φ/V), positions from the ground velocity. No airwork function is used to make it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
G = 9.80665
KT = 1852.0 / 3600.0
FT = 0.3048
EARTH_A, EARTH_E2 = 6_378_137.0, 0.00669437999014
START_UTC_S = 1_780_000_000.0  # 2026-05-28T20:26:40Z


@dataclass(frozen=True, slots=True)
class Made:
    """Truth, SI. Columns share one time base."""

    time_s: Array
    east_m: Array
    north_m: Array
    latitude_rad: Array
    longitude_rad: Array
    altitude_m: Array
    vertical_speed_mps: Array
    tas_mps: Array
    heading_rad: Array
    bank_rad: Array
    ground_east_mps: Array
    ground_north_mps: Array
    load_factor: Array
    wind_from_rad: float
    wind_mps: float

    @property
    def groundspeed_mps(self) -> Array:
        return np.hypot(self.ground_east_mps, self.ground_north_mps)

    @property
    def track_rad(self) -> Array:
        return np.mod(np.arctan2(self.ground_east_mps, self.ground_north_mps), 2 * math.pi)


def eased(time_s: Array, knots: list[tuple[float, float]]) -> Array:
    """Values through knots (time, value) with smooth changes between them."""
    times, values = np.array([k[0] for k in knots]), np.array([k[1] for k in knots])
    place = np.clip(np.searchsorted(times, time_s, side="right") - 1, 0, len(knots) - 2)
    part = np.clip((time_s - times[place]) / np.maximum(times[place + 1] - times[place], 1e-9), 0.0, 1.0)
    smooth = part * part * part * (10 - 15 * part + 6 * part * part)
    return values[place] + smooth * (values[place + 1] - values[place])


def fly(
    bank: list[tuple[float, float]],
    tas_kt: list[tuple[float, float]],
    altitude_ft: list[tuple[float, float]],
    *,
    duration_s: float,
    rate_hz: float = 10.0,
    wind_from_deg: float = 240.0,
    wind_kt: float = 15.0,
    latitude_deg: float = 40.0,
    longitude_deg: float = -100.0,
    heading_deg: float = 30.0,
) -> Made:
    """A flight from knots of bank [deg], true airspeed [kt] and altitude [ft] over time [s]."""
    n = round(duration_s * rate_hz) + 1
    t = np.arange(n) / rate_hz
    phi = np.radians(eased(t, bank))
    v = eased(t, tas_kt) * KT
    h = eased(t, altitude_ft) * FT
    vs = np.gradient(h, t)
    rate = G * np.tan(phi) / np.maximum(v, 5.0)
    heading = math.radians(heading_deg) + np.concatenate(([0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(t))))
    level = np.sqrt(np.maximum(v**2 - vs**2, 0.0))
    wind_from = math.radians(wind_from_deg)
    moving = np.clip((v / KT - 45.0) / 15.0, 0.0, 1.0)  # on the ground the wheels, not the wind, decide
    ge = level * np.sin(heading) - moving * wind_kt * KT * math.sin(wind_from)
    gn = level * np.cos(heading) - moving * wind_kt * KT * math.cos(wind_from)
    east = np.concatenate(([0.0], np.cumsum(0.5 * (ge[1:] + ge[:-1]) * np.diff(t))))
    north = np.concatenate(([0.0], np.cumsum(0.5 * (gn[1:] + gn[:-1]) * np.diff(t))))
    lat0 = math.radians(latitude_deg)
    w = math.sqrt(1 - EARTH_E2 * math.sin(lat0) ** 2)
    lat = lat0 + north / (EARTH_A * (1 - EARTH_E2) / w**3)
    mid = 0.5 * (lat + lat0)
    lon = math.radians(longitude_deg) + np.concatenate(
        ([0.0], np.cumsum(np.diff(east) / (EARTH_A * np.cos(mid[1:]) / np.sqrt(1 - EARTH_E2 * np.sin(mid[1:]) ** 2))))
    )
    load = np.hypot(1.0 + np.gradient(vs, t) / G, np.tan(phi))
    return Made(t, east, north, lat, lon, h, vs, v, np.mod(heading, 2 * math.pi), phi, ge, gn, load, wind_from, wind_kt * KT)  # fmt: skip  # noqa: E501


def lesson(duration_s: float = 1800.0, rate_hz: float = 10.0, **more: float) -> Made:
    """Take-off, climb, steep turns both ways, slow flight, standard-rate turns, descent, landing; as long as asked."""
    bank: list[tuple[float, float]] = [(0.0, 0.0), (120.0, 0.0)]
    tas: list[tuple[float, float]] = [
        (0.0, 0.0),
        (20.0, 0.0),
        (45.0, 62.0),
        (60.0, 76.0),
        (400.0, 82.0),
        (430.0, 105.0),
    ]
    alt: list[tuple[float, float]] = [(0.0, 1200.0), (45.0, 1200.0), (85.0, 1650.0), (400.0, 3700.0)]
    t = 460.0
    side = 1.0
    while t < duration_s - 420.0:
        for angle, length in ((45.0, 38.0), (-45.0, 38.0), (20.0, 95.0), (0.0, 40.0)):
            bank += [(t, 0.0), (t + 4.0, side * angle), (t + length, side * angle), (t + length + 4.0, 0.0)]
            t += length + 14.0
        tas += [(t, 105.0), (t + 25.0, 62.0), (t + 70.0, 62.0), (t + 95.0, 105.0)]
        alt += [(t, 3700.0), (t + 95.0, 3650.0)]
        bank += [(t + 30.0, 0.0), (t + 34.0, side * 15.0), (t + 60.0, side * 15.0), (t + 64.0, 0.0)]
        t += 110.0
        side = -side
    end = duration_s
    alt += [(max(t, end - 330.0), 3700.0), (end - 95.0, 1380.0), (end - 70.0, 1200.0), (end, 1200.0)]
    tas += [(max(t, end - 330.0), 95.0), (end - 90.0, 68.0), (end - 70.0, 60.0), (end - 40.0, 8.0), (end - 30.0, 0.0), (end, 0.0)]  # fmt: skip  # noqa: E501
    bank += [(end - 200.0, 0.0), (end - 196.0, 20.0), (end - 180.0, 20.0), (end - 176.0, 0.0), (end, 0.0)]
    return fly(bank, tas, alt, duration_s=duration_s, rate_hz=rate_hz, **more)


def stamp(utc_s: float, digits: int = 1) -> str:
    """ISO 8601 text of a moment."""
    whole = math.floor(utc_s + 0.5 * 10.0**-digits)
    part = round((utc_s - whole) * 10**digits)
    text = np.datetime_as_string(np.datetime64(int(whole), "s"))
    return f"{text}.{max(part, 0):0{digits}d}Z"
