"""Magnetic variation by the World Magnetic Model 2025. Radians.

Variation is EAST positive: magnetic = true − variation. Runways, tower winds and headings on the dial are magnetic;
reports, forecasts and charts' courses true.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from threading import Lock
from typing import Any

from airwork.errors import InputError, OutOfRange

MODEL = "WMM2025"
FIRST_YEAR, LAST_YEAR = 2025.0, 2030.0

_lock = Lock()  # the package keeps scratch arrays in its model object


@dataclass(frozen=True, slots=True)
class Variation:
    """Magnetic variation at a place and time. Two are equal when all fields are."""

    variation_rad: float  # east positive
    error_rad: float  # the model's own standard error
    horizontal_t: float  # horizontal field strength
    caution: str = ""  # near the magnetic poles, where compasses fail


@lru_cache(maxsize=1)
def _model() -> Any:
    from pygeomag import GeoMag
    from pygeomag.wmm.wmm_2025 import WMM_2025

    return GeoMag(coefficients_data=WMM_2025)


def decimal_year(day: date) -> float:
    """A date as the magnetic model counts it: 2025-07-02 is 2025.499. [year]"""
    first, following = date(day.year, 1, 1).toordinal(), date(day.year + 1, 1, 1).toordinal()
    return day.year + (day.toordinal() - first) / (following - first)


@lru_cache(maxsize=4096)
def variation(latitude_rad: float, longitude_rad: float, year: float, height_m: float = 0.0) -> Variation:
    """Magnetic variation at a place, east positive.

    Parameters
    ----------
    latitude_rad, longitude_rad : WGS-84, north and east positive.
    year : decimal year (`decimal_year`), 2025.0 to 2030.0.
    height_m : above the ellipsoid; it hardly matters at our heights.

    Raises
    ------
    OutOfRange : the year is outside the model's five years.
    InputError : no such latitude or longitude.

    References
    ----------
    [WMM2025] computed by the package pygeomag.
    """
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise OutOfRange(
            "year", year, FIRST_YEAR, LAST_YEAR, where=MODEL, hint="Take the variation from a current chart."
        )
    latitude, longitude = math.degrees(latitude_rad), math.degrees(longitude_rad)
    if not (abs(latitude) <= 90.0 + 1e-9 and abs(longitude) <= 360.0 + 1e-9):
        raise InputError(f"no such place: latitude {latitude:.4f}°, longitude {longitude:.4f}°.")
    with _lock:
        field = _model().calculate(glat=latitude, glon=longitude, alt=height_m / 1000.0, time=year)
    caution = ""
    if field.in_blackout_zone:
        caution = "near a magnetic pole (blackout zone): the compass can't be used here"
    elif field.in_caution_zone:
        caution = "weak horizontal field (caution zone): the compass is unreliable here"
    return Variation(math.radians(field.d), math.radians(field.calculate_uncertainty().d), field.h * 1e-9, caution)
