"""Magnetic variation where the flight was flown, for headings read from a compass."""

from __future__ import annotations

import datetime
import math

import numpy as np

from airwork.errors import AirworkError
from airwork.recording.flight import Mend
from airwork.recording.work import Work
from airwork.units import to_unit

_VARIES_RAD, _ALIKE = 0.05, 0.3  # 3°: no model is off by twice that; of it, as an old chart may be off


def variation_rad(work: Work) -> float | None:
    """Variation at the middle of the flight, east positive; None where it isn't needed or can't be known. [rad]"""
    magnetic, true = "heading_mag_rad" in work.columns, "heading_rad" in work.columns
    lat, lon = work.get("latitude_rad"), work.get("longitude_rad")
    if magnetic == true or lat is None or lon is None or "magnetic_variation" in work.extra:
        return None
    return variation_about_rad(float(np.nanmedian(lat)), float(np.nanmedian(lon)), work.start_utc_s)


def right_recorded_variation(work: Work) -> None:
    """Turn over a recorded variation that is the magnetic model's of the place but for its sign."""
    recorded, lat, lon = work.extra.get("magnetic_variation"), work.get("latitude_rad"), work.get("longitude_rad")
    if recorded is None or lat is None or lon is None or not np.isfinite(recorded).any():
        return
    here = variation_about_rad(float(np.nanmedian(lat)), float(np.nanmedian(lon)), work.start_utc_s)
    middle = float(np.nanmedian(recorded))
    if here is None or abs(here) < _VARIES_RAD or not abs(middle + here) < _ALIKE * abs(here):
        return
    work.extra["magnetic_variation"] = -recorded
    says, side = to_unit(middle, "deg"), "E" if here > 0.0 else "W"
    said = f"magnetic variation {says:+.1f}° recorded, but it is {side} here by the world magnetic model: taken so"
    work.mends.append(Mend(said, recorded.size, column="heading_mag_rad"))


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
