"""The mean wind by height of a summary leaves out the samples whose height is not known."""

from __future__ import annotations

import warnings

import numpy as np

from airwork.recording.flight import Column, Flight
from airwork.recording.summary import _wind
from airwork.units import FT_M, KT_MPS


def test_samples_without_a_height_are_in_no_layer_and_warn_of_nothing() -> None:
    """10 kt from 270° at 3,500 ft, and as many samples of 30 kt whose height nobody knows."""
    n = 200
    known = np.arange(n) < n // 2
    columns = {
        "altitude_m": Column(np.where(known, 3500.0 * FT_M, np.nan), "measured"),
        "wind_mps": Column(np.where(known, 10.0, 30.0) * KT_MPS, "derived", 1.0),
        "wind_from_rad": Column(np.full(n, np.radians(270.0)), "derived"),
    }
    flight = Flight(1.75e9, np.arange(n, dtype=float), columns, source={"wind_error_by_height": [[900.0, 1.0]]})
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        lines, _ = _wind(flight)
    assert [(line.low_ft, line.high_ft, round(line.speed_kt)) for line in lines] == [(3000, 4000, 10)]
