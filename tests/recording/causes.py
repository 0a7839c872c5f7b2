"""The flight into which tests put what real files of other hands had, and what its reading said."""

from __future__ import annotations

import numpy as np

from airwork.recording.flight import Flight
from recording.made_flight import START_UTC_S, lesson, stamp
from recording.writing import GET

MADE = lesson(1_500.0, 1.0)
N = MADE.time_s.size
ISO = [stamp(START_UTC_S + t) for t in MADE.time_s]
POSITIONS = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7)}
PLAIN = {**POSITIONS, "altitude (ft)": ("alt_ft", 0), "GS (kt)": ("gs_kt", 1)}


def put(name: str, values: object) -> str:
    """A column of its own for `table`, under a name of the test."""
    GET[name] = lambda made: np.asarray(values, dtype=float)
    return name


def said(flight: Flight) -> str:
    """Everything found and mended, in one line."""
    return " | ".join(m.what for m in flight.mends)
