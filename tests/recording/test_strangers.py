"""Layouts that strangers brought: each wrote down what it meant, in its own way; the flight is the one made."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from airwork.cli import main
from airwork.debrief import debrief
from airwork.recording import read_flight
from airwork.recording.flight import Flight
from airwork.recording.names import understand
from airwork.standards import load_standard
from recording.made_flight import FT, KT, START_UTC_S, lesson, stamp
from recording.writing import GET, save, table

pytestmark = pytest.mark.usefixtures("columns_alone")

MADE = lesson(1500.0, 1.0)  # 40° N
PLACE = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7)}
PLAIN = {**PLACE, "altitude (ft)": ("alt_ft", 0), "GS (kt)": ("gs_kt", 1)}
LAT, LON, ALT_FT, GS_KT = (GET[k](MADE) for k in ("lat_deg", "lon_deg", "alt_ft", "gs_kt"))
ISO = [stamp(START_UTC_S + t) for t in MADE.time_s]


def is_made(flight: Flight, altitude_m: float = 3.0) -> None:
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=1.0)
    np.testing.assert_allclose(flight["latitude_rad"][20:-20], MADE.latitude_rad[20:-20], atol=2e-7)
    np.testing.assert_allclose(flight["longitude_rad"][20:-20], MADE.longitude_rad[20:-20], atol=2e-7)
    np.testing.assert_allclose(flight["altitude_m"][20:-20], MADE.altitude_m[20:-20], atol=altitude_m)


def local(form: str, ahead_h: float) -> list[str]:
    start = datetime.fromtimestamp(START_UTC_S + 3_600.0 * ahead_h, UTC)
    return [(start + timedelta(seconds=float(t))).strftime(form) for t in MADE.time_s]


@pytest.mark.parametrize(
    ("name", "before"),
    [("Horodatage (heure légale)", ""), ("Ortszeit", ""), ("Time", "# all clock times are local\n"),
     ("Time", "# times: Hawaii Standard Time\n")],
)  # fmt: skip
def test_a_clock_called_local_is_that_of_the_place(tmp_path: Path, name: str, before: str) -> None:
    """Source of the rule: the tz database, by the place; Honolulu's zone is ten hours behind UTC all year."""
    honolulu = {**PLAIN, "lat": ("hi_lat", 7), "lon": ("hi_lon", 7)}
    GET["hi_lat"] = lambda m: GET["lat_deg"](m) - LAT[0] + 21.3
    GET["hi_lon"] = lambda m: GET["lon_deg"](m) - LON[0] - 157.9
    text = table(MADE, honolulu, times=local("%Y-%m-%d %H:%M:%S", -10.0), time_names=name, before=before)
    assert read_flight(save(tmp_path, text)).start_utc_s == pytest.approx(START_UTC_S, abs=1.0)


def test_words_that_only_speak_of_something_local_shift_no_clock(tmp_path: Path) -> None:
    flight = read_flight(save(tmp_path, table(MADE, PLAIN, before="# local flight, total flight time 0:45\n")))
    is_made(flight)


@pytest.mark.parametrize("tag", ["cmt", "desc"])
def test_what_a_gpx_point_says_in_words_is_read(tmp_path: Path, tag: str) -> None:
    said = [f"GS {g:.0f} kt; ALT {a:,.0f} ft MSL" if tag == "cmt" else f"Alt {a:,.0f} ft, {g:.0f} kt, 240 deg"
            for g, a in zip(GS_KT, ALT_FT, strict=True)]  # fmt: skip
    points = "".join(
        f'<trkpt lat="{a:.7f}" lon="{o:.7f}"><time>{t}</time><{tag}>{s}</{tag}></trkpt>'
        for a, o, t, s in zip(LAT, LON, ISO, said, strict=True)
    )
    is_made(read_flight(save(tmp_path, f"<gpx><trk><trkseg>{points}</trkseg></trk></gpx>", "said.gpx")))


def test_data_of_a_kml_point_is_read(tmp_path: Path) -> None:
    points = "".join(
        f"<Placemark><TimeStamp><when>{t}</when></TimeStamp><ExtendedData><Data name='Altitude'><value>{h:,.0f} ft"
        f"</value></Data><Data name='Speed'><value>{g:.0f} kt</value></Data></ExtendedData><Point><coordinates>"
        f"{o:.7f},{a:.7f}</coordinates></Point></Placemark>"
        for a, o, t, h, g in zip(LAT, LON, ISO, ALT_FT, GS_KT, strict=True)
    )
    is_made(read_flight(save(tmp_path, f"<kml><Document>{points}</Document></kml>", "said.kml")))


@pytest.mark.parametrize("name", ["pos", "p", "lonlat"])
def test_pairs_of_numbers_beside_columns_are_places(tmp_path: Path, name: str) -> None:
    turned = name == "lonlat"
    pairs = [[o, a] if turned else [a, o] for a, o in zip(LAT.round(7).tolist(), LON.round(7).tolist(), strict=True)]
    body = {"t": ISO, name: pairs, "alt": {"unit": "ft", "values": ALT_FT.round().tolist()},
            "speed": {"unit": "kt", "values": GS_KT.round(1).tolist()}}  # fmt: skip
    is_made(read_flight(save(tmp_path, json.dumps({"flight": body}), "pairs.json")))


def test_tables_one_below_the_other_are_one_recording(tmp_path: Path) -> None:
    first = table(MADE, PLAIN, delimiter=";")
    second = table(MADE, {"ias_kt": ("ias_kt", 1), "bank_deg": ("bank_deg", 1)}, delimiter=";")
    flight = read_flight(save(tmp_path, f"[GPS]\n{first}[AIR]\n{second}"))
    is_made(flight)
    np.testing.assert_allclose(flight["bank_rad"][20:-20], MADE.bank_rad[20:-20], atol=0.02)


def test_lines_of_a_program_with_month_and_day_are_read(tmp_path: Path) -> None:
    rows = [f"{t} box logger[31]: pos={a:.7f},{o:.7f} alt={h / 3.28084:.1f}m spd={g * 1.852:.1f}km/h"
            for t, a, o, h, g in zip(local("%b %d %H:%M:%S", 0.0), LAT, LON, ALT_FT, GS_KT, strict=True)]  # fmt: skip
    opened = f"-- log opened {local('%d %b %Y %H:%M:%S', 0.0)[0]} UTC --\n"
    is_made(read_flight(save(tmp_path, opened + "\n".join(rows) + "\n", "box.log")))


def test_a_title_of_two_cells_is_no_header(tmp_path: Path) -> None:
    """Names and title in a tongue the grammar has no word of."""
    names = {"緯度": ("lat_deg", 7), "経度": ("lon_deg", 7), "高度(m)": ("alt_m", 1), "速度(km/h)": ("gs_kmh", 1)}
    is_made(read_flight(save(tmp_path, table(MADE, names, time_names="時刻(UTC)", before="飛行記録,JA00XY\n"))))


def test_units_under_names_of_another_tongue_are_no_names(tmp_path: Path) -> None:
    rows = [f"{t}   {a:.6f}   {o:.6f}   {h:5.0f}   {g:5.1f}   {g + 3:5.1f}"
            for t, a, o, h, g in zip(local("%H:%M:%S", 3.0), LAT, LON, ALT_FT, GS_KT, strict=True)]  # fmt: skip
    day = local("%d.%m.%Y", 3.0)[0]
    head = [f"UÇUŞ   Tarih: {day}   Saat dilimi: TSİ (UTC+3)", "",
            "Saat       Enlem      Boylam     İrtifa   YerHızı   Hız",
            "                                 (ft)     (kt)      (kt)", "-" * 60]  # fmt: skip
    flight = read_flight(save(tmp_path, "\n".join(head + rows) + "\n", "list.txt"))
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=1.0)
    np.testing.assert_allclose(flight["altitude_m"][20:-20], MADE.altitude_m[20:-20], atol=3.0)


def test_an_altimeter_setting_in_words_is_used(tmp_path: Path) -> None:
    """[ICAO Doc 7488] standard atmosphere: 1023 hPa has its sea level some 266 ft above the standard pressure's."""
    names = {**PLACE, "pressure altitude (ft)": ("alt_ft", 1), "ias_kt": ("ias_kt", 1)}
    flight = read_flight(save(tmp_path, table(MADE, names, before="# QNH 1023 hPa\n")))
    assert (flight["altitude_m"][600] - MADE.altitude_m[600]) / FT == pytest.approx(266.0, abs=6.0)


@pytest.mark.parametrize(("cell", "quantity"), [("deg M", "magnetic_track"), ("deg T", "track"), ("deg", "track")])
def test_a_unit_tells_which_north(cell: str, quantity: str) -> None:
    meaning = understand("Track", cell)
    assert meaning is not None
    assert meaning.quantity == quantity


def test_sensors_of_one_table_get_columns_of_their_own(tmp_path: Path) -> None:
    rows = []
    for t, a, o, h, g in zip(MADE.time_s, LAT, LON, MADE.altitude_m, GS_KT * KT, strict=True):
        ms = round((START_UTC_S + t) * 1e3)
        rows += [
            f"{ms},accelerometer,{np.sin(7 * t):.3f},{np.cos(5 * t):.3f},{9.8 + 0.1 * np.sin(t):.3f},",
            f"{ms + 40},location,{a:.7f},{o:.7f},{h:.1f},{g:.2f}",
        ]
    flight = read_flight(save(tmp_path, "timestamp_ms,sensor,v1,v2,v3,v4\n" + "\n".join(rows) + "\n"))
    is_made(flight)


def test_a_course_and_a_heading_of_french_names_are_told_apart(tmp_path: Path) -> None:
    """Readings of the heading in every third row: drawn between 359° and 1° the short way, and kept within a circle."""
    GET["cap"] = lambda m: GET["hdg_deg"](m) % 360.0
    columns = {**PLAIN, "Route (°)": ("trk_deg", 1), "Cap mag. (°)": ("cap", 1)}
    head, *rows = table(MADE, columns).splitlines()
    rows = [row if k % 3 == 0 else row.rpartition(",")[0] + "," for k, row in enumerate(rows)]
    flight = read_flight(save(tmp_path, "\n".join([head, *rows]) + "\n"))
    off = np.angle(np.exp(1j * (flight["heading_mag_rad"] - MADE.heading_rad)))[20:-20]
    assert float(np.percentile(np.abs(off), 95)) < 0.1
    assert 0.0 <= float(np.nanmin(flight["heading_mag_rad"])) <= float(np.nanmax(flight["heading_mag_rad"])) < 2 * np.pi
    assert flight.columns["track_rad"].known == "measured"


def test_degrees_minutes_and_side_parted_by_blanks_are_one_place(tmp_path: Path) -> None:
    def cell(value: float, width: int, sides: str) -> str:
        size = abs(value)
        return f"{int(size):0{width}d} {60.0 * (size % 1.0):07.4f} {sides[int(value < 0.0)]}"

    rows = [f"  {t}  {cell(a, 2, 'NS')}  {cell(o, 3, 'EW')}   {h:5.0f}   {g:5.1f}"
            for t, a, o, h, g in zip(local("%H.%M.%S", 2.0), LAT, LON, ALT_FT, GS_KT, strict=True)]  # fmt: skip
    head = [f"  {local('%d.%m.%Y', 2.0)[0]}  (UTC+2)", "", "  Tid       Posisjon                     Hoyde   Fart",
            "            N          E                 ft      kt"]  # fmt: skip
    is_made(read_flight(save(tmp_path, "\n".join(head + rows) + "\n", "tur.prn")))


def test_a_kml_point_may_tell_its_time_among_its_data(tmp_path: Path) -> None:
    points = "".join(
        f"<Placemark><ExtendedData><Data name='Time (UTC)'><value>{t}</value></Data><Data name='ALT [ft]'><value>"
        f"{h:.0f}</value></Data></ExtendedData><Point><coordinates>{o:.7f},{a:.7f}</coordinates></Point></Placemark>"
        for a, o, t, h in zip(LAT, LON, local("%d %b %Y %H:%M:%S", 0.0), ALT_FT, strict=True)
    )
    is_made(read_flight(save(tmp_path, f"<kml><Document>{points}</Document></kml>", "data.kml")))


@pytest.mark.parametrize("name", ["Drehzahl (U/min)", "Otáčky (1/min)", "Régime (tr/min)"])
def test_what_turns_by_the_minute_is_the_engine(name: str) -> None:
    meaning = understand(name)
    assert meaning is not None
    assert meaning.quantity == "rpm"


@pytest.mark.usefixtures("all_sought")
def test_no_wind_is_claimed_of_circles_that_one_fix_in_ten_seconds_cuts(tmp_path: Path) -> None:
    """Circles of 30 s in 7 m/s of wind: a chord of 120° is a sixth shorter than its arc, as if the wind had done it."""
    t = np.arange(0.0, 1_200.0, 1.0)
    heading = np.cumsum(np.where(np.mod(t, 300.0) < 60.0, 2.0 * np.pi / 30.0, 0.0))
    north, east = 50.0 * np.cos(heading), 50.0 * np.sin(heading) + 7.0
    lat, lon = 47.0 + np.cumsum(north) / 111_200.0, 8.0 + np.cumsum(east) / 75_900.0
    lines = [f"{START_UTC_S + s:.0f},{a:.6f},{o:.6f},900" for s, a, o in zip(t, lat, lon, strict=True)]
    text = "\n".join(["time,lat,lon,alt_m", *lines[::10]]) + "\n"
    assert not read_flight(save(tmp_path, text)).has("wind_mps")
    fine = read_flight(save(tmp_path, "\n".join(["time,lat,lon,alt_m", *lines]) + "\n"))
    assert float(np.nanmedian(fine["wind_mps"])) == pytest.approx(7.0, abs=1.0)  # the control


def test_slow_over_the_ground_is_not_on_it(tmp_path: Path) -> None:
    """A final at 38 kt in 27 kt of wind sinks gently 40 m over the field it stands on before and after."""
    t = np.arange(0.0, 900.0, 1.0)
    speed = np.interp(t, [0, 60, 75, 600, 620, 700, 760, 775, 900], [0, 0, 25, 25, 8, 8, 8, 0, 0])
    height = 200.0 + np.interp(t, [75, 200, 560, 620, 690, 700, 770], [0, 200, 200, 40, 32, 28, 0])
    north = np.cumsum(speed * np.where((t > 300) & (t < 560), -1.0, 1.0))
    rows = [f"{START_UTC_S + s:.0f},{47.0 + n / 111_200.0:.6f},8.0,{h:.1f}"
            for s, n, h in zip(t, north, height, strict=True)]  # fmt: skip
    flight = read_flight(save(tmp_path, "\n".join(["time,lat,lon,alt_m", *rows]) + "\n"))
    assert [c.kind for c in flight.contacts] == ["takeoff", "landing"]
    assert flight.contacts[1].time_s > 735.0


def test_the_drive_to_the_field_and_home_is_no_flight(tmp_path: Path) -> None:
    """Red lights on the way, on the same track as the flight: one take-off and one landing, those flown."""
    t = np.arange(0.0, 3_000.0, 1.0)
    road = np.where(np.mod(t, 90.0) < 60.0, 15.0, 0.2)
    flown = np.interp(t, [1_080, 1_200, 1_220, 1_300, 2_100, 2_200, 2_220, 2_400], [0, 0, 30, 45, 45, 32, 5, 0])
    speed = np.where((t > 1_080) & (t < 2_400), flown, road)
    height = 30.0 + np.interp(t, [1_220, 1_400, 2_000, 2_200], [0.0, 500.0, 500.0, 0.0]) + 4.0 * np.sin(t / 200.0)
    course = np.cumsum(np.where((t > 1_400) & (t < 2_000), np.pi / 300.0, 0.0))
    lat = 47.0 + np.cumsum(speed * np.cos(course)) / 111_200.0
    lon = 8.0 + np.cumsum(speed * np.sin(course)) / 75_900.0
    rows = [f"{START_UTC_S + s:.0f},{a:.6f},{o:.6f},{h:.1f}" for s, a, o, h in zip(t, lat, lon, height, strict=True)]
    flight = read_flight(save(tmp_path, "\n".join(["time,lat,lon,alt_m", *rows]) + "\n"))
    assert [c.kind for c in flight.contacts] == ["takeoff", "landing"]
    assert flight.contacts[0].time_s == pytest.approx(1_220.0, abs=15.0)
    assert flight.contacts[1].time_s == pytest.approx(2_200.0, abs=15.0)


def test_a_speed_that_is_no_ground_speed_in_any_unit_is_asked_for(tmp_path: Path) -> None:
    """Mph of an airspeed in a wind, called spd: 1.1 times what the positions make in knots."""
    names = {**PLACE, "alt (ft)": ("alt_ft", 0), "spd": ("ias_mph", 1)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert flight.columns["groundspeed_mps"].known == "derived"


@pytest.mark.parametrize(
    ("name", "cell", "quantity"), [("BALT", "ft baro", "indicated_altitude"), ("ground", "", "on_ground")]
)
def test_what_panels_and_receivers_call_it(name: str, cell: str, quantity: str) -> None:
    meaning = understand(name, cell)
    assert meaning is not None
    assert meaning.quantity == quantity


def moved(latitude: float, longitude: float, sides: bool = False) -> dict[str, tuple[str, int]]:
    """The flight as if it began there; in degrees and minutes without a mark (ddmm.mmmm) with `sides`."""
    lat, lon = LAT - LAT[0] + latitude, LON - LON[0] + longitude
    minutes = lambda x: np.trunc(x) * 100.0 + np.fmod(x, 1.0) * 60.0  # noqa: E731
    GET["there_lat"] = lambda _: minutes(lat) if sides else lat
    GET["there_lon"] = lambda _: minutes(lon) if sides else lon
    return {**PLAIN, "lat": ("there_lat", 5 if sides else 7), "lon": ("there_lon", 5 if sides else 7)}


@pytest.mark.parametrize(("before", "sides"), [("# All times IST\n", True), ("# All times IST\n", False)])
def test_letters_of_several_zones_are_told_by_any_form_of_position(tmp_path: Path, before: str, sides: bool) -> None:
    """IST is India's, Israel's or Ireland's (tz database): at Bombay it is five hours and a half."""
    there, clock = moved(19.1, 72.83, sides), local("%Y-%m-%d %H:%M:%S", 5.5)
    text = table(MADE, there, times=clock, time_names="Time", before=before)
    assert read_flight(save(tmp_path, text)).start_utc_s == pytest.approx(START_UTC_S, abs=1.0)


def test_french_canadas_letters_are_a_zone(tmp_path: Path) -> None:
    """HAE, heure avancée de l'Est, is four hours behind UTC (from memory)."""
    text = table(MADE, moved(45.5, -73.4), times=local("%Y-%m-%d %H:%M:%S", -4.0), time_names="Heure (HAE)")
    assert read_flight(save(tmp_path, text)).start_utc_s == pytest.approx(START_UTC_S, abs=1.0)


def test_the_offset_that_is_offered_is_that_of_the_place(tmp_path: Path) -> None:
    """Bombay's, by the tz database: half an hour from what the sun says; and it works when followed."""
    morning = local("%Y-%m-%d %H:%M:%S", 10.0 - START_UTC_S / 3_600.0 % 24.0)
    path = save(tmp_path, table(MADE, moved(19.1, 72.83), times=morning, time_names="Clock"))
    (asked,) = [m.what for m in read_flight(path).mends if m.asks]
    assert "--set Clock=local_time:UTC+5:30" in asked
    found = debrief(read_flight(path), standard=load_standard("private"))
    assert found.notes[0].startswith("To settle: 'Clock' names no time zone")


def test_sensors_that_share_their_times_keep_the_units_their_names_say(tmp_path: Path) -> None:
    """Rows of a receiver in meters and of an altimeter in feet at the same moments, each first in its turn."""
    rows = []
    for k, t in enumerate(ISO):
        rows.append({"t": t, "sensor": "air", "pressure_altitude_ft": round(float(ALT_FT[k]) - 300.0), "oat_c": 12.0})
        rows.append({"t": t, "sensor": "gnss", "lat": LAT[k], "lon": LON[k], "alt_m": round(float(ALT_FT[k] * FT), 1)})
    flight = read_flight(save(tmp_path, "\n".join(json.dumps(r) for r in rows), "rows.jsonl"))
    assert np.nanmedian(flight["gps_altitude_m"]) == pytest.approx(np.median(MADE.altitude_m), abs=5.0)
    assert not any("named m" in m.what for m in flight.mends)


def test_what_is_said_of_a_column_holds_beside_a_place_in_one_cell(tmp_path: Path, capsys) -> None:
    """The layout is known by the header as it stands in the file, not as it is once the place is parted."""
    each = zip(ISO, LAT, LON, ALT_FT, GS_KT, strict=True)
    rows = "".join(f"{t};{a:.6f}, {o:.6f};{h:.0f} ft;{g:.0f}\n" for t, a, o, h, g in each)
    path = save(tmp_path, f"Czas;Pozycja;Altitude;Szybko\n{rows}")
    assert main(["recording", "map", str(path), "--set", "Szybko=ground_speed:kt"]) == 0
    flight = read_flight(path)
    assert flight.columns["groundspeed_mps"].known == "measured"
    np.testing.assert_allclose(flight["groundspeed_mps"][20:-20], MADE.groundspeed_mps[20:-20], atol=0.6 * KT)


@pytest.mark.parametrize("seconds", [False, True])
def test_degrees_minutes_and_their_parts_set_apart_by_points(seconds: bool, tmp_path: Path) -> None:
    """N40.36.120 is 40° 36.120′; of two digits the last are seconds where none is above 59."""

    def dotted(degrees: float, side: str, wide: int) -> str:
        minutes = abs(degrees) % 1 * 60.0
        whole = f"{side}{int(abs(degrees)):0{wide}d}.{int(minutes):02d}"
        return f"{whole}.{int(minutes % 1 * 60.0):02d}" if seconds else f"{whole}.{int(minutes % 1 * 1000.0):03d}"

    rows = [f"{w},{dotted(a, 'N', 2)},{dotted(o, 'W', 3)},{h:.0f},{v:.1f}"
            for w, a, o, h, v in zip(ISO, LAT, LON, ALT_FT, GS_KT, strict=True)]  # fmt: skip
    flight = read_flight(save(tmp_path, "\n".join(["UTC,LAT,LNG,altitude (ft),GS (kt)", *rows]) + "\n"))
    coarse = np.radians(1.0 / 3_600.0 if seconds else 1.0 / 60_000.0)
    assert np.abs(flight["latitude_rad"] - MADE.latitude_rad).max() < 1.01 * coarse
    assert np.abs(flight["longitude_rad"] - MADE.longitude_rad).max() < 1.01 * coarse


@pytest.mark.parametrize("sides", [("N", "W"), ("", "-")])
def test_degrees_with_decimals_have_no_minutes(sides: tuple[str, str], tmp_path: Path) -> None:
    rows = [f"{w},{sides[0]}{abs(a):.7f},{sides[1]}{abs(o):.7f},{h:.0f},{v:.1f}"
            for w, a, o, h, v in zip(ISO, LAT, LON, ALT_FT, GS_KT, strict=True)]  # fmt: skip
    is_made(read_flight(save(tmp_path, "\n".join(["UTC,LAT,LNG,altitude (ft),GS (kt)", *rows]) + "\n")))


@pytest.mark.parametrize("names", [("RPM", "E1 RPM"), ("RPM", "RPM1"), ("E1 RPM", "RPM")])
def test_the_number_of_an_engine_before_its_unit_is_no_power_of_ten(names: tuple[str, str], tmp_path: Path) -> None:
    head, *rows = table(MADE, {**PLAIN, names[0]: ("rpm", 0)}).splitlines()
    second = f"UTC Time,Latitude,Longitude,AltMSL,GndSpd,{names[1]}"
    flight = read_flight(save(tmp_path, "\n".join([head, second, *rows]) + "\n"))
    assert np.nanmedian(flight["rpm"]) == 2_400.0
    assert not any("impossible" in m.what for m in flight.mends)


@pytest.mark.parametrize("recorded_deg", [-3.9, 3.9, 1.0])
def test_a_variation_against_the_magnetic_model_in_sign_alone_is_turned_over(
    recorded_deg: float, tmp_path: Path
) -> None:
    """Some 4° E at the place of the made flight [WMM]; a compass there shows less than true. What else it is, stays."""
    magnetic = np.mod(GET["hdg_deg"](MADE) - abs(recorded_deg), 360.0)
    head, *rows = table(MADE, PLAIN).splitlines()
    rows = [f"{row},{m:.2f},{recorded_deg}" for row, m in zip(rows, magnetic, strict=True)]
    flight = read_flight(save(tmp_path, "\n".join([f"{head},magnetic heading (deg),MagVar (deg)", *rows]) + "\n"))
    off = np.degrees(np.angle(np.exp(1j * (flight["heading_rad"] - GET["hdg_rad"](MADE)))))
    assert np.abs(off).max() < 0.1
    said = [m.what for m in flight.mends if "magnetic model" in m.what]
    assert len(said) == (recorded_deg < 0.0)


def test_a_navigation_aid_named_in_the_rows_is_not_the_aircraft(tmp_path: Path) -> None:
    """Nor are two of them two aircraft; the aircraft is said above, in the rows' own column before that."""
    head, *rows = table(MADE, PLAIN).splitlines()
    aids = [f"{row},{'KDEM' if k < 400 else 'DEMVO'}" for k, row in enumerate(rows)]
    above = '#info,log="1.0",aircraft_ident="N12DEM",unit="1"'
    flight = read_flight(save(tmp_path, "\n".join([above, f"{head},NavIdent", *aids]) + "\n"))
    is_made(flight)
    assert flight.source["aircraft"] == "N12DEM"
    own = [f"{row},N34DEM" for row in rows]
    flight = read_flight(save(tmp_path, "\n".join([above, f"{head},callsign", *own]) + "\n"))
    assert flight.source["aircraft"] == "N34DEM"


def test_units_in_a_table_of_their_own_beside_fields_and_samples(tmp_path: Path) -> None:
    """They are the file's word: nothing is taken for another unit first and put right afterward."""
    mph, kmh = GET["ias_mph"](MADE), GET["gs_kmh"](MADE)
    document = {
        "fields": ["time", "lat", "lon", "alt", "indicatedAirspeed", "groundSpeed"],
        "units": {"alt": "ft", "indicatedAirspeed": "mph", "groundSpeed": "km/h"},
        "samples": [list(row) for row in zip(ISO, LAT, LON, ALT_FT, mph, kmh, strict=True)],
    }
    flight = read_flight(save(tmp_path, json.dumps(document), "x.json"))
    np.testing.assert_allclose(flight["ias_mps"][20:-20], (mph * 1609.344 / 3600.0)[20:-20], atol=0.5)
    assert not any("taken for" in m.what for m in flight.mends)
