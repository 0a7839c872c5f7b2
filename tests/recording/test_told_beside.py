"""What stands beside a reading says what it is: a zone, a datum, a schema's element, the wind. Flights made here."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from airwork.airdata.altimetry import pressure_altitude_from_setting_m
from airwork.cli import main
from airwork.recording import Flight, read_flight
from airwork.recording.names import common_words, understand
from recording.made_flight import FT, START_UTC_S, lesson, stamp
from recording.writing import GET, save, table

pytestmark = pytest.mark.usefixtures("columns_alone")

MADE = lesson(1_500.0, 1.0)
PLACE = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7)}
PLAIN = {**PLACE, "altitude (ft)": ("alt_ft", 0), "GS (kt)": ("gs_kt", 1)}
AHEAD_H = -6.0  # MDT, at 40° N 105° W
DAY_1899 = datetime(1899, 12, 30, tzinfo=UTC)  # day 0 of spreadsheets


def clocks(form: str, ahead_h: float) -> list[str]:
    """What a clock shows that is so far ahead of UTC, as text or as a number."""
    at = [datetime.fromtimestamp(START_UTC_S + t, UTC) + timedelta(hours=ahead_h) for t in MADE.time_s]
    if form == "days":
        return [f"{(t - DAY_1899) / timedelta(days=1):.8f}" for t in at]
    return [f"{t.timestamp():.0f}" if form == "epoch" else t.strftime(form) for t in at]


@pytest.mark.parametrize("form", ["days", "%Y%m%d%H%M%S", "%Y-%m-%d %H:%M:%S", "epoch"])
def test_a_zone_in_words_holds_for_a_clock_in_numbers(tmp_path: Path, form: str) -> None:
    """A count since 1970 has its zone itself and stays."""
    shown = clocks(form, 0.0 if form == "epoch" else AHEAD_H)
    text = table(MADE, PLAIN, times=shown, time_names="when", before="Club book, clock times are MDT (UTC-6)\n")
    assert read_flight(save(tmp_path, text)).start_utc_s == pytest.approx(START_UTC_S, abs=1.0)


@pytest.mark.parametrize("ahead_h", [AHEAD_H, 0.0])
def test_digits_of_a_clock_are_local_where_words_say_so_and_utc_where_none_do(tmp_path: Path, ahead_h: float) -> None:
    day = clocks("%d %b %Y", ahead_h)[0]
    before = f"Dual, {day}{', all times MDT' * bool(ahead_h)}\n"
    text = table(MADE, PLAIN, times=clocks("%H%M%S", ahead_h), time_names="hhmmss", before=before)
    assert read_flight(save(tmp_path, text)).start_utc_s == pytest.approx(START_UTC_S, abs=1.0)


def test_a_column_of_offsets_holds_for_days_of_a_spreadsheet(tmp_path: Path) -> None:
    lines = table(MADE, PLAIN, times=clocks("days", AHEAD_H), time_names="time").splitlines()
    text = "\n".join(line + (",-06:00" if k else ",UTC offset") for k, line in enumerate(lines)) + "\n"
    assert read_flight(save(tmp_path, text)).start_utc_s == pytest.approx(START_UTC_S, abs=1.0)


def gpx(said: str, height_m: float, more: str) -> str:
    rows = zip(GET["lat_deg"](MADE), GET["lon_deg"](MADE), MADE.altitude_m + height_m, MADE.time_s, strict=True)
    points = (
        f'<trkpt lat="{a:.7f}" lon="{o:.7f}"><ele>{h:.1f}</ele><time>{stamp(START_UTC_S + t)}</time>{more}</trkpt>'
        for a, o, h, t in rows
    )
    return f"<gpx><metadata><desc>{said}</desc></metadata><trk><trkseg>{''.join(points)}</trkseg></trk></gpx>"


@pytest.mark.parametrize(
    ("said", "above_m"), [("all heights above the ellipsoid", 30.0), ("WGS84 ellipsoid; heights above sea level", 0.0)]
)
def test_elements_of_the_gpx_schema_are_what_it_says(tmp_path: Path, said: str, above_m: float) -> None:
    """GPX 1.1 schema (topografix.com/GPX/1/1), wptType: sat is a number of satellites, geoidheight the geoid's."""
    more = "<geoidheight>30</geoidheight><fix>3d</fix><sat>11</sat><hdop>0.9</hdop><ageofdgpsdata>12</ageofdgpsdata>"
    flight = read_flight(save(tmp_path, gpx(said, above_m, more), "x.gpx"))
    assert "oat_k" not in flight.columns
    np.testing.assert_allclose(flight["gps_altitude_m"][20:-20], MADE.altitude_m[20:-20], atol=1.0)


@pytest.mark.parametrize(("beside", "known"), [("hdop", False), ("TAS (kt)", True)])
def test_sat_counts_satellites_beside_a_receivers_precision(tmp_path: Path, beside: str, known: bool) -> None:
    lines = table(MADE, {**PLAIN, beside: ("tas_kt", 1)}).splitlines()
    text = "\n".join(line + (",9" if k else ",SAT") for k, line in enumerate(lines)) + "\n"
    assert ("oat_k" in read_flight(save(tmp_path, text)).columns) is known


@pytest.mark.parametrize(("factor", "begun"), [(1e9, 740.0), (1e6, 740.0), (1e3, 740.0), (1.0, 0.0), (1e9, 0.0)])
def test_a_count_since_the_start_in_any_part_of_a_second(tmp_path: Path, factor: float, begun: float) -> None:
    values = np.column_stack([GET[k](MADE) for k in ("lat_deg", "lon_deg", "alt_ft", "gs_kt")])
    names = ("Lat", "Lng", "Alt", "Speed")
    rows = [
        {"Timestamp": round((begun + t) * factor), **dict(zip(names, v, strict=True))}
        for t, v in zip(MADE.time_s, values.tolist(), strict=True)
    ]
    flight = read_flight(save(tmp_path, "\n".join(map(json.dumps, rows)) + "\n", "x.log"))
    np.testing.assert_allclose(flight.time_s - flight.time_s[0], MADE.time_s, atol=1e-3)


def test_a_count_in_microseconds_of_fast_rows_is_told_by_the_positions(tmp_path: Path) -> None:
    """Rows 50,000 apart: 50 s if they were milliseconds, and no aircraft would be so slow."""
    fast = lesson(600.0, 20.0)
    text = table(fast, PLAIN, times=[f"{1e6 * (60.0 + t):.0f}" for t in fast.time_s], time_names="Timestamp")
    assert read_flight(save(tmp_path, text)).time_s[-1] == pytest.approx(fast.time_s[-1], abs=0.1)


def test_a_word_that_most_names_share_says_nothing_even_where_it_is_known() -> None:
    names = [
        "locLatitude(WGS84)",
        "locLongitude(WGS84)",
        "locAltitude(m)",
        "locEllipsoidalAltitude(m)",
        "locSpeed(m/s)",
    ]
    found = [understand(n, "", common_words(names)) for n in names]
    assert [f.quantity if f else "" for f in found] == ["latitude", "longitude", "altitude", "", "speed"]
    plain = understand("local time", "", common_words(["lat", "lon", "alt", "local time"]))
    assert plain is not None
    assert plain.quantity == "local_time"


@pytest.mark.parametrize(
    ("name", "quantity"),
    [("alt (1013)", "pressure_altitude"), ("height 1013 hPa (ft)", "pressure_altitude"), ("altitude (ft)", "altitude"),
     ("static_hPa", "static_pressure"), ("outside (C)", "outside_temperature"), ("outside", "outside_temperature")],
)  # fmt: skip
def test_a_datum_and_a_unit_tell_what_it_is(name: str, quantity: str) -> None:
    found = understand(name)
    assert found is not None
    assert found.quantity == quantity


def test_a_selected_setting_is_the_setting_and_the_transponder_still_sends_pressure_altitude(tmp_path: Path) -> None:
    columns = {**PLACE, "alt_baro": ("alt_ft", 0), "gs": ("gs_kt", 1), "track": ("trk_deg", 1)}
    lines = table(MADE, columns, times=clocks("epoch", 0.0), time_names="ts").splitlines()
    text = "\n".join(line + (",4a0b0c,1003.2" if k else ",hex,nav_qnh") for k, line in enumerate(lines)) + "\n"
    flight = read_flight(save(tmp_path, text))
    np.testing.assert_allclose(flight["pressure_altitude_m"][20:-20], MADE.altitude_m[20:-20], atol=0.5 * 25.0 * FT)
    np.testing.assert_allclose(flight["setting_pa"], 100_320.0)
    lower = float(pressure_altitude_from_setting_m(0.0, 100_320.0))
    np.testing.assert_allclose(flight["indicated_altitude_m"], flight["pressure_altitude_m"] - lower, atol=2.0)


def test_what_an_attribute_says_of_a_value_belongs_to_its_name(tmp_path: Path) -> None:
    rows = zip(*(GET[k](MADE) for k in ("lat_deg", "lon_deg", "alt_ft", "hdg_deg")), MADE.time_s, strict=True)
    points = (
        f'<p t="{stamp(START_UTC_S + t)}" lat="{a:.7f}" lon="{o:.7f}"><h unit="ft" ref="1013">{h:.0f}</h>'
        f'<hdg ref="true">{d:.0f}</hdg></p>'
        for a, o, h, d, t in rows
    )
    flight = read_flight(save(tmp_path, f"<log>{''.join(points)}</log>", "x.xml"))
    assert "heading_rad" in flight.columns
    np.testing.assert_allclose(flight["pressure_altitude_m"][20:-20], MADE.altitude_m[20:-20], atol=2.0)


@pytest.mark.usefixtures("all_sought")
@pytest.mark.parametrize(
    ("heading", "off_deg", "wind_kt", "kept"),
    [
        ("trk_deg", 0.0, 20.0, False),
        ("hdg_deg", 0.0, 20.0, True),
        ("hdg_deg", -9.0, 20.0, True),
        ("trk_deg", 0.0, 0.0, True),
    ],
)
def test_a_heading_that_keeps_to_the_track_in_wind_is_none(
    tmp_path: Path, heading: str, off_deg: float, wind_kt: float, kept: bool
) -> None:
    """Without wind they are one, and nothing is said against it; a compass is off by the variation throughout."""
    made = lesson(1_500.0, 1.0, wind_kt=wind_kt)
    GET["turned_deg"] = lambda m: (GET[heading](m) + off_deg) % 360.0
    names = {**PLAIN, "TAS (kt)": ("tas_kt", 1), "Track (deg)": ("trk_deg", 0)}
    text = table(made, {**names, "Magnetic Heading" if off_deg else "True Heading": ("turned_deg", 0)})
    flight = read_flight(save(tmp_path, text))
    assert any("track over the ground again" in m.what for m in flight.mends) is not kept


@pytest.mark.parametrize(
    ("column", "start", "ahead_h"),
    [
        ("Time", "Start: 2026-07-19 10:03:20 UTC+2", 2),
        ("ELAPSED", "Start: 2026-07-19 10:03:20 UTC-5", -5),
        ("Time", '"Start","2026-07-19T10:03:20+02:00"', 2),
        ("ZEIT", '"Beginn","19.07.2026 10:03:20","MESZ"', 2),
        ("ELAPSED", "Start: 2026-07-19 10:03:20Z", 0),
        ("ZEIT", "Start: 2026-07-19 10:03:20", 0),
    ],
)
def test_the_zone_of_a_start_is_taken_off_once(tmp_path: Path, column: str, start: str, ahead_h: float) -> None:
    """0:00:00 below it counts, whatever the column is called. ISO 8601: Z and offsets."""
    times = [f"{int(t) // 3600}:{int(t) // 60 % 60:02d}:{int(t) % 60:02d}" for t in MADE.time_s]
    shown = {name: said for name, said in PLAIN.items() if name not in PLACE}  # MESZ isn't the place's
    text = table(MADE, shown, times=times, time_names=column, before=f"{start}\n")
    begun = datetime(2026, 7, 19, 10, 3, 20, tzinfo=UTC) - timedelta(hours=ahead_h)
    assert read_flight(save(tmp_path, text)).start_utc_s == begun.timestamp()


@pytest.mark.parametrize("said", ["", " UTC+2"])
@pytest.mark.parametrize("ahead_h", [2, -5, 0])
def test_the_zone_the_user_names_for_a_count_is_the_starts(tmp_path: Path, ahead_h: int, said: str) -> None:
    """The answer to the question that a start without a zone leaves; it wins over words."""
    times = [f"{int(t) // 3600}:{int(t) // 60 % 60:02d}:{int(t) % 60:02d}" for t in MADE.time_s]
    text = table(MADE, PLAIN, times=times, time_names="Time", before=f"Start: 2026-07-19 10:03:20{said}\n")
    path = save(tmp_path, text)
    assert main(["recording", "map", str(path), "--set", f"Time=local_time:UTC{ahead_h:+d}"]) == 0
    flight = read_flight(path)
    begun = datetime(2026, 7, 19, 10, 3, 20, tzinfo=UTC) - timedelta(hours=ahead_h)
    assert flight.start_utc_s == begun.timestamp()


def test_a_clock_below_a_start_at_its_own_hour_stays_a_clock(tmp_path: Path) -> None:
    """It begins with the start, in the same zone: no count."""
    text = table(
        MADE, PLAIN, times=clocks("%H:%M:%S", 2.0), time_names="Time",
        before=f"Start: {clocks('%Y-%m-%d %H:%M:%S', 2.0)[0]} UTC+2\n",
    )  # fmt: skip
    assert read_flight(save(tmp_path, text)).start_utc_s == START_UTC_S


def test_a_paths_last_step_names_seconds_elapsed_and_nothing_else() -> None:
    found = understand("state/clock/elapsed_sec")
    assert found is not None
    assert (found.quantity, found.units[0].name) == ("elapsed", "s")
    assert understand("wing/tip/altitude_ft") is None


def test_a_clock_in_hours_beside_a_count_of_seconds_is_one(tmp_path: Path) -> None:
    """An hour is 3,600 of what counts on beside it; alone such a number is a count of seconds."""
    hours = 10.2 + (MADE.time_s - MADE.time_s[0]) / 3_600.0
    rows = [
        f"{h:.5f},{t + 741.0:.3f},{np.degrees(a):.7f},{np.degrees(b):.7f},{z / FT:.0f}"
        for h, t, a, b, z in zip(
            hours, MADE.time_s, MADE.latitude_rad, MADE.longitude_rad, MADE.altitude_m, strict=True
        )
    ]
    flight = read_flight(save(tmp_path, "\n".join(["_zulu_time,_ran__time,__lat__deg,__lon__deg,alt_ft", *rows])))
    assert flight.time_s[-1] - flight.time_s[0] == pytest.approx(MADE.time_s[-1] - MADE.time_s[0], abs=0.01)
    assert flight.source["time_columns"] == ["_zulu_time", "_ran__time"]
    assert float(np.nanmedian(flight["groundspeed_mps"])) == pytest.approx(np.median(MADE.groundspeed_mps), rel=0.05)


def test_a_count_of_milliseconds_steps_where_the_clock_beside_it_has_whole_seconds(tmp_path: Path) -> None:
    """Ten rows a second, cut from the middle of one; the clock alone would spread them another way."""
    t = np.arange(3, 60) * 0.1
    rows = [
        f"{1_252_000 + round(1000 * x)},{stamp(np.floor(START_UTC_S + x), 0)[:19].replace('T', ' ')},"
        f"{40.0 + 3e-5 * x:.7f},-105,{900 + x:.1f}"
        for x in t
    ]
    flight = read_flight(save(tmp_path, "\n".join(["time(millisecond),datetime(utc),lat,lon,alt_ft", *rows])))
    assert flight.start_utc_s == pytest.approx(START_UTC_S + t[0], abs=0.11)
    assert np.diff(flight.time_s) == pytest.approx(0.1, abs=1e-3)


@pytest.mark.parametrize(("kt", "feet"), [(505.0, 37_100.0), (95.0, 371.0)])
def test_as_fast_as_a_jet_and_371_high_is_a_level_of_hundreds(kt: float, feet: float, tmp_path: Path) -> None:
    """Nothing flies 505 kt below 10,000 ft (250 kt, 14 CFR 91.117); a light airplane may be 371 ft or m high."""
    t = np.arange(16) * 30.0
    lon = 108.0 + np.degrees(kt * 1852.0 / 3600.0 * t / (6_371_000.0 * np.cos(np.radians(40.0))))
    rows = [
        {"altitude": 371, "groundspeed": round(kt), "heading": 90, "latitude": 40.0, "longitude": round(x, 5),
         "timestamp": stamp(START_UTC_S + s, 0)}
        for s, x in zip(t, lon, strict=True)
    ]  # fmt: skip
    flight = read_flight(save(tmp_path, json.dumps({"positions": rows}), "track.json"))
    name = "pressure_altitude_m" if feet > 1e4 else "gps_altitude_m"
    assert flight.columns[name].known == "measured"
    assert float(np.median(flight[name])) in (pytest.approx(feet * FT, abs=1.0), *((371.0,) if feet < 1e4 else ()))


@pytest.mark.parametrize(
    ("source", "kind"), [("Network ADS-B (south)", "pressure_altitude_m"), ("Handset", "gps_altitude_m")]
)
def test_rows_whose_source_is_named_adsb_tell_pressure_altitude(source: str, kind: str, tmp_path: Path) -> None:
    at = range(0, MADE.time_s.size, 10)
    rise = np.gradient(MADE.altitude_m, MADE.time_s)
    rows = [
        f"{stamp(START_UTC_S + MADE.time_s[k], 0)},{np.degrees(MADE.latitude_rad[k]):.4f},"
        f"{np.degrees(MADE.longitude_rad[k]):.4f},{MADE.altitude_m[k] / FT:.0f},{60.0 * rise[k] / FT:.0f},{source}"
        for k in at
    ]
    flight = read_flight(save(tmp_path, "\n".join(["timestamp,lat,lon,altft,climbft,origin", *rows])))
    assert flight.columns[kind].known == "measured"
    assert flight.columns["vertical_speed_mps"].known == "measured"
    assert float(np.nanmax(flight["vertical_speed_mps"])) == pytest.approx(float(np.max(rise)), rel=0.3)


def test_an_engine_in_a_name_is_no_pressure_in_inches() -> None:
    assert understand("thro1engin") is None
    found = understand("MAP (in)")
    assert found is not None
    assert found.quantity == "manifold_pressure"


@pytest.mark.parametrize(("begins", "asks"), [(START_UTC_S - 978_307_200.0, True), (START_UTC_S, False)])
def test_seconds_since_2001_may_be_since_2000_and_are_asked(begins: float, asks: bool, tmp_path: Path) -> None:
    """2001-01-01 is 978,307,200 s after 1970; a year between them is 366 days. A name that says its day settles it."""

    def read(name: str) -> Flight:
        cells = zip(MADE.time_s, MADE.latitude_rad, MADE.longitude_rad, MADE.altitude_m, strict=True)
        rows = [f"{begins + t:.1f},{np.degrees(a):.7f},{np.degrees(b):.7f},{h:.1f}" for t, a, b, h in cells]
        return read_flight(save(tmp_path, "\n".join([f"{name},lat,lon,alt (m)", *rows])))

    flight = read("time")
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=1.0)
    assert any(m.asks and "2001 or from 2000" in m.what for m in flight.mends) == asks
    if asks:
        earlier = read("time (s since 2000-01-01)")
        assert earlier.start_utc_s == pytest.approx(START_UTC_S - 366.0 * 86_400.0, abs=1.0)
        assert not any(m.asks for m in earlier.mends)


@pytest.mark.parametrize("twin", [True, False])
def test_a_unit_that_a_twin_column_bears_out_is_not_overruled(twin: bool, tmp_path: Path) -> None:
    """A fall of 55 m/s fits feet better than meters, by how aircraft sink; the same heights stand there in feet."""
    t = np.arange(200) * 0.5
    high = np.interp(t, [0.0, 2.0, 60.0, 100.0], [4254.0, 4250.0, 1060.0, 850.0])
    head, rows = "Time(s),Altitude(m)", [f"{a:.2f},{h:.0f}" for a, h in zip(t, high, strict=True)]
    if twin:
        head, rows = f"{head},Altitude(ft)", [f"{r},{h / FT:.0f}" for r, h in zip(rows, high, strict=True)]
    flight = read_flight(save(tmp_path, "\n".join([head, *rows])))
    assert (float(np.max(flight["gps_altitude_m"])) == pytest.approx(4254.0)) == twin


@pytest.mark.parametrize("kmh", [False, True])
def test_five_seconds_of_way_tell_the_airspeed_and_the_fall_the_height(kmh: bool, tmp_path: Path) -> None:
    """Down at 3,200 fpm and 110 kt, names without units: read as meters it would fall at 10,500 fpm, as km/h 60 kt
    through no wind that is told. In km/h and meters either height fits, and is asked for."""
    t = np.arange(18) * 0.3
    lat = 34.15 + np.degrees(110.0 * 1852.0 / 3600.0 * t / 6_371_000.0)
    scale, foot = (1.852, FT) if kmh else (1.0, 1.0)
    rows = [
        f"{a:.2f},{(2305.0 - 3200.0 / 60.0 * a) * foot:.3f},{(114.0 + 0.2 * a) * scale:.3f},{b:.7f},-118.3673517"
        for a, b in zip(t, lat, strict=True)
    ]
    flight = read_flight(save(tmp_path, "\n".join(["Time,Altitude,Airspeed_Indicated,Latitude,Longitude", *rows])))
    assert float(np.median(flight["ias_mps"])) == pytest.approx(114.5 * 1852.0 / 3600.0, rel=0.01)
    falls = float(np.nanmedian(flight["vertical_speed_mps"]))
    assert falls == pytest.approx(-3200.0 / 60.0 * FT, rel=0.05) or any(kmh and m.asks for m in flight.mends)


def test_a_speed_that_is_nought_in_most_rows_is_no_damage(tmp_path: Path) -> None:
    """A dozen rows over two hundred meters, the speed lost in most of them: read, the speed's unit open."""
    rows = [f"{2 * k},{47.0 + 5e-4 * k:.5f},9.00000,{500 + k},{60.0 if k % 3 == 0 else 0.0}" for k in range(12)]
    assert len(read_flight(save(tmp_path, "\n".join(["seconds,lat,lon,alt,velocity", *rows])))) == 12
