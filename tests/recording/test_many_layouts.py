"""One flight in the layouts of many recorders (bench/faults/layouts.py): each comes back as the same flight.

The layouts are common practice of the trade, no source; what must come back is the flight they were written from.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from airwork.recording import read_flight
from recording import made_flight

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from faults.clean import Clean
from faults.layouts import LAYOUTS, Rows, differs


@pytest.fixture(scope="module")
def rows() -> Rows:
    """A lesson south of the equator and west of Greenwich, a row a second."""
    made = made_flight.lesson(1_100.0, latitude_deg=-40.2, longitude_deg=-71.3)
    columns = {
        "lat": np.degrees(made.latitude_rad), "lon": np.degrees(made.longitude_rad), "gps_alt": made.altitude_m + 30.0,
        "gs": made.groundspeed_mps, "track": np.degrees(made.track_rad), "alt": made.altitude_m,
        "palt": made.altitude_m + 55.0, "ias": made.tas_mps * np.exp(-made.altitude_m / 20_500.0), "tas": made.tas_mps,
        "vs": made.vertical_speed_mps, "pitch": np.zeros(made.time_s.size), "bank": np.degrees(made.bank_rad),
        "hdg": np.mod(np.degrees(made.heading_rad) - 8.0, 360.0), "oat": 15.0 - 0.0065 * made.altitude_m,
        "ground": (made.tas_mps < 25.0).astype(float),
    }  # fmt: skip
    clean = Clean("made", made.time_s + 1_779_000_000.0, columns)
    return Rows(clean, clean.time_s[::10])


@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_flight_comes_back_from_the_layout(layout: str, rows: Rows, tmp_path: Path) -> None:
    """Place, time, altitude, speed over the ground and what else the layout holds; a take-off and a landing."""
    written = LAYOUTS[layout](rows)
    path = tmp_path / f"flight{written.ending}"
    path.write_bytes(written.data)
    flight = read_flight(path)
    assert differs(flight.get, flight.time_s, flight.start_utc_s, rows, written) == []
    if written.height_m < 10.0:
        assert [c.kind for c in flight.contacts] == ["takeoff", "landing"]
