"""One flight in many recorders' layouts (bench/faults/layouts.py and the two beside it): each comes back the same.

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

from faults.clean import Clean, beside
from faults.containers import CONTAINERS
from faults.instructors import INSTRUCTORS
from faults.later_hands import LATER_HANDS
from faults.layouts import LAYOUTS, Rows, differs
from faults.other_hands import OTHER_HANDS

pytestmark = pytest.mark.usefixtures("columns_alone")

EVERY = LAYOUTS | OTHER_HANDS | LATER_HANDS | CONTAINERS | INSTRUCTORS
# Reach no branch of the reader that another layout doesn't; the bench reads them all.
LIKE_ANOTHER = {
    "odd_stamp_name", "degrees_and_minutes", "place_in_one_cell", "utf16_tabs", "offset_after_blank", "half_days",
    "hours_without_zero", "radians_and_si", "units_in_cells", "zone_by_name", "units_for_names", "waypoints",
    "padded_to_the_end", "two_header_rows", "simulator_log", "tablet_export", "gpx_cut_short",
    "tabs_and_minutes_of_zone", "six_short_names", "six_abbreviated", "elapsed_clock", "minutes_elapsed",
    "newest_first", "swiss_thousands", "words_for_blanks", "metric_panel", "rare_heights", "basic_stamps",
    "table_with_bars", "julian_date", "hemisphere_in_the_name", "units_first", "comma_before_the_fraction",
    "dates_without_zeros", "letters_in_the_clock", "start_in_a_remark", "fields_and_rows", "frame_in_json",
    "microdegrees", "kilometers_up", "unnamed_index", "names_in_a_remark", "all_capitals", "zeros_lost",
    "elapsed_and_start", "log_lines", "gpx_with_holes", "cardinal_courses", "rates_of_two_clocks", "points_by_time",
    "tenths_and_hundredths", "zone_in_the_name", "zone_in_brackets", "rows_of_kinds", "factors_in_the_names",
    "signs_and_digits_of_print", "kinds_named_in_first_rows", "norths_in_the_header", "american_spreadsheet",
    "tablet_track", "three_altimeters", "hours_as_a_number",
}  # fmt: skip


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
        "ground": (made.tas_mps < 25.0).astype(float), "set": np.full(made.time_s.size, 101_000.0),
        "rpm": 2_250.0 + 60.0 * made.vertical_speed_mps, "map": 70e3 + 4e3 * made.vertical_speed_mps,
        "ff": 8.5e-6 + 5e-7 * made.vertical_speed_mps,
    }  # fmt: skip
    clean = Clean("made", made.time_s + 1_779_000_000.0, columns | beside(columns))
    return Rows(clean, clean.time_s[::10])


@pytest.mark.parametrize("layout", [one for one in EVERY if one not in LIKE_ANOTHER])
def test_the_flight_comes_back_from_the_layout(layout: str, rows: Rows, tmp_path: Path) -> None:
    """Place, time, altitude, speed over the ground and what else the layout holds; a take-off and a landing."""
    written = EVERY[layout](rows)
    path = tmp_path / f"flight{written.ending}"
    path.write_bytes(written.data)
    flight = read_flight(path, aircraft=written.aircraft)
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


def test_a_gpx_that_closes_what_is_not_open_is_read_up_to_there(rows: Rows, tmp_path: Path) -> None:
    whole = gzip.decompress(LAYOUTS["gpx_with_extensions"](rows).data)
    path = tmp_path / "flight.gpx"
    path.write_bytes(whole.replace(b"</gpx>", b"</trk></gpx>"))
    flight = read_flight(path)
    assert len(flight) == pytest.approx(rows.t.size, abs=3)
    assert any("a slip in its XML" in m.what for m in flight.mends)


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


@pytest.mark.parametrize(("climb", "kept"), [("0.0", False), ("1.0", False), ("own", True)])
def test_a_climb_stuck_at_one_number_tells_nothing(climb: str, kept: bool, tmp_path: Path) -> None:
    """0 or 1 m/s throughout, though it climbs 300 m and comes down again; what the heights give is kept."""
    t = np.arange(200.0)
    height = 300.0 + 3.0 * np.minimum(t, 199.0 - t)
    rates = [3.0 if x < 99.5 else -3.0 for x in t] if climb == "own" else [float(climb)] * 200
    text = [
        f"{1.78e9 + x:.0f},{47.0 + 4e-4 * x:.5f},11.0,{h:.1f},{r}" for x, h, r in zip(t, height, rates, strict=True)
    ]
    path = tmp_path / "climb.csv"
    path.write_text("\n".join(["timestamp,latitude,longitude,alt_m,vertical speed (m/s)", *text]))
    flight = read_flight(path)
    assert (flight.columns["vertical_speed_mps"].known == "measured") is kept
    assert np.nanmax(flight["vertical_speed_mps"]) == pytest.approx(3.0, abs=0.2)


def test_few_rows_in_a_second_between_long_gaps_make_no_steep_turn(tmp_path: Path) -> None:
    """3°/s at 50 m/s is 15° of bank; rows 12 s apart but for three within two whole seconds."""
    stamps = sorted({*range(0, 360, 12), *range(121, 360, 72), *range(122, 360, 72)})
    true = np.array(stamps) + np.where(np.array(stamps) % 12 == 1, -0.4, 0.0)  # of a tick a second long
    way = np.radians(3.0 * true)
    radius = 50.0 / np.radians(3.0)
    north = 47.0 + radius * np.sin(way) / 111_200.0
    east = 11.0 - radius * np.cos(way) / 111_200.0 / np.cos(np.radians(47.0))
    text = [f"{1.78e9 + x:.0f},{la:.6f},{lo:.6f},900" for x, la, lo in zip(stamps, north, east, strict=True)]
    path = tmp_path / "turns.csv"
    path.write_text("\n".join(["timestamp,latitude,longitude,alt_m", *text]))
    bank = np.degrees(np.abs(read_flight(path)["bank_rad"]))
    assert np.isfinite(bank).any()
    assert np.nanmax(bank) < 22.0


def test_a_position_that_stands_and_then_jumps_was_stuck(rows: Rows, tmp_path: Path) -> None:
    """Frozen for 80 s in flight, no speed recorded: not a stand on the ground, so no landing in the air."""
    lines = LAYOUTS["odd_stamp_name"](rows).data.decode().splitlines()
    cells = [x.split(",") for x in lines[1:]]
    for row in cells[500:580]:
        row[1:3] = cells[500][1:3]
    path = tmp_path / "flight.csv"
    path.write_text("\n".join([lines[0], *(",".join(row) for row in cells)]))
    flight = read_flight(path)
    assert any("the next fix lies as far away" in m.what for m in flight.mends)
    assert [c.kind for c in flight.contacts] == ["takeoff", "landing"]
    assert np.nanmin(flight["groundspeed_mps"][400:700]) > 20.0


def test_flight_along_a_parallel_is_not_stuck(tmp_path: Path) -> None:
    """Due west at 50 m/s with positions to 0.0001°: the latitude stands, the longitude doesn't."""
    t = np.arange(300.0)
    west = 7.0 - 50.0 * t / 6_378_137.0 / np.cos(np.radians(47.0)) * 180.0 / np.pi
    text = [f"{1.78e9 + x:.0f},47.0000,{o:.4f},{1000.0 + 0.5 * x:.0f},50" for x, o in zip(t, west, strict=True)]
    path = tmp_path / "west.csv"
    path.write_text("\n".join(["timestamp,latitude,longitude,alt_m,groundspeed (m/s)", *text]))
    flight = read_flight(path)
    assert not [m.what for m in flight.mends if "stuck" in m.what]
    assert np.isfinite(flight["latitude_rad"]).all()


def test_a_column_with_one_reading_and_a_name_like_a_power_are_no_trouble(tmp_path: Path) -> None:
    """A single altitude tells no unit, and kt x1e-999 is no unit: the rest is read."""
    rows = [f"{1.78e9 + k:.0f},{47.0 + k * 4e-4:.5f},7.0,{'430' if k == 9 else ''},5" for k in range(60)]
    path = tmp_path / "few.csv"
    path.write_text("\n".join(["timestamp,latitude,longitude,gps altitude,kt x1e-999", *rows]))
    flight = read_flight(path)
    assert flight.get("gps_altitude_m") is None
    assert np.nanmedian(flight["groundspeed_mps"]) == pytest.approx(44.5, abs=0.2)


@pytest.mark.parametrize("written", [1.0, 57.29578])
def test_angles_called_degrees_may_be_radians(written: float, tmp_path: Path) -> None:
    """Simulators' own default; headings that fit the way as radians tell it. In degrees they stay degrees."""
    t = np.arange(0.0, 60.0, 2.0)
    bank, speed = np.radians(20.0), 60.0
    course = 1.0 + 9.80665 * np.tan(bank) / speed * t
    north, east = (np.cumsum(f(course)) * speed * 2.0 for f in (np.cos, np.sin))
    lines = ["timestamp,PLANE LATITUDE,PLANE LONGITUDE,PLANE ALTITUDE,PLANE BANK DEGREES,PLANE HEADING DEGREES TRUE"]
    for s, n, e, c in zip(t, north, east, course, strict=True):
        stamp = f"2026-01-07T13:{s // 60:02.0f}:{s % 60:02.0f}"
        at = f"{42.0 + n / 111_195.0:.7f},{12.0 + e / 82_634.0:.7f}"
        lines.append(f"{stamp},{at},3000,{bank * written:.5f},{c % (2.0 * np.pi) * written:.5f}")
    path = tmp_path / "simulator.csv"
    path.write_text("\n".join(lines) + "\n")
    assert np.nanmedian(np.degrees(read_flight(path)["bank_rad"])) == pytest.approx(20.0, abs=0.1)
