"""One flight in the layouts of many recorders (bench/faults/layouts.py): each comes back as the same flight.

The layouts are common practice of the trade, no source; what must come back is the flight they were written from.
"""

from __future__ import annotations

import gzip
import sys
from pathlib import Path

import numpy as np
import pytest

from airwork.errors import InputError
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


def test_a_gpx_that_breaks_off_is_read_as_far_as_it_goes(rows: Rows, tmp_path: Path) -> None:
    """Cut in the middle of a point: half of the points, and a line that says so."""
    whole = gzip.decompress(LAYOUTS["gpx_with_extensions"](rows).data)
    path = tmp_path / "flight.gpx"
    path.write_bytes(whole[: len(whole) // 2])
    flight = read_flight(path)
    assert len(flight) == pytest.approx(0.5 * rows.t.size, abs=3)
    assert any("breaks off" in m.what for m in flight.mends)


def test_one_aircraft_may_change_its_callsign(rows: Rows, tmp_path: Path) -> None:
    """One address, two callsigns: one aircraft; two addresses are asked for, by address or callsign."""
    lines = LAYOUTS["place_in_one_cell"](rows).data.decode().splitlines()
    name, half = lines[0], len(lines) // 2

    def saved(address: list[str]) -> Path:
        calls = [x.replace("DEMO1", "DEMO2") if k > half else x for k, x in enumerate(lines[1:])]
        path = tmp_path / "flight.csv"
        path.write_text("\n".join([f"{name},icao24", *(f"{x},{a}" for x, a in zip(calls, address, strict=True))]))
        return path

    n = len(lines) - 1
    assert len(read_flight(saved(["a1b2c3"] * n))) == n
    two = saved(["a1b2c3"] * half + ["d4e5f6"] * (n - half))
    with pytest.raises(InputError, match="holds 2 aircraft"):
        read_flight(two)
    assert len(read_flight(two, aircraft="d4e5f6")) == n - half
    assert len(read_flight(two, aircraft="demo2")) == pytest.approx(n - half, abs=1)


def test_a_speed_stuck_at_one_number_tells_nothing(rows: Rows, tmp_path: Path) -> None:
    """A ground speed of 98 throughout would be mph beside these positions: it is set aside, and the track with it."""
    lines = LAYOUTS["odd_stamp_name"](rows).data.decode().splitlines()
    path = tmp_path / "flight.csv"
    path.write_text("\n".join([f"{lines[0]},groundspeed,track", *(f"{x},98,201.5" for x in lines[1:])]))
    flight = read_flight(path)
    said = [m.what for m in flight.mends]
    assert "ground speed set aside: it holds the number 98 throughout" in said
    assert "track set aside: it holds one number throughout, and the flight turned" in said
    assert flight.columns["groundspeed_mps"].known == "derived"
