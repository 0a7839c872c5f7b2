"""Where two readings are possible airwork says so and asks for one word, and the word it asks for settles it.

Beside each question stands the file that is clear, of which nothing is asked. The flights are made (`made_flight.py`).
"""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import numpy as np
import pytest

from airwork.cli import main
from airwork.errors import InputError
from airwork.recording import Flight, read_flight
from airwork.recording.flight import Mend
from recording.made_flight import FT, START_UTC_S, lesson, stamp
from recording.writing import GET, ias_mps, save, table

MADE = lesson(1500.0, 1.0)
PLACE = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7)}


def asked(flight: Flight) -> list[Mend]:
    return [m for m in flight.mends if m.asks]


def settled(path: Path, mend: Mend, word: str = "") -> Flight:
    """The file read after the very command that is asked for."""
    found = re.search(r"map FILE --set (\S+|'[^']*')", mend.what)
    assert found is not None, mend.what
    meaning = shlex.split(found[1])[0]
    column, _, said = meaning.partition("=")
    assert main(["recording", "map", str(path), "--set", f"{column}={word or said}"]) == 0
    return read_flight(path)


@pytest.mark.parametrize("unit", ["alt_m", "alt_ft"])
@pytest.mark.parametrize("speed", ["gs_kt", "gs_kmh"])
def test_approaches_and_climbs_tell_feet_from_meters(tmp_path: Path, unit: str, speed: str) -> None:
    """No unit is named, and the families are mixed: a field is left and reached at slopes that are flown."""
    columns = {**PLACE, "alt": (unit, 1), "speed": (speed, 1)}
    flight = read_flight(save(tmp_path, table(MADE, columns)))
    assert asked(flight) == [] or (unit, speed) == ("alt_ft", "gs_kmh")  # that one is sure by four to one only
    np.testing.assert_allclose(flight["altitude_m"], MADE.altitude_m, atol=3.0)


def test_a_height_that_may_be_feet_or_meters_is_asked_for(tmp_path: Path) -> None:
    """Level legs and one shallow climb, no field in sight: as likely either way."""
    GET["shallow_m"] = lambda m: 900.0 + 2.2 * np.clip(m.time_s - 700.0, 0.0, 200.0)
    columns = {**PLACE, "alt": ("shallow_m", 1), "GS (kt)": ("gs_kt", 1)}
    lines = table(MADE, columns).splitlines(keepends=True)
    path = save(tmp_path, "".join([lines[0], *lines[300:1200]]))
    (question,) = asked(read_flight(path))
    assert "'alt' is taken in" in question.what
    after = settled(path, question, "gps_altitude:m")
    assert asked(after) == []
    assert float(np.nanmax(after["altitude_m"])) == pytest.approx(1340.0, abs=2.0)


@pytest.mark.parametrize("unit", ["ias_mph", "ias_kt", "ias_kmh"])
def test_bank_and_turn_rate_tell_the_airspeed_where_no_position_does(tmp_path: Path, unit: str) -> None:
    columns = {"alt": ("alt_ft", 0), "airspeed": (unit, 1), "heading": ("hdg_deg", 1), "bank": ("bank_deg", 1)}
    flight = read_flight(save(tmp_path, table(MADE, columns)))
    assert asked(flight) == []
    np.testing.assert_allclose(flight["ias_mps"][300:1000], ias_mps(MADE)[300:1000], atol=1.0)


def test_an_airspeed_nothing_tells_the_unit_of_is_asked_for(tmp_path: Path) -> None:
    path = save(tmp_path, table(MADE, {"altitude (ft)": ("alt_ft", 0), "airspeed": ("ias_mph", 1)}))
    (question,) = asked(read_flight(path))
    assert "mph" in question.what
    after = settled(path, question, "indicated_airspeed:mph")
    assert asked(after) == []
    np.testing.assert_allclose(after["ias_mps"][300:1000], ias_mps(MADE)[300:1000], atol=0.5)


def bare(name: str, shift_h: float) -> str:
    """Stamps without a zone. The sun of the made flight's place stands at about START_UTC_S plus its longitude."""
    times = [stamp(START_UTC_S + 3_600.0 * shift_h + t)[:19].replace("T", " ") for t in MADE.time_s]
    columns = {**PLACE, "altitude (ft)": ("alt_ft", 0), "GS (kt)": ("gs_kt", 1)}
    return table(MADE, columns, times=times, time_names=name)


def test_a_clock_of_no_zone_is_asked_for_and_the_answer_is_taken(tmp_path: Path) -> None:
    path = save(tmp_path, bare("Time", -4.0))
    (question,) = asked(read_flight(path))
    assert "names no time zone" in question.what
    after = settled(path, question, "local_time:UTC-4")
    assert after.start_utc_s == pytest.approx(START_UTC_S, abs=1.0)
    assert asked(after) == []


@pytest.mark.parametrize("name", ["Time (UTC)", "Time UTC", "Time (EDT)", "Time (UTC-4)", "Time (America/New_York)"])
def test_a_zone_in_the_name_is_taken_and_nothing_asked(tmp_path: Path, name: str) -> None:
    flight = read_flight(save(tmp_path, bare(name, 0.0 if name.endswith(("UTC", "(UTC)")) else -4.0)))
    assert asked(flight) == []
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=1.0)


@pytest.mark.parametrize("line", ["# zone: UTC-4", "# local times, EDT", "# clock of America/New_York"])
def test_a_zone_in_a_line_before_the_header_is_taken(tmp_path: Path, line: str) -> None:
    flight = read_flight(save(tmp_path, f"{line}\n{bare('Time', -4.0)}"))
    assert asked(flight) == []
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=1.0)


def test_two_receivers_in_turn_are_no_zigzag(tmp_path: Path) -> None:
    """Rows of a second receiver, 165 m off and 3 s late, under one number each."""
    lines = table(MADE, {**PLACE, "altitude (m)": ("alt_m", 1)}).splitlines()
    rows = [lines[0] + ",rx"]
    for k, line in enumerate(lines[1:], 1):
        stamped, lat, rest = line.split(",", 2)
        late = lines[max(k - 3, 1)].split(",", 2)
        rows += [f"{stamped},{lat},{rest},1", f"{stamped},{float(late[1]) + 0.0015:.7f},{late[2]},2"]
    path = save(tmp_path, "\n".join(rows) + "\n")
    flight = read_flight(path)
    assert "2 receivers in 'rx'" in asked(flight)[0].what
    assert len(flight) == MADE.time_s.size
    np.testing.assert_allclose(flight["groundspeed_mps"][100:1400], MADE.groundspeed_mps[100:1400], atol=1.5)
    assert read_flight(path, aircraft="2")["latitude_rad"][700] > flight["latitude_rad"][700]


def test_a_counter_of_odd_and_even_rows_is_no_receiver(tmp_path: Path) -> None:
    lines = table(MADE, {**PLACE, "altitude (m)": ("alt_m", 1)}).splitlines()
    rows = [lines[0] + ",n", *(f"{line},{k % 2}" for k, line in enumerate(lines[1:]))]
    flight = read_flight(save(tmp_path, "\n".join(rows) + "\n"))
    assert asked(flight) == []
    assert len(flight) == MADE.time_s.size


@pytest.mark.parametrize("name", ["rel_alt_m", "height above ground (m)"])
def test_heights_above_the_field_ask_for_its_elevation(tmp_path: Path, name: str) -> None:
    GET["above_m"] = lambda m: m.altitude_m - m.altitude_m[0]
    path = save(tmp_path, table(MADE, {**PLACE, name: ("above_m", 1), "GS (kt)": ("gs_kt", 1)}))
    assert "--elevation" in asked(read_flight(path))[0].what
    flight = read_flight(path, ground_elevation_m=1200.0 * FT)
    assert asked(flight) == []
    np.testing.assert_allclose(flight["altitude_m"], MADE.altitude_m, atol=3.0)


def test_a_clock_from_before_it_was_set_gives_no_date(tmp_path: Path) -> None:
    """From 2000 for 300 s, then right: the flight is of the day the clock was set to."""
    times = [stamp(9.5e8 + t if t < 300 else START_UTC_S + t) for t in MADE.time_s]
    columns = {**PLACE, "altitude (ft)": ("alt_ft", 0), "GS (kt)": ("gs_kt", 1)}
    flight = read_flight(save(tmp_path, table(MADE, columns, times=times)))
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=2.0)
    assert float(flight.time_s[-1]) == pytest.approx(1499.0, abs=2.0)


def test_heights_in_hundreds_of_feet_are_no_road(tmp_path: Path) -> None:
    GET["levels"] = lambda m: m.altitude_m / FT / 100.0
    flight = read_flight(save(tmp_path, table(MADE, {**PLACE, "alt": ("levels", 0), "gs": ("gs_kt", 0)})))
    np.testing.assert_allclose(flight["altitude_m"], MADE.altitude_m, atol=60 * FT)
    assert flight.contacts


def test_what_nothing_flies_is_refused(tmp_path: Path) -> None:
    """Degrees a hundred times too far apart: no flight at all, and the columns are named."""
    GET["far"] = lambda m: (GET["lon_deg"](m) + 100.0) * 100.0
    path = save(tmp_path, table(MADE, {"lat": ("lat_deg", 7), "lon": ("far", 7), "altitude (ft)": ("alt_ft", 0)}))
    with pytest.raises(InputError, match=r"kt over the ground as airwork reads it .*'lon' as longitude"):
        read_flight(path)
