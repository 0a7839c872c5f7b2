"""Causes that real files of public repositories showed, in small tables of our own: what was read wrong, now right.

Each was found in a file of another hand; the flight is made here, the fault put into it.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from airwork.cli import main
from airwork.errors import InputError
from airwork.recording import read_flight
from airwork.recording.clock import dates_of_numbers
from recording.causes import ISO, MADE, PLAIN, POSITIONS, N, put, said
from recording.made_flight import START_UTC_S, stamp
from recording.writing import DEG, GET, save, table

pytestmark = pytest.mark.usefixtures("columns_alone")


def every(rows: int, text: str) -> str:
    """The header and each so many-th row."""
    head, *lines = text.splitlines()
    return "\n".join([head, *lines[::rows]]) + "\n"


def test_a_speed_that_forgot_the_cosine_moves_no_places(tmp_path: Path) -> None:
    """51° N, 0° W: made of degrees all alike, the speed agrees with exchanged places."""
    latitude, longitude = GET["lat_deg"](MADE) + 11.5, GET["lon_deg"](MADE) + 99.5
    wrong = np.hypot(np.gradient(latitude), np.gradient(longitude)) * 60.0 * 3_600.0
    names = {"Latitude": (put("x_lat", latitude), 6), "Longitude": (put("x_lon", longitude), 6),
             "AltMSL": ("alt_ft", 0), "GndSpd": (put("x_gs", wrong), 0)}  # fmt: skip
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert np.degrees(np.median(flight["latitude_rad"])) == pytest.approx(np.median(latitude), abs=0.2)
    assert "longitude before latitude" not in said(flight)


@pytest.mark.parametrize("step", [1, 16])
def test_a_heading_that_is_the_track_is_known_at_few_rows(tmp_path: Path, step: int) -> None:
    names = {**PLAIN, "heading": ("trk_deg", 0)}
    text = every(step, table(MADE, names))
    head, *rows = text.splitlines()
    flight = read_flight(save(tmp_path, "\n".join([head, *(rows[400:490] if step == 1 else rows)]) + "\n"))
    assert "heading_mag_rad" not in flight.columns
    assert "never drifts" in said(flight)


@pytest.mark.parametrize("more", [{"TRK": ("trk_deg", 1)}, {"IAS (kt)": ("ias_kt", 1)}])
def test_a_panels_heading_in_light_wind_is_none(tmp_path: Path, more: dict[str, tuple[str, int]]) -> None:
    """Half a minute, two degrees beside the track."""
    names = {**PLAIN, "HDG": (put("x_hdg", np.mod(GET["trk_deg"](MADE) + 1.5, 360.0)), 1), **more}
    head, *rows = table(MADE, names).splitlines()
    flight = read_flight(save(tmp_path, "\n".join([head, *rows[400:430]]) + "\n"))
    assert "never drifts" not in said(flight)
    assert "heading_mag_rad" in flight.columns


def test_a_compass_across_the_track_is_set_aside_in_half_a_minute(tmp_path: Path) -> None:
    names = {**PLAIN, "magnetic heading": (put("x_hdg", np.mod(GET["hdg_deg"](MADE) + 166.0, 360.0)), 0)}
    head, *rows = table(MADE, names).splitlines()
    flight = read_flight(save(tmp_path, "\n".join([head, *rows[120:150]]) + "\n"))
    assert "heading_mag_rad" not in flight.columns
    assert "off the track throughout" in said(flight)


def test_fixes_of_a_circle_at_sixteen_seconds_are_no_spikes(tmp_path: Path) -> None:
    t = np.arange(60) * 16.0
    lat, lon = 49.2 + 0.006 * np.sin(t * 0.11), -122.7 + 0.009 * np.cos(t * 0.11)
    rows = [
        f"{stamp(START_UTC_S + k)},{a:.6f},{o:.6f},{2300 + 40 * np.sin(k / 99):.0f}"
        for k, a, o in zip(t, lat, lon, strict=True)
    ]
    flight = read_flight(save(tmp_path, "time,lat,lon,altitude_ft\n" + "\n".join(rows) + "\n"))
    assert "spikes" not in said(flight)


def test_an_altitude_at_the_sea_all_along_is_doubted(tmp_path: Path) -> None:
    """Hundreds of feet under the name of meters."""
    low = np.round(GET["alt_ft"](MADE) / 100.0) * 0.3
    names = {**POSITIONS, "GS (kt)": ("gs_kt", 1), "alt_m": (put("x", low), 1)}
    flight = read_flight(save(tmp_path, every(16, table(MADE, names))))
    assert "of the sea" in said(flight)


def test_rows_before_the_first_fix_are_no_flight(tmp_path: Path) -> None:
    rows = [f"{stamp(START_UTC_S + 30.0 * k)},{312 + k % 3},{'' if k < 5 else 0.7},{'' if k < 5 else 41.5},"
            f"{'' if k < 5 else -81.2}" for k in range(8)]  # fmt: skip
    flight = read_flight(save(tmp_path, "time,indicated altitude (ft),GndSpd (kt),Lat,Lon\n" + "\n".join(rows) + "\n"))
    assert not flight.contacts


def test_a_take_off_after_a_pause_is_not_before_it(tmp_path: Path) -> None:
    head, *rows = table(MADE, PLAIN).splitlines()
    rolling = int(np.argmax(MADE.groundspeed_mps > 22.0))
    rows = [rows[0].replace(ISO[0], stamp(START_UTC_S - 700.0)), *rows[rolling:]]
    flight = read_flight(save(tmp_path, "\n".join([head, *rows]) + "\n"))
    takeoff = next(c for c in flight.contacts if c.kind == "takeoff")
    assert takeoff.time_s >= 700.0


def test_hour_minute_and_second_without_a_day_are_a_clock(tmp_path: Path) -> None:
    moments = [datetime.fromtimestamp(START_UTC_S + t, UTC) for t in MADE.time_s]
    times = [f"{m.hour},{m.minute},{m.second},0,0,0" for m in moments]
    names = "zulu hour,zulu min,zulu sec,zulu day,zulu mo,zulu year"
    flight = read_flight(save(tmp_path, table(MADE, PLAIN, times=times, time_names=names)))
    assert flight.time_s[-1] == pytest.approx(MADE.time_s[-1], abs=0.01)
    assert not np.isfinite(flight.start_utc_s)


def test_a_heading_that_holds_one_number_in_turns_is_set_aside_without_positions(tmp_path: Path) -> None:
    rate = np.gradient(np.unwrap(MADE.heading_rad)) * DEG
    names = {"altitude (ft)": ("alt_ft", 0), "ias_kt": ("ias_kt", 1), "turn rate (deg/s)": (put("x_rate", rate), 2),
             "heading": (put("x_h", np.full(N, 44.125)), 3)}  # fmt: skip
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert "one number throughout" in said(flight)


def test_lines_that_end_in_a_sentence_are_read_by_it(tmp_path: Path) -> None:
    from functools import reduce
    from operator import xor

    def sentence(k: int) -> str:
        clock = datetime.fromtimestamp(START_UTC_S + k, UTC).strftime("%H%M%S.000")
        body = f"GPGGA,{clock},3852.{5517 + 3 * k:04d},N,07703.3174,W,1,05,3.54,{90 + k},M,-33.5,M,,"
        numbers = "0,0,-0.59,0.32,-0.05,-0.94,0.13,-1.12,0.9183,0.0664,-0.0317,0.3889"
        return f"{numbers},${body}*{reduce(xor, body.encode()):02X}"

    flight = read_flight(save(tmp_path, "\n".join(map(sentence, range(60))) + "\n", "imu.txt"))
    assert flight["gps_altitude_m"][0] == pytest.approx(90.0)


TWO = "".join(
    f"$GPGGA,1039{k:02d}.000,{place},W,1,08,01.2,80.0,M,-34.2,M,,\n"
    for k in range(30)
    for place in ("4523.2250,N,07542.0240", "4523.4000,N,07542.6000")
)
ONCE = {"now": 1.5e9, "aircraft": [{"hex": f"40{k}", "lat": 51.0, "lon": k, "alt_baro": 9_000} for k in range(4)]}
NO_CLOCK = "time,lat,lon,alt_ft\n" + "".join(f",{40 + k / 1e3},{-100},{900 + k}\n" for k in range(40))


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [("two.nmea", TWO, "two receivers"), ("one.json", json.dumps(ONCE), "single moment"),
     ("no_clock.csv", NO_CLOCK, "carry no time")],
)  # fmt: skip
def test_what_cannot_be_known_is_said_in_its_own_words(tmp_path: Path, name: str, text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_flight(save(tmp_path, text, name))


def test_sensors_of_no_known_name_are_named(tmp_path: Path) -> None:
    rows = [
        f"19:{k // 60:02d}:{k % 60:02d},{s},{v}"
        for k in range(60)
        for s, v in (("QQ1", 27.6), ("QQ2", 27.5), ("ZZ", 7503.1))
    ]
    with pytest.raises(InputError, match="QQ1"):
        read_flight(save(tmp_path, "time,sensor,value\n" + "\n".join(rows) + "\n"))


def test_a_receivers_height_that_breaks_is_left_out(tmp_path: Path) -> None:
    broken = GET["alt_m"](MADE).copy()
    broken[140:170] -= 67.0
    broken[175:185] -= 110.0
    flight = read_flight(save(tmp_path, table(MADE, {**POSITIONS, "gps altitude (m)": (put("x_b", broken), 1)})))
    assert "breaks by up to" in said(flight)
    assert np.isnan(flight["altitude_m"][145])
    assert np.nanmin(flight["vertical_speed_mps"]) > -15.0


@pytest.mark.parametrize(
    ("form", "ahead_h"),
    [
        ("%d/%m/%Y %H:%M:%S-07", -7.0),
        ("%Y-%m-%dT%H:%M:%S+02", 2.0),
        ("%d/%m/%Y %H:%M:%S +0530", 5.5),
        ("%d.%m.%Y %H:%M:%S+02:00", 2.0),
    ],
)
def test_an_offset_in_the_stamp_is_its_zone(tmp_path: Path, form: str, ahead_h: float) -> None:
    times = [datetime.fromtimestamp(START_UTC_S + 3_600.0 * ahead_h + t, UTC).strftime(form) for t in MADE.time_s]
    flight = read_flight(save(tmp_path, table(MADE, PLAIN, times=times)))
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=1.0)
    assert not any(m.asks and "zone" in m.what for m in flight.mends)


def test_the_words_a_kml_is_asked_with_settle_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A point's description names a clock without a zone."""
    clock = [datetime.fromtimestamp(START_UTC_S - 3_600.0 * 5 + t, UTC).strftime("%H:%M:%S") for t in MADE.time_s]
    points = "".join(
        f"<Placemark><Point><coordinates>{o:.6f},{a:.6f},{h:.0f}</coordinates></Point><description>Time: {c}"
        f"&lt;br /&gt;Date: 28-05-26&lt;br /&gt;Altitude: {h / 0.3048:.0f} ft</description></Placemark>"
        for a, o, h, c in zip(*(GET[k](MADE) for k in ("lat_deg", "lon_deg", "alt_m")), clock, strict=True)
    )
    path = save(tmp_path, f"<kml><Document>{points}</Document></kml>", "points.kml")
    asked = next(m.what for m in read_flight(path).mends if m.asks)
    assert (
        main(
            [
                "recording",
                "map",
                str(path),
                "--set",
                asked.rpartition("--set ")[2].partition("=")[0] + "=local_time:UTC-5",
            ]
        )
        == 0
    )
    assert read_flight(path).start_utc_s == pytest.approx(START_UTC_S, abs=1.0)


def test_an_extract_of_a_map_is_no_flight(tmp_path: Path) -> None:
    """Numbers of its points count on like seconds since 2001."""
    points = [
        {"type": "node", "id": 506_200_000 + 61 * k, "lat": 34.43 + (k % 7) / 900.0, "lon": 135.24 + k / 5_000.0}
        for k in range(300)
    ]
    with pytest.raises(InputError, match="no column tells the time"):
        read_flight(save(tmp_path, json.dumps({"elements": points}), "map.json"))


@pytest.mark.parametrize("ahead_h", [-5, 10])
@pytest.mark.parametrize("offset", [True, False])
def test_a_clock_in_utc_beside_a_local_day_is_utc(tmp_path: Path, ahead_h: int, *, offset: bool) -> None:
    """UTC midnight and, at 10 h ahead, another day than the place's: by a column of offsets or by the place."""
    begun = datetime(2026, 5, 14, 23, 50, tzinfo=UTC).timestamp()
    east = 0.0 if ahead_h < 0 else 249.5  # Kansas; Queensland's meridian
    names = {"lat": (put("x_lat", GET["lat_deg"](MADE) - (0.0 if ahead_h < 0 else 60.0)), 7),
             "lon": (put("x_lon", GET["lon_deg"](MADE) + east), 7), "GS (kt)": ("gs_kt", 1)}  # fmt: skip
    local = [stamp(begun + t + ahead_h * 3_600.0) for t in MADE.time_s]
    clocks = [stamp(begun + t)[11:19] for t in MADE.time_s]
    sign = f",{ahead_h:+03d}:00" if offset else ""
    times = [f"{there[:10]},{there[11:19]},{utc}{sign}" for there, utc in zip(local, clocks, strict=True)]
    head = "Lcl Date,Lcl Time,UTC Time" + (",UTC Offset" if offset else "")
    flight = read_flight(save(tmp_path, table(MADE, names, times=times, time_names=head)))
    assert flight.start_utc_s == pytest.approx(begun, abs=0.01)
    assert flight.time_s[-1] == pytest.approx(MADE.time_s[-1], abs=0.01)


@pytest.mark.parametrize("first", ["long", "short"])
@pytest.mark.parametrize("best", ["long", "short"])
def test_two_rows_of_names_both_count(tmp_path: Path, first: str, best: str) -> None:
    """The long names tell units and which north; whichever row is understood better, neither is a row of numbers."""
    long = {"Latitude (deg)": ("lat_deg", 7), "Longitude (deg)": ("lon_deg", 7), "Ground Speed (km/h)": ("gs_kmh", 1),
            "Indicated Airspeed (mph)": ("ias_mph", 1), "Baro Altitude (m)": (put("x_alt", MADE.altitude_m), 1),
            "True Heading (deg)": ("hdg_deg", 1), "Fuel Flow (L/hour)": (put("x_ff", np.full(N, 30.0)), 1),
            "Zorg One (rpm)": ("rpm", 0)}  # fmt: skip
    short = f"UTC,Lat,Lon,GndSpd,IAS,AltInd,HDG,FFlow,{'' if best == 'long' else 'RPM'}"
    head, *rows = table(MADE, long, time_names="UTC Date Time").splitlines()
    head = head if best == "long" else head.replace("UTC Date Time", "Zorg Two")
    flight = read_flight(
        save(tmp_path, "\n".join([*((head, short) if first == "long" else (short, head)), *rows]) + "\n")
    )
    assert not [m.what for m in flight.mends if m.asks]
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=0.01)
    assert flight["groundspeed_mps"] == pytest.approx(GET["gs_mps"](MADE), abs=0.02)
    assert flight["ias_mps"] * 3.6 == pytest.approx(GET["ias_kmh"](MADE), abs=0.1)
    assert flight["altitude_m"] == pytest.approx(MADE.altitude_m, abs=0.06)
    assert flight["fuel_flow_m3ps"] == pytest.approx(30.0e-3 / 3_600.0, rel=1e-6)
    assert flight.columns["heading_rad"].known == "measured"
    assert np.abs(np.exp(1j * flight["heading_rad"]) - np.exp(1j * GET["hdg_rad"](MADE))).max() < 0.002


COLUMNS = {"lat": "lat_deg", "lon": "lon_deg", "alt_ft": "alt_ft", "gs_kt": "gs_kt"}


STARTS = (stamp(START_UTC_S), round(START_UTC_S * 1e3), None)


@pytest.mark.parametrize(
    ("said", "step_s", "start"),
    [({"interval_s": 2}, 2.0, STARTS[0]), ({"interval": 1}, 1.0, STARTS[1]), ({"step": 1.5}, 1.5, STARTS[2]),
     ({"dt": 0.5}, 0.5, STARTS[0]), ({"dt_ms": 500}, 0.5, STARTS[1]), ({"period": "2 s"}, 2.0, STARTS[2]),
     ({"rate_hz": 2}, 0.5, STARTS[0]), ({"sample_rate": "4 Hz"}, 0.25, STARTS[1]),
     ({"sampleInterval": 1_000}, 1.0, STARTS[2])],
)  # fmt: skip
def test_columns_with_a_start_and_a_step_have_times(
    tmp_path: Path, said: dict[str, object], step_s: float, start: object
) -> None:
    columns = {name: np.round(GET[key](MADE), 6).tolist() for name, key in COLUMNS.items()}
    text = json.dumps(({} if start is None else {"start": start}) | said | columns)
    flight = read_flight(save(tmp_path, text, "columns.json"))
    assert len(flight) == N
    assert flight.time_s == pytest.approx(step_s * np.arange(N), abs=1e-3)
    assert (flight.start_utc_s == pytest.approx(START_UTC_S, abs=1e-3)) == (start is not None)
    assert "no column tells the time: a row each" in " | ".join(m.what for m in flight.mends)


@pytest.mark.parametrize("form", ["inside", "rows", "table"])
def test_a_start_and_a_step_beside_rows_of_any_form(tmp_path: Path, form: str) -> None:
    columns = {name: np.round(GET[key](MADE), 6).tolist() for name, key in COLUMNS.items()}
    rows = [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]
    about = {"start": stamp(START_UTC_S), "interval_s": 1}
    text = json.dumps({"about": about, "data": columns if form == "inside" else rows})
    if form == "table":
        lines = [f"# start: {about['start']}", "# interval: 1 s", ",".join(columns)]
        text = "\n".join([*lines, *(",".join(map(str, row.values())) for row in rows)]) + "\n"
    flight = read_flight(save(tmp_path, text, "flight.txt"))
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=0.01)
    assert flight.time_s == pytest.approx(np.arange(N), abs=1e-3)


def test_fixes_that_hop_make_no_speed_or_bank(tmp_path: Path) -> None:
    """A filter that lags in turns and catches up at once, by 60 m: nothing flies so; without it nothing is said."""
    banked = np.abs(MADE.bank_rad) > np.radians(15.0)
    lag = np.where(banked, 10.0 * (MADE.time_s % 7.0), 0.0) / 6_371_000.0
    lat = GET["lat_deg"](MADE) - np.degrees(lag * np.cos(MADE.track_rad))
    lon = GET["lon_deg"](MADE) - np.degrees(lag * np.sin(MADE.track_rad) / np.cos(MADE.latitude_rad))
    names = {"lat": (put("x_lat", lat), 7), "lon": (put("x_lon", lon), 7), "altitude (ft)": ("alt_ft", 0)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    plain = read_flight(save(tmp_path, table(MADE, {**POSITIONS, "altitude (ft)": ("alt_ft", 0)}), "plain.csv"))
    assert said(flight).count("positions hop by up to") == 1
    assert "hop" not in said(plain)
    fastest = float(np.max(MADE.groundspeed_mps))
    assert float(np.nanmax(flight["groundspeed_mps"])) < 1.15 * fastest
    for name in ("groundspeed_mps", "bank_rad"):
        assert flight.columns[name].error > 2.0 * plain.columns[name].error  # type: ignore[operator]


def test_far_and_uneven_fixes_have_a_sober_error(tmp_path: Path) -> None:
    """Rows 2 to 40 s apart: what the turns between them hide is no noise of the receiver's."""
    head, *rows = table(MADE, {**POSITIONS, "altitude (ft)": ("alt_ft", 0)}).splitlines()
    at = np.cumsum(2 + (7 * np.arange(120) ** 2) % 39)
    flight = read_flight(save(tmp_path, "\n".join([head, *(rows[k] for k in at if k < N)]) + "\n"))
    assert flight.columns["groundspeed_mps"].error < 3.0  # type: ignore[operator]


def test_what_follows_a_broken_sentence_is_of_no_earlier_moment(tmp_path: Path) -> None:
    """A barometer's height after a moment that was left out for its checksum: not put beside the fix before."""
    from recording.test_formats import nmea, sentence

    lines = nmea()[:60]
    broken = lines[0].replace("*", "9*")
    flight = read_flight(save(tmp_path, "\n".join([*lines, broken, sentence("PGRMZ,1813,f,3"), ""]), "x.nmea"))
    assert flight.columns["pressure_altitude_m"].known == "derived"
    flight = read_flight(save(tmp_path, "\n".join([*lines, sentence("PGRMZ,1813,f,3"), ""]), "y.nmea"))
    assert flight.columns["pressure_altitude_m"].known == "measured"


def test_a_yaw_beside_velocities_north_and_east_is_true(tmp_path: Path) -> None:
    """Half a minute of one course: an attitude system's north is that of its velocities."""
    north, east = MADE.ground_north_mps, MADE.ground_east_mps
    names = {**POSITIONS, "altitude (ft)": ("alt_ft", 0), "vN": (put("x_n", north), 2), "vE": (put("x_e", east), 2),
             "yaw_deg": ("hdg_deg", 2)}  # fmt: skip
    head, *rows = table(MADE, names).splitlines()
    flight = read_flight(save(tmp_path, "\n".join([head, *rows[120:150]]) + "\n"))
    assert flight.columns["heading_rad"].known == "measured"


def test_a_place_written_twice_is_no_clock(tmp_path: Path) -> None:
    """3858.77, a minute of arc north in a minute of time: the seconds beside it count, without any names."""
    n = np.arange(100)
    lat, lon = 38.978 + n * 8.2e-5, -77.54 + n * 4e-7
    minutes = 3800.0 + (lat - 38.0) * 60.0
    rows = [
        f"1,{86_685 + 0.4 * k:.3f},{a:.6f},{o:.6f},{m:.8f}" for k, a, o, m in zip(n, lat, lon, minutes, strict=True)
    ]
    flight = read_flight(save(tmp_path, "\n".join(rows) + "\n"))
    assert flight.time_s[-1] == pytest.approx(39.6)


def test_days_and_clocks_in_digits_as_receivers_send_them(tmp_path: Path) -> None:
    """ddmmyy and hhmmsscc without their leading zeros: 90817 beside 5465300 is 2017-08-09, 05:46:53.00 (NMEA 0183)."""
    begun = datetime(2017, 8, 9, 5, 46, 49, tzinfo=UTC).timestamp()
    clock = [int(datetime.fromtimestamp(begun + t, UTC).strftime("%H%M%S")) * 100 for t in MADE.time_s]
    lat, lon, alt = GET["lat_deg"](MADE), GET["lon_deg"](MADE), GET["alt_ft"](MADE)
    cells = zip(lat, lon, alt, clock, strict=True)
    rows = [f"{o:.6f},{a:.6f},{h:.1f},90817,{c}" for a, o, h, c in cells]
    flight = read_flight(save(tmp_path, "\n".join(["longitude,latitude,altitude,date,time", *rows]) + "\n"))
    assert flight.start_utc_s == begun
    assert flight.time_s[-1] == pytest.approx(MADE.time_s[-1])


def test_six_digits_of_a_day_are_read_in_the_order_in_which_days_follow() -> None:
    assert dates_of_numbers(np.array([260728.0, 260729.0]))[0][1] == datetime(2026, 7, 29, tzinfo=UTC).timestamp()
    assert dates_of_numbers(np.array([301022.0]))[0][0] == datetime(2022, 10, 30, tzinfo=UTC).timestamp()
    assert "read as day, month, year" in dates_of_numbers(np.array([250724.0]))[1]


def test_a_fix_right_behind_another_is_left_out(tmp_path: Path) -> None:
    """Every fortieth place once more 0.1 s later; every fiftieth under the time of the next but 4 ms."""
    head, *rows = table(MADE, {**POSITIONS, "altitude (ft)": ("alt_ft", 0)}).splitlines()
    rows = rows[::3]
    again = [row.replace(row.split(",")[0], stamp(START_UTC_S + 3 * k + 0.1)) for k, row in enumerate(rows)]
    wrong = [row.replace(row.split(",")[0], stamp(START_UTC_S + 3 * k + 2.996, 3)) for k, row in enumerate(rows)]
    out = [
        line
        for k, row in enumerate(rows)
        for line in (row, *([again[k]] if k % 40 == 9 else []), *([wrong[k]] if k % 50 == 9 else []))
    ]
    flight = read_flight(save(tmp_path, "\n".join([head, *out]) + "\n"))
    assert "right behind another" in said(flight)
    assert float(np.nanmax(flight["groundspeed_mps"])) < 1.1 * float(np.max(MADE.groundspeed_mps))


@pytest.mark.parametrize(("factor", "kept"), [(1.0, True), (0.2, False), (-1.0, False)])
def test_a_turn_rate_that_the_heading_contradicts_is_set_aside(tmp_path: Path, factor: float, kept: bool) -> None:
    """ω = g·tan φ/V is how the flight is made; a network's number of half turns a minute isn't in degrees a second."""
    rate = np.degrees(np.gradient(np.unwrap(MADE.heading_rad), MADE.time_s)) * factor
    names = {**PLAIN, "magnetic heading": ("hdg_deg", 0), "turnrate": (put("x_w", rate), 1)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert (flight.columns["turn_rate_radps"].known == "measured") is kept


def test_a_track_of_one_number_on_a_straight_flight_stands(tmp_path: Path) -> None:
    """One fix leaps aside: no turn that the track should have shown."""
    t = np.arange(60.0)
    lat, lon = 41.0 + t * 4e-4, 141.0 + np.where(t == 30.0, 1e-3, 0.0)
    rows = [f"{stamp(START_UTC_S + k)},{a:.5f},{o:.5f},26000,87,0" for k, a, o in zip(t, lat, lon, strict=True)]
    flight = read_flight(save(tmp_path, "time,lat,lon,altitude_ft,GS (kt),track\n" + "\n".join(rows) + "\n"))
    assert flight.columns["track_rad"].known == "measured"


def test_elements_without_one_about_them_are_rows(tmp_path: Path) -> None:
    """A log that grows has no last line yet."""
    cells = zip(MADE.time_s, GET["lat_deg"](MADE), GET["lon_deg"](MADE), GET["alt_m"](MADE), strict=True)
    lines = [f'<fix time="{t:.0f}" lat="{a:.6f}" lon="{o:.6f}" altitude_m="{h:.0f}"/>' for t, a, o, h in cells]
    flight = read_flight(save(tmp_path, "\n".join(lines) + '\n<fix time="15', "log.xml"))
    assert len(flight) == N


@pytest.mark.parametrize("stamped", ["2026-05-28 20:26:{:02d}Z.515", "2026-05-28 20:26:{:02d}.515Z"])
def test_a_stamp_of_utc_is_known_as_such(tmp_path: Path, stamped: str) -> None:
    rows = [f"{stamped.format(k)},{40.0 + k * 4e-4:.5f},-100,5000" for k in range(50)]
    flight = read_flight(save(tmp_path, "network_time,lat,lon,altitude_ft\n" + "\n".join(rows) + "\n"))
    assert not flight.source.get("zone_open")


@pytest.mark.usefixtures("all_sought")
@pytest.mark.parametrize(
    ("sport", "ground"), [("Biking", True), ("Running", True), ("Motorflug", False), ("Other", False)]
)
def test_a_file_that_names_its_sport_is_believed(tmp_path: Path, sport: str, ground: bool) -> None:
    points = "".join(
        f"<Trackpoint><Time>{stamp(START_UTC_S + k)}</Time><AltitudeMeters>161.4</AltitudeMeters><Position>"
        f"<LatitudeDegrees>{41.0 + k * 9e-5:.6f}</LatitudeDegrees><LongitudeDegrees>2.0</LongitudeDegrees></Position>"
        "</Trackpoint>"
        for k in range(90)
    )
    text = (
        "<TrainingCenterDatabase><Activities>"
        f'<Activity Sport="{sport}"><Lap><Track>{points}</Track></Lap></Activity></Activities></TrainingCenterDatabase>'
    )
    flight = read_flight(save(tmp_path, text, "x.tcx"))
    assert ("its file calls it" in str(flight.source.get("drives", ""))) is ground


def test_rows_of_several_aircraft_under_an_id_are_told_apart(tmp_path: Path) -> None:
    rows = [f"{stamp(START_UTC_S + 5 * k)},AC00{k % 3},12000,120" for k in range(60)]
    with pytest.raises(InputError, match="holds 3 aircraft"):
        read_flight(save(tmp_path, "timestamp,aircraft_id,altitude_ft,airspeed_knots\n" + "\n".join(rows) + "\n"))
    one = table(MADE, {**PLAIN, "IAS (kt)": ("ias_kt", 1), "magnetic heading": ("hdg_deg", 0)}).splitlines()
    text = "\n".join([f"{one[0]},aircraft_id", *(f"{row},N1" for row in one[1:])]) + "\n"
    flight = read_flight(save(tmp_path, text, "one.csv"))
    assert flight.columns["heading_mag_rad"].known == "measured"
