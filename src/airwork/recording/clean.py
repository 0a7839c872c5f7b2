"""Cleaning a recording: time base, units, signs, sensors, delays. In place; what was found is in `recorded.mends`."""

from __future__ import annotations

from airwork.recording.contradictions import set_aside
from airwork.recording.delays import mend_delays
from airwork.recording.recorded import Recorded
from airwork.recording.sensors import clean_sensors
from airwork.recording.time_base import mend_time
from airwork.recording.units_check import check_units


def clean(recorded: Recorded, where: str) -> None:
    """Mend what can be mended, take out what can't be true, say all of it."""
    mend_time(recorded, where)
    check_units(recorded)  # before the ranges are applied: a wrong unit makes good readings look impossible
    set_aside(recorded)
    clean_sensors(recorded)
    mend_delays(recorded)
