"""Units, heights and angles as real recordings have them: each a case some file was read wrongly by."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from airwork.cli import main
from airwork.recording import read_flight
from airwork.recording.names import understand
from recording.causes import MADE, PLAIN, POSITIONS, N, put, said
from recording.made_flight import START_UTC_S, stamp
from recording.writing import DEG, GET, save, table

pytestmark = pytest.mark.usefixtures("columns_alone")


def test_power_as_a_fraction_is_no_percent(tmp_path: Path) -> None:
    share = np.clip(0.07 + GET["gs_kt"](MADE) / 120.0, 0.0, 1.0)
    flight = read_flight(save(tmp_path, table(MADE, {**PLAIN, "E1 %Pwr": (put("x_pwr", share), 2)})))
    assert np.nanmax(flight["power_ratio"]) == pytest.approx(np.max(share), abs=0.01)


def test_the_hottest_and_the_difference_are_no_cylinders(tmp_path: Path) -> None:
    names = {f"EGT{k};*F": (put(f"x_egt{k}", np.full(N, 1_300.0 + k)), 0) for k in range(1, 5)}
    names |= {"EGT-D:;*F": (put("x_d", np.full(N, 1_500.0)), 0)}
    flight = read_flight(save(tmp_path, table(MADE, {**PLAIN, **names}).replace(";*F", " (F)")))
    assert "4 cylinders" in flight.columns["egt_k"].note


def test_a_temperature_no_air_has_is_set_aside(tmp_path: Path) -> None:
    flight = read_flight(save(tmp_path, table(MADE, {**PLAIN, "oat": (put("x_oat", np.full(N, -46.0)), 0)})))
    assert "oat_k" not in flight.columns
    assert "below standard" in said(flight)


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


def test_a_speed_alone_is_asked_for(tmp_path: Path) -> None:
    names = {"altitude (ft)": ("alt_ft", 0), "speed_kmph": ("gs_kmh", 1), "gyroscope_pitch": ("bank_rad", 3)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert any(m.asks and "speed_kmph=ground_speed:km/h" in m.what for m in flight.mends)
    assert "pitch_rad" not in flight.columns


def test_headings_below_nought_are_shown_within_a_circle(tmp_path: Path) -> None:
    signed = np.mod(GET["hdg_deg"](MADE) + 180.0, 360.0) - 180.0
    flight = read_flight(save(tmp_path, table(MADE, {**PLAIN, "true heading (deg)": (put("x_s", signed), 1)})))
    assert np.nanmin(flight["heading_rad"]) >= 0.0


@pytest.mark.parametrize("line", ["# qnh_hPa: 1003.2", "qnh_hPa,1003.2", "baro_inHg: 29.62"])
def test_a_setting_whose_unit_is_part_of_its_name_is_the_altimeters(tmp_path: Path, line: str) -> None:
    flight = read_flight(save(tmp_path, table(MADE, {**PLAIN, "ias_kt": ("ias_kt", 1)}, before=f"{line}\n")))
    assert flight["setting_pa"][0] == pytest.approx(100_320.0, abs=40.0)


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


@pytest.mark.parametrize(
    ("name", "quantity", "unit"),
    [("height_ft_agl", "height_above_ground", "ft"), ("pitch_att_deg", "pitch", "deg"),
     ("alt_m_gps", "gps_altitude", "m"), ("alt_msl_ft", "altitude", "ft")],
)  # fmt: skip
def test_a_unit_amid_the_name(name: str, quantity: str, unit: str) -> None:
    meaning = understand(name)
    assert meaning is not None
    assert (meaning.quantity, meaning.units[0].name) == (quantity, unit)


@pytest.mark.parametrize(("number", "unit"), [(100.0, 1852.0 / 3600.0), (185.2, 1.0 / 3.6), (51.4, 1.0)])
def test_the_whole_way_of_a_few_seconds_tells_an_airspeeds_unit(tmp_path: Path, number: float, unit: float) -> None:
    """Six seconds at 51.4 m/s; the altitude, of no unit either, goes with its family."""
    rows = [
        f"{s:.2f},{45.0 + np.degrees(51.44 * s / 6.371e6):.7f},8.0,{2_300.0 - s:.1f},{number + 0.03 * s:.2f}"
        for s in np.arange(18) / 3.0
    ]
    head = "seconds,lat,lon,altitude,true airspeed\n"
    flight = read_flight(save(tmp_path, head + "\n".join(rows) + "\n"))
    assert float(np.median(flight["tas_mps"])) == pytest.approx(number * unit, rel=0.01)
    assert (float(flight["altitude_m"][0]) < 1_000.0) == (number == 100.0)


@pytest.mark.parametrize("turned", [False, True])
def test_degrees_under_each_others_axis_lie_where_aerodromes_are(tmp_path: Path, turned: bool) -> None:
    """71° south, 42° east is the coast of Antarctica; turned it is Massachusetts."""
    place = [42.47 + 0.0004 * np.arange(60), -71.29 + 0.0003 * np.arange(60)]
    north, east = place[::-1] if turned else place
    rows = [f"{k},{e:.5f},{n:.5f},{900 + k}" for k, (e, n) in enumerate(zip(east, north, strict=True))]
    flight = read_flight(save(tmp_path, "time (s),xEast (m),yNorth (m),zUp (m)\n" + "\n".join(rows) + "\n"))
    assert np.degrees(float(flight["latitude_rad"][0])) == pytest.approx(42.47, abs=0.01)
    assert float(flight["altitude_m"][0]) == pytest.approx(900.0, abs=1.0)
