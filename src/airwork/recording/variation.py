"""Magnetic variation where the flight was flown, for headings read from a compass."""

from __future__ import annotations

import datetime
import math

import numpy as np

from airwork.errors import AirworkError
from airwork.recording.work import Work


def variation_rad(work: Work) -> float | None:
    """Variation at the middle of the flight, east positive; None where it isn't needed or can't be known. [rad]"""
    magnetic, true = "heading_mag_rad" in work.columns, "heading_rad" in work.columns
    lat, lon = work.get("latitude_rad"), work.get("longitude_rad")
    if magnetic == true or lat is None or lon is None or "magnetic_variation" in work.extra:
        return None
    return variation_about_rad(float(np.nanmedian(lat)), float(np.nanmedian(lon)), work.start_utc_s)


def variation_about_rad(latitude_rad: float, longitude_rad: float, utc_s: float) -> float | None:
    """Variation at a place and time, east positive; None where there is none. [rad]

    A date outside the model's years takes its nearest year: variation moves some tenths of a degree a year.
    """
    from airwork.airdata.magnetic import FIRST_YEAR, LAST_YEAR, variation

    year = min(max(_year(utc_s), FIRST_YEAR), LAST_YEAR)
    try:
        return variation(latitude_rad, longitude_rad, round(year, 1)).variation_rad
    except (AirworkError, ValueError):
        return None


def _year(utc_s: float) -> float:
    if not math.isfinite(utc_s) or not 0 < utc_s < 4e9:
        return 2026.0
    moment = datetime.datetime.fromtimestamp(utc_s, datetime.UTC)
    return moment.year + moment.timetuple().tm_yday / 366.0
