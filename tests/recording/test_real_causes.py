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
from airwork.recording.names import understand
from recording.causes import ISO, MADE, PLAIN, POSITIONS, N, put, said
from recording.made_flight import START_UTC_S, stamp
from recording.writing import DEG, GET, save, table

pytestmark = pytest.mark.usefixtures("no_wind_sought")


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


def test_power_as_a_fraction_is_no_percent(tmp_path: Path) -> None:
    share = np.clip(0.07 + GET["gs_kt"](MADE) / 120.0, 0.0, 1.0)
    flight = read_flight(save(tmp_path, table(MADE, {**PLAIN, "E1 %Pwr": (put("x_pwr", share), 2)})))
    assert np.nanmax(flight["power_ratio"]) == pytest.approx(np.max(share), abs=0.01)


def test_the_hottest_and_the_difference_are_no_cylinders(tmp_path: Path) -> None:
    names = {f"EGT{k};*F": (put(f"x_egt{k}", np.full(N, 1_300.0 + k)), 0) for k in range(1, 5)}
    names |= {"EGT-D:;*F": (put("x_d", np.full(N, 1_500.0)), 0)}
    flight = read_flight(save(tmp_path, table(MADE, {**PLAIN, **names}).replace(";*F", " (F)")))
    assert "4 cylinders" in flight.columns["egt_k"].note


def test_hour_minute_and_second_without_a_day_are_a_clock(tmp_path: Path) -> None:
    moments = [datetime.fromtimestamp(START_UTC_S + t, UTC) for t in MADE.time_s]
    times = [f"{m.hour},{m.minute},{m.second},0,0,0" for m in moments]
    names = "zulu hour,zulu min,zulu sec,zulu day,zulu mo,zulu year"
    flight = read_flight(save(tmp_path, table(MADE, PLAIN, times=times, time_names=names)))
    assert flight.time_s[-1] == pytest.approx(MADE.time_s[-1], abs=0.01)
    assert not np.isfinite(flight.start_utc_s)


def test_a_temperature_no_air_has_is_set_aside(tmp_path: Path) -> None:
    flight = read_flight(save(tmp_path, table(MADE, {**PLAIN, "oat": (put("x_oat", np.full(N, -46.0)), 0)})))
    assert "oat_k" not in flight.columns
    assert "below standard" in said(flight)


def test_a_heading_that_holds_one_number_in_turns_is_set_aside_without_positions(tmp_path: Path) -> None:
    rate = np.gradient(np.unwrap(MADE.heading_rad)) * DEG
    names = {"altitude (ft)": ("alt_ft", 0), "ias_kt": ("ias_kt", 1), "turn rate (deg/s)": (put("x_rate", rate), 2),
             "heading": (put("x_h", np.full(N, 44.125)), 3)}  # fmt: skip
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert "one number throughout" in said(flight)


def test_an_attitude_that_no_airplane_holds_is_in_degrees(tmp_path: Path) -> None:
    """Parked: pitch -0.79, roll -0.16."""
    rows = [f"{stamp(START_UTC_S + k)},-23.4,-46.4,2460,-0.79{k % 3},-0.16{k % 3}" for k in range(8)]
    flight = read_flight(
        save(tmp_path, "timestamp,latitude,longitude,altitude_ft,pitch,roll\n" + "\n".join(rows) + "\n")
    )
    assert np.degrees(flight["pitch_rad"]) == pytest.approx(-0.79, abs=0.02)
    assert np.degrees(flight["bank_rad"]) == pytest.approx(-0.16, abs=0.02)


@pytest.mark.parametrize(("track", "named"), [("TRK (deg)", False), ("TRK MAG (deg)", True)])
def test_track_and_heading_both_magnetic_are_both_made_true(tmp_path: Path, track: str, named: bool) -> None:
    """Near Denver's meridian the variation is some 4 to 8° east ([WMM], as the project's own model has it)."""
    from airwork.recording.variation import variation_about_rad

    variation = variation_about_rad(MADE.latitude_rad[0], np.radians(-120.0), START_UTC_S)
    assert variation is not None
    names = {**PLAIN, "lon": (put("x_west", GET["lon_deg"](MADE) - 20.0), 7)}
    for title, key in ((track, "trk_deg"), ("HDG", "hdg_deg")):
        names[title] = (put(f"x_{key}", np.mod(GET[key](MADE) - variation * DEG, 360.0)), 1)
    flight = read_flight(save(tmp_path, table(MADE, names)))
    moving = flight["groundspeed_mps"] > 20.0
    for column, truth in (("track_rad", MADE.track_rad), ("heading_rad", MADE.heading_rad)):
        off = np.degrees(np.angle(np.exp(1j * (flight[column] - truth))))[moving]
        assert abs(np.median(off)) < 0.5
    assert ("it is magnetic" in said(flight)) != named


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


@pytest.mark.parametrize(
    ("month", "value_f", "unit", "asks"),
    [(1, 28.0, "°F", False), (7, 82.0, "°F", False), (7, 25.0, "°C", False), (4, 31.0, "°C", True)],
)
def test_a_temperature_without_a_unit_is_held_against_the_season(
    tmp_path: Path, month: int, value_f: float, unit: str, asks: bool
) -> None:
    """40° N, 3,000 ft: a rough climate (common practice, no source)."""
    day = datetime(2026, month, 15, 18, tzinfo=UTC).timestamp()
    times = [stamp(day + t) for t in MADE.time_s]
    flight = read_flight(
        save(
            tmp_path,
            table(MADE, {**PLAIN, "oat": (put("x_t", np.full(N, value_f) + np.arange(N) % 2), 0)}, times=times),
        )
    )
    taken = next(u["unit"] for u in flight.source["understood"] if u["column"] == "oat")
    assert taken == unit
    assert any(m.asks and "oat" in m.what for m in flight.mends) == asks


def test_a_static_pressure_is_no_altimeter_setting(tmp_path: Path) -> None:
    names = {**PLAIN, "BARO_Press_hPa": (put("x_p", np.full(N, 784.6)), 1)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert "setting_pa" not in flight.columns


def test_what_names_and_a_mapping_say_is_not_turned_over(tmp_path: Path) -> None:
    """Positions that a recorded speed contradicts; a vertical speed against the altitude; each settled by the user."""
    east = np.cumsum(np.hypot(np.gradient(GET["lat_deg"](MADE)), np.gradient(GET["lon_deg"](MADE))))
    names = {"latitude": (put("x_lat", 44.6 + east), 6), "longitude": (put("x_lon", 10.9 + 0.2 * east), 6),
             "altitude (ft)": ("alt_ft", 0), "spd": ("gs_mps", 1),
             "V": (put("x_vs", -GET["vs_fpm"](MADE)), 0)}  # fmt: skip
    path = save(tmp_path, table(MADE, names))
    mapping = tmp_path / "recording-layouts.toml"
    assert main(["recording", "map", str(path), "--set", "V=vertical_speed:fpm", "--set", "spd=ground_speed:km/h"]) == 0
    assert mapping.exists()
    flight = read_flight(path)
    assert np.degrees(flight["latitude_rad"][0]) == pytest.approx(44.6, abs=0.01)
    assert "turned over" not in said(flight)
    units = {u["column"]: u["unit"] for u in flight.source["understood"]}
    assert units["spd"] == "km/h"


def test_a_vertical_speed_is_not_turned_over_in_a_take_off_roll(tmp_path: Path) -> None:
    """Static pressure swings with the power: down while it rolls."""
    rolling = int(np.argmax(MADE.groundspeed_mps > 3.0))
    height = GET["alt_ft"](MADE) - np.clip(np.arange(N) - rolling, 0, 20)
    names = {**POSITIONS, "AltInd (ft)": (put("x_alt", height), 1), "IAS (kt)": ("ias_kt", 1),
             "VSpd (fpm)": (put("x_vs", np.abs(np.gradient(height)) * 60.0), 0)}  # fmt: skip
    head, *rows = table(MADE, names).splitlines()
    flight = read_flight(save(tmp_path, "\n".join([head, *rows[rolling - 5 : rolling + 26]]) + "\n"))
    assert "turned over" not in said(flight)


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
    [("%d/%m/%Y %H:%M:%S-07", -7.0), ("%Y-%m-%dT%H:%M:%S+02", 2.0), ("%d/%m/%Y %H:%M:%S +0530", 5.5)],
)
def test_an_offset_in_the_stamp_is_its_zone(tmp_path: Path, form: str, ahead_h: float) -> None:
    times = [datetime.fromtimestamp(START_UTC_S + 3_600.0 * ahead_h + t, UTC).strftime(form) for t in MADE.time_s]
    flight = read_flight(save(tmp_path, table(MADE, PLAIN, times=times)))
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=1.0)
    assert not any(m.asks and "zone" in m.what for m in flight.mends)


def test_a_speed_alone_is_asked_for(tmp_path: Path) -> None:
    names = {"altitude (ft)": ("alt_ft", 0), "speed_kmph": ("gs_kmh", 1), "gyroscope_pitch": ("bank_rad", 3)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert any(m.asks and "speed_kmph=ground_speed:km/h" in m.what for m in flight.mends)
    assert "pitch_rad" not in flight.columns


def test_headings_below_nought_are_shown_within_a_circle(tmp_path: Path) -> None:
    signed = np.mod(GET["hdg_deg"](MADE) + 180.0, 360.0) - 180.0
    flight = read_flight(save(tmp_path, table(MADE, {**PLAIN, "true heading (deg)": (put("x_s", signed), 1)})))
    assert np.nanmin(flight["heading_rad"]) >= 0.0


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


@pytest.mark.parametrize("line", ["# qnh_hPa: 1003.2", "qnh_hPa,1003.2", "baro_inHg: 29.62"])
def test_a_setting_whose_unit_is_part_of_its_name_is_the_altimeters(tmp_path: Path, line: str) -> None:
    flight = read_flight(save(tmp_path, table(MADE, {**PLAIN, "ias_kt": ("ias_kt", 1)}, before=f"{line}\n")))
    assert flight["setting_pa"][0] == pytest.approx(100_320.0, abs=40.0)


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


@pytest.mark.parametrize(
    ("name", "written", "meant_deg"),
    [("MagVar", 2.4, 2.4), ("MagVar", 0.9, 0.9), ("MagVar", 0.0628, 3.6), ("MagVar (rad)", 0.035, 2.0)],
)
def test_a_variation_no_place_has_in_radians_is_in_degrees(
    tmp_path: Path, name: str, written: float, meant_deg: float
) -> None:
    """2.4 rad is 138°. What both may be (0.0628 rad, 3.6°, or 0.0628°) is told by the magnetic model: 4° in Kansas."""
    magnetic = np.mod(GET["hdg_deg"](MADE) - meant_deg, 360.0)
    names = {
        **PLAIN,
        "magnetic heading (deg)": (put("x_hdg", magnetic), 1),
        name: (put("x_var", np.full(N, written)), 4),
    }
    flight = read_flight(save(tmp_path, table(MADE, names)))
    off = np.angle(np.exp(1j * (flight["heading_rad"] - GET["hdg_rad"](MADE))))
    assert np.degrees(np.abs(off)).max() < 0.1


def test_a_small_variation_where_nothing_tells_the_place_is_in_degrees(tmp_path: Path) -> None:
    names = {"altitude (ft)": ("alt_ft", 0), "IAS (kt)": ("ias_kt", 1), "magnetic heading (deg)": ("hdg_deg", 1),
             "MagVar": (put("x_var", np.full(N, 0.4)), 1)}  # fmt: skip
    flight = read_flight(save(tmp_path, table(MADE, names)))
    off = np.angle(np.exp(1j * (flight["heading_rad"] - GET["hdg_rad"](MADE))))
    assert np.degrees(off) == pytest.approx(0.4, abs=0.1)


COLUMNS = {"lat": "lat_deg", "lon": "lon_deg", "alt_ft": "alt_ft", "gs_kt": "gs_kt"}


@pytest.mark.parametrize(
    ("said", "step_s"),
    [({"interval_s": 2}, 2.0), ({"interval": 1}, 1.0), ({"step": 1.5}, 1.5), ({"dt": 0.5}, 0.5), ({"dt_ms": 500}, 0.5),
     ({"period": "2 s"}, 2.0), ({"rate_hz": 2}, 0.5), ({"sample_rate": "4 Hz"}, 0.25),
     ({"sampleInterval": 1_000}, 1.0)],
)  # fmt: skip
@pytest.mark.parametrize("start", [stamp(START_UTC_S), round(START_UTC_S * 1e3), None])
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


def test_units_behind_a_number_and_clocks_in_seconds_of_the_day(tmp_path: Path) -> None:
    """Each cell is a number of hundreds of feet; liters a minute; a day above the names."""
    hundreds, flow = GET["alt_ft"](MADE) / 100.0, np.full(N, 0.45)
    clock = [f"{63_000 + t:.0f}" for t in MADE.time_s]
    names = {**POSITIONS, "alt [x100 ft]": (put("x_h", hundreds), 2), "fuel flow [l/min]": (put("x_f", flow), 3)}
    text = "Day:\t2026-04-04 (UTC)\n" + table(MADE, names, times=clock, time_names="sec of day", delimiter="\t")
    flight = read_flight(save(tmp_path, text))
    assert flight.start_utc_s == datetime(2026, 4, 4, 17, 30, tzinfo=UTC).timestamp()
    assert flight["altitude_m"] == pytest.approx(MADE.altitude_m, abs=0.5)
    assert flight["fuel_flow_m3ps"] == pytest.approx(0.45e-3 / 60.0)  # 1 L = 1e-3 m³


@pytest.mark.parametrize(
    ("name", "quantity", "factor"),
    [("prop_radsec", "rpm", 1.0), ("oat_dC", "outside_temperature", 0.1), ("pitch_mrad", "pitch", 1e-3),
     ("turn_rate_mdps", "turn_rate", 1e-3 * np.pi / 180.0), ("press_mmHg", "static_pressure", 133.322)],
)  # fmt: skip
def test_prefixes_of_units(name: str, quantity: str, factor: float) -> None:
    """deci, centi, milli by the SI brochure; a millimeter of mercury is 133.322 Pa (NIST SP 811, table of factors)."""
    meaning = understand(name)
    assert meaning is not None
    assert meaning.quantity == quantity
    assert meaning.units[0].factor == pytest.approx(factor, rel=1e-5)


def test_liters_without_a_right_tank_are_all_the_fuel(tmp_path: Path) -> None:
    liters = 80.0 - MADE.time_s / 240.0
    flight = read_flight(save(tmp_path, table(MADE, {**PLAIN, "fuel_l": (put("x_l", liters), 2)})))
    assert flight["fuel_total_m3"] == pytest.approx(liters * 1e-3, abs=1e-5)
    both = {"fuel_l": (put("x_l", liters), 2), "fuel_r": (put("x_r", liters), 2)}
    assert "fuel_left_m3" in read_flight(save(tmp_path, table(MADE, {**PLAIN, **both}))).columns


def test_height_and_speed_of_a_jet_without_positions_are_settled_together(tmp_path: Path) -> None:
    """11,900 and 880 without units are meters and km/h: as feet and tenths of a knot nothing flies so for an hour."""
    t = np.arange(0.0, 7_200.0, 15.0)
    alt = np.interp(t, [0, 300, 1_800, 5_400, 7_000, 7_200], [70, 70, 11_900, 11_900, 60, 60])
    vel = np.interp(t, [0, 200, 300, 1_800, 5_400, 7_000, 7_200], [0, 0, 270, 880, 880, 250, 0])
    rows = [f"{stamp(START_UTC_S + a)},{b:.0f},{c:.0f}" for a, b, c in zip(t, alt, vel, strict=True)]
    flight = read_flight(save(tmp_path, "gpstime,alt,vel\n" + "\n".join(rows) + "\n"))
    assert float(np.max(flight["altitude_m"])) == pytest.approx(11_900.0)
    assert {r["column"]: r["unit"] for r in flight.source["understood"]}["vel"] == "km/h"


def test_a_steady_climb_has_one_unit_in_height_and_rate_and_pressure_tells_it(tmp_path: Path) -> None:
    """52 up in 10 s at 5.2: a unit and the same a second; the pressure falls as in the standard atmosphere (ICAO)."""
    t = np.arange(0.0, 310.0, 10.0)
    alt = 500.0 + 5.25 * t
    hpa = 1013.25 * (1.0 - 0.0065 * alt / 288.15) ** 5.2559
    place = zip(t, 48.5 + t * 6e-5, 11.9 + t * 8e-5, strict=True)
    rest = zip(alt, hpa, 5.2 + 0.1 * (np.arange(t.size) % 3), strict=True)
    rows = [
        f"{s:.0f},{a:.4f},{o:.4f},{h:.0f},{p:.1f},{c:.1f}" for (s, a, o), (h, p, c) in zip(place, rest, strict=True)
    ]
    flight = read_flight(save(tmp_path, "time,lat,lon,alt,pressure,climb\n" + "\n".join(rows) + "\n"))
    assert float(np.max(flight["altitude_m"])) == pytest.approx(alt[-1], abs=1.0)
    assert float(np.median(flight["vertical_speed_mps"])) == pytest.approx(5.3, abs=0.1)


@pytest.mark.parametrize("altitude", ["265.1", "31"])
def test_an_altitude_that_never_changes_has_no_known_unit(tmp_path: Path, altitude: str) -> None:
    rows = [f"{stamp(START_UTC_S + k)},41.9,12.5,{altitude},0.{k % 3}" for k in range(30)]
    flight = read_flight(save(tmp_path, "time,lat,lon,altitude,speed\n" + "\n".join(rows) + "\n"))
    assert any("'altitude' is taken in" in m.what for m in flight.mends)


def test_a_named_unit_that_is_believed_is_no_question(tmp_path: Path) -> None:
    rows = [f"{stamp(START_UTC_S + 60.0 * k)},{11_200 * min(k, 20) / 20:.0f},240" for k in range(60)]
    flight = read_flight(save(tmp_path, "time,altitude_m,velocity_mps\n" + "\n".join(rows) + "\n"))
    assert not any(m.asks and "altitude_m" in m.what for m in flight.mends)


@pytest.mark.parametrize("named", [True, False])
def test_days_and_clocks_in_digits_as_receivers_send_them(tmp_path: Path, named: bool) -> None:
    """ddmmyy and hhmmsscc without their leading zeros: 90817 beside 5465300 is 2017-08-09, 05:46:53.00 (NMEA 0183)."""
    begun = datetime(2017, 8, 9, 5, 46, 49, tzinfo=UTC).timestamp()
    clock = [int(datetime.fromtimestamp(begun + t, UTC).strftime("%H%M%S")) * 100 for t in MADE.time_s]
    lat, lon, alt = GET["lat_deg"](MADE), GET["lon_deg"](MADE), GET["alt_ft"](MADE)
    cells = zip(lat, lon, alt, clock, strict=True)
    rows = [f"{o:.6f},{a:.6f},{h:.1f},90817,{c}" for a, o, h, c in cells]
    head = ["longitude,latitude,altitude,date,time"] if named else []
    flight = read_flight(save(tmp_path, "\n".join([*head, *rows]) + "\n"))
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


@pytest.mark.parametrize(
    ("name", "quantity", "unit"),
    [("height_ft_agl", "height_above_ground", "ft"), ("pitch_att_deg", "pitch", "deg"),
     ("alt_m_gps", "gps_altitude", "m"), ("alt_msl_ft", "altitude", "ft")],
)  # fmt: skip
def test_a_unit_amid_the_name(name: str, quantity: str, unit: str) -> None:
    meaning = understand(name)
    assert meaning is not None
    assert (meaning.quantity, meaning.units[0].name) == (quantity, unit)


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
