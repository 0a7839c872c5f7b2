"""Where two readings are possible airwork says so and asks for one word, and the word it asks for settles it.

Beside each question stands the file that is clear, of which nothing is asked. The flights are made (`made_flight.py`).
"""

from __future__ import annotations

import re
import shlex
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from airwork.cli import main
from airwork.errors import InputError
from airwork.recording import Flight, read_flight
from airwork.recording.flight import Mend
from recording.made_flight import FT, START_UTC_S, lesson, stamp
from recording.writing import GET, ias_mps, save, table

pytestmark = pytest.mark.usefixtures("columns_alone")

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
    """Level legs and one shallow climb, well above the one field on the way: as likely either way."""
    GET["shallow_m"] = lambda m: 2_600.0 + 2.2 * np.clip(m.time_s - 700.0, 0.0, 200.0)
    columns = {**PLACE, "alt": ("shallow_m", 1), "GS (kt)": ("gs_kt", 1)}
    lines = table(MADE, columns).splitlines(keepends=True)
    path = save(tmp_path, "".join([lines[0], *lines[300:1200]]))
    (question,) = asked(read_flight(path))
    assert "'alt' is taken in" in question.what
    after = settled(path, question, "gps_altitude:m")
    assert asked(after) == []
    assert float(np.nanmax(after["altitude_m"])) == pytest.approx(3_040.0, abs=2.0)


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


def clock(shift_h: float, form: str = "{:%H:%M:%S}") -> list[str]:
    start = datetime.fromtimestamp(START_UTC_S + 3_600.0 * shift_h, UTC)
    return [form.format(start + timedelta(seconds=float(t))) for t in MADE.time_s]


HEAD_PLACE = {**PLACE, "altitude (ft)": ("alt_ft", 0), "GS (kt)": ("gs_kt", 1)}


@pytest.mark.parametrize(
    ("before", "shift_h"),
    [
        ("Thursday, May 28, 2026  all times EDT", -4.0),
        ("Vuelo del 28 de mayo de 2026, hora local (UTC-3)", -3.0),
        ("# date 20260528 UTC", 0.0),
        ("N123  Date: 28/05/2026\ntz: -05:00", -5.0),
        ("Dato: 28.5.2026   Tidssone: Europe/Oslo", 2.0),  # summer time
        ("Sortie of May 28th, 2026 | clock: Eastern Daylight Time | serial 20260503", -4.0),
        ("Voo de 28 de maio de 2026 - hora local (UTC-3)\nversion 1.2.2026, EST. 1998", -3.0),
        ("飛行日:2026年5月29日 時刻は GMT+9", 9.0),
        ("Flug am 28. Mai 2026, heure d'été de l'Est nord-américain", -4.0),
        ("date 28/05/26 (d/m/y), tz: -240", -4.0),
        ("LOGGER 5.6.2024\n28MAY2026 EDT", -4.0),
        ("Aufzeichnung vom 28.5.26 (EDT)", -4.0),
    ],
)
def test_day_and_zone_in_words_beside_the_rows_are_taken(tmp_path: Path, before: str, shift_h: float) -> None:
    text = table(MADE, HEAD_PLACE, times=clock(shift_h), time_names="Time", before=before + "\n")
    flight = read_flight(save(tmp_path, text))
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=1.0)
    assert asked(flight) == []


def test_a_date_of_two_readings_is_asked_for_and_the_answer_is_taken(tmp_path: Path) -> None:
    columns = {"altitude (ft)": ("alt_ft", 0), "GS (kt)": ("gs_kt", 1)}
    text = table(MADE, columns, times=clock(0.0), time_names="Time UTC", before="Date: 03/05/2026\n")
    (question,) = [m for m in asked(read_flight(save(tmp_path, text))) if "month/day" in m.what]
    line = re.search(r"'(# date: \S+)'", question.what)
    assert line is not None
    after = read_flight(save(tmp_path, f"{line[1]}\n{text}"))
    assert stamp(after.start_utc_s)[:10] == line[1].split()[-1]
    assert not [m for m in asked(after) if "month/day" in m.what]


@pytest.mark.parametrize("line", ["Date: 35/05/2026 local", "version 1.2.2026, local", "serial 20260503, local"])
def test_words_that_are_no_day_are_shown_and_not_taken(tmp_path: Path, line: str) -> None:
    text = table(MADE, HEAD_PLACE, times=clock(-4.0), time_names="Time", before=f"{line}, BEST LIST 4\n")
    flight = read_flight(save(tmp_path, text))
    assert np.isnan(flight.start_utc_s)
    assert [m.what for m in flight.mends if "not understood as the day" in m.what]


@pytest.mark.parametrize(
    ("start", "shift_h"),
    [
        ("2026-05-28 16:26:40 America/New_York", -4.0),
        ("28 May 2026 15:26:40 CDT", -5.0),
        ("2026-05-28T20:26:40Z", 0.0),
        ("2026-05-28 22:26:40 UTC+02:00", 2.0),
    ],
)
def test_the_zone_of_a_named_start_is_taken(tmp_path: Path, start: str, shift_h: float) -> None:
    counted = [f"{t:.1f}" for t in MADE.time_s]
    text = table(MADE, HEAD_PLACE, times=counted, time_names="elapsed (s)", before=f"# Recording started {start}\n")
    assert read_flight(save(tmp_path, text)).start_utc_s == pytest.approx(START_UTC_S, abs=1.0), shift_h


def test_stamps_cut_to_minutes_are_spread(tmp_path: Path) -> None:
    """As a spreadsheet saves them; the first minute began before the recording."""
    stamps = clock(0.0, "{:%d.%m.%Y %H:%M}")
    flight = read_flight(save(tmp_path, table(MADE, HEAD_PLACE, times=stamps, time_names="Time UTC")))
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=1.5)
    np.testing.assert_allclose(flight["altitude_m"], MADE.altitude_m, atol=8.0)


def test_sensors_that_share_columns_are_read_each_by_its_own(tmp_path: Path) -> None:
    place = table(MADE, {**PLACE, "alt": ("alt_m", 1)}).splitlines()[1:]
    turned = table(MADE, {"r": ("bank_deg", 2), "p": ("hdg_deg", 2), "y": ("vs_fpm", 2)}).splitlines()[1:]
    rows = [f"location,{a}\npressure,{b}" for a, b in zip(place, turned, strict=True)]
    path = save(tmp_path, "sensor,time,v1,v2,v3\n" + "\n".join(rows) + "\n")
    flight = read_flight(path)
    assert any("rows of 2 sensors" in m.what for m in flight.mends)
    np.testing.assert_allclose(flight["latitude_rad"][10:-10], MADE.latitude_rad[10:-10], atol=1e-7)


def test_two_aircraft_of_an_address_no_name_tells_are_asked_for(tmp_path: Path) -> None:
    """The second seen every third second, 30 km off."""
    lines = table(MADE, {**PLACE, "alt_ft": ("alt_ft", 0)}).splitlines()
    rows = [lines[0] + ",addr"]
    for k, line in enumerate(lines[1:]):
        stamped, lat, lon, alt = line.split(",")
        rows.append(f"{line},84F0A1")
        rows += [f"{stamped},{float(lat) + 0.3:.7f},{float(lon) - 0.2:.7f},{alt},86D2B7"] if k % 3 else []
    with pytest.raises(InputError, match="2 aircraft"):
        read_flight(save(tmp_path, "\n".join(rows) + "\n"))


def test_an_altitude_that_never_changes_is_none(tmp_path: Path) -> None:
    GET["nought"] = lambda m: 0.0 * m.altitude_m
    columns = {**PLACE, "GPS altitude (m)": ("nought", 0), "Baro altitude (ft)": ("alt_ft", 0)}
    flight = read_flight(save(tmp_path, table(MADE, columns)))
    assert "gps_altitude_m" not in flight.columns
    np.testing.assert_allclose(flight["altitude_m"], MADE.altitude_m, atol=3.0)


def test_a_kml_point_on_the_ground_has_the_height_its_words_say(tmp_path: Path) -> None:
    points = "".join(
        f"<Placemark><TimeStamp><when>{stamp(START_UTC_S + t)}</when></TimeStamp><description>Altitude: {h:,.0f} ft"
        f"&lt;br/&gt;Speed: {v:.0f} kts</description><Point><altitudeMode>clampToGround</altitudeMode><coordinates>"
        f"{lon:.6f},{lat:.6f},0</coordinates></Point></Placemark>"
        for t, h, v, lat, lon in zip(
            MADE.time_s, *(GET[q](MADE) for q in ("alt_ft", "gs_kt", "lat_deg", "lon_deg")), strict=True
        )
    )
    text = f'<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>{points}</Document></kml>'
    flight = read_flight(save(tmp_path, text, "points.kml"))
    np.testing.assert_allclose(flight["altitude_m"], MADE.altitude_m, atol=3.0)


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


def test_an_offset_in_brackets_after_a_name_is_the_columns_zone(tmp_path: Path) -> None:
    """Time (-03): read by itself, and by the mapping a question would ask for where no date stands in the cells."""
    clock = [datetime.fromtimestamp(START_UTC_S - 10_800.0 + t, UTC).strftime("%H:%M:%S") for t in MADE.time_s]
    columns = {**PLACE, "altitude (ft)": ("alt_ft", 0), "GS (kt)": ("gs_kt", 1)}
    text = table(MADE, columns, times=clock)
    day = datetime.fromtimestamp(START_UTC_S - 10_800.0, UTC).strftime("Log of %d-%b-%Y\n\n")
    for name in ("Time (-03)", "Clock"):
        path = save(tmp_path, day + text.replace(text.split(",")[0], name, 1))
        if name == "Clock":
            assert main(["recording", "map", str(path), "--set", "Clock=local_time:UTC-3"]) == 0
        assert read_flight(path).start_utc_s == pytest.approx(START_UTC_S, abs=2.0), name


def test_a_row_of_units_stands_under_names_the_grammar_does_not_know(tmp_path: Path) -> None:
    columns = {**PLACE, "Wysokość": ("alt_ft", 0), "Prędkość względem ziemi": ("gs_kt", 1), "Obroty": ("gs_kt", 0)}
    lines = table(MADE, columns).splitlines()
    lines.insert(1, ",°,°,ft,kt,obr/min")
    flight = read_flight(save(tmp_path, "\n".join(lines)))
    np.testing.assert_allclose(flight["altitude_m"], MADE.altitude_m, atol=3.0)


def test_a_column_whose_unit_is_of_another_kind_is_no_vertical_speed() -> None:
    """A consumption in L/h goes with the climb; made by other hands than the reader's."""
    flight = read_flight(Path(__file__).parents[1] / "sources/recordings/consumption_every_4s.csv.gz")
    assert flight.columns["vertical_speed_mps"].known != "measured"
    assert float(np.nanmin(flight["vertical_speed_mps"])) < -2.0
