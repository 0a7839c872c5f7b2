"""What a short piece doesn't tell is asked for, not guessed: units and directions of level flight, of few rows.

Small tables of our own, a light airplane at 100 kt; no source but the physics beside each.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from airwork.recording import Flight, read_flight
from recording.writing import save

pytestmark = pytest.mark.usefixtures("columns_alone")
KT, FT = 1852.0 / 3600.0, 0.3048
LATITUDE, LONGITUDE = 39.7, -105.0  # the compass points 8° off here


def piece(tmp_path: Path, columns: dict[str, np.ndarray], step_s: float = 1.0, course_deg: float = 70.0) -> Flight:
    """Straight at 100 kt; what else a column holds."""
    n = len(next(iter(columns.values())))
    t = step_s * np.arange(n)
    way = 100.0 * KT * t / 6_371_000.0
    lat = LATITUDE + np.degrees(way * np.cos(np.radians(course_deg)))
    lon = LONGITUDE + np.degrees(way * np.sin(np.radians(course_deg))) / np.cos(np.radians(LATITUDE))
    names = ["seconds", "lat", "lon", *columns]
    cells = [[f"{x:.1f}" for x in t], [f"{x:.7f}" for x in lat], [f"{x:.7f}" for x in lon]]
    cells += [[f"{x:.3f}" for x in v] for v in columns.values()]
    rows = "\n".join(map(",".join, zip(*cells, strict=True)))
    return read_flight(save(tmp_path, ",".join(names) + "\n" + rows + "\n"))


def asked(flight: Flight) -> set[str]:
    return {m.column or "" for m in flight.mends if m.asks}


def wander(n: int, size: float) -> np.ndarray:
    return size * np.sin(np.arange(n) / 9.0)


@pytest.mark.parametrize("unit", [1.0, FT])
def test_level_flight_tells_no_unit_of_its_height(tmp_path: Path, unit: float) -> None:
    """Held within 40 ft for a minute: no climb, so its slope speaks for neither feet nor meters."""
    flight = piece(tmp_path, {"alt": (1_200.0 + wander(60, 12.0)) / unit})
    assert "gps_altitude_m" in asked(flight)


def test_a_climb_tells_it(tmp_path: Path) -> None:
    """700 ft a minute at 100 kt: in meters nothing flies so."""
    rise = np.arange(240) * 700.0 / 60.0
    flight = piece(tmp_path, {"alt": 1_000.0 + rise, "vs": np.full(240, 700.0) + wander(240, 60.0)})
    assert not asked(flight)
    assert float(flight["gps_altitude_m"].min()) == pytest.approx(1_000.0 * FT, abs=1.0)


@pytest.mark.parametrize(("number", "sure"), [(1.852, True), (KT, True), (1.1508, False)])
def test_four_rows_of_a_speed_are_held_to_their_way(tmp_path: Path, number: float, sure: bool) -> None:
    """Of 3 s: km/h and m/s can't be knots there; miles an hour may."""
    flight = piece(tmp_path, {"ground speed": np.full(4, 100.0 * number), "altitude (ft)": np.full(4, 3_000.0)})
    assert ("groundspeed_mps" in asked(flight)) != sure
    assert float(np.nanmedian(flight["groundspeed_mps"])) == pytest.approx(100.0 * KT, rel=0.01)


@pytest.mark.parametrize("unit", [1.0, FT / 60.0])
def test_a_vertical_speeds_numbers_tell_its_unit(tmp_path: Path, unit: float) -> None:
    """Of 40 s: what it adds up to is how the height changes; 1.2 m/s for 9 s are 35 ft."""
    height = 3_000.0 - 1.2 * 9.0 / FT * np.cos(np.arange(40) / 9.0)
    flight = piece(tmp_path, {"altitude (ft)": height, "climb": wander(40, 1.2) / unit})
    assert float(np.nanmax(flight["vertical_speed_mps"])) == pytest.approx(1.2, rel=0.05)


@pytest.mark.parametrize("unit", [1.0, FT / 60.0])
def test_without_a_height_too(tmp_path: Path, unit: float) -> None:
    """1.2 ft a minute at the most is steadier than any hand, 240 m a second faster than anything."""
    flight = piece(tmp_path, {"climb": wander(40, 1.2) / unit})
    assert float(np.nanmax(flight["vertical_speed_mps"])) == pytest.approx(1.2, rel=0.05)


def test_an_attitude_that_is_held_in_the_air_is_in_radians(tmp_path: Path) -> None:
    """3 s of flight: in degrees it would stand within hundredths; on the ground it may."""
    still = 0.05 + wander(30, 0.004)
    flight = piece(tmp_path, {"pitch": still, "roll": -still}, step_s=0.1)
    assert np.degrees(np.nanmax(flight["pitch_rad"])) == pytest.approx(np.degrees(0.054), rel=0.05)


@pytest.mark.parametrize("rows", [12, 40])
def test_a_heading_that_is_the_way_where_no_compass_points_along_it(tmp_path: Path, rows: int) -> None:
    """Beside an airspeed, too: 8° of variation would show."""
    flight = piece(tmp_path, {"heading": np.full(rows, 70.0) + wander(rows, 0.4), "ias": np.full(rows, 96.0)})
    assert "heading_mag_rad" not in flight.columns
    assert "track_rad" in flight.columns


def test_a_compass_beside_it_stays_one(tmp_path: Path) -> None:
    flight = piece(tmp_path, {"heading": np.full(40, 62.0) + wander(40, 0.4), "ias": np.full(40, 96.0)})
    assert "heading_mag_rad" in flight.columns


def test_microseconds_ten_times_a_second_are_no_milliseconds(tmp_path: Path) -> None:
    """A row in 100 s is no recording of a flight."""
    rows = "".join(f"{812_345_678 + 100_000 * k},{3_000 + k},{96.0 + 0.1 * k:.1f}\n" for k in range(30))
    flight = read_flight(save(tmp_path, "t,pressure_altitude (ft),ias (kt)\n" + rows))
    assert flight.time_s[-1] - flight.time_s[0] == pytest.approx(2.9, abs=0.01)


def network(tmp_path: Path, directions: np.ndarray, word: str) -> Flight:
    """A square of five-minute sides at a fix each 30 s, at 90 kt."""
    n, v = directions.size, 90.0 * KT
    east, north = np.cumsum(30.0 * v * np.sin(directions)), np.cumsum(30.0 * v * np.cos(directions))
    lat = LATITUDE + np.degrees(north / 6_371_000.0)
    lon = LONGITUDE + np.degrees(east / 6_371_000.0 / np.cos(np.radians(LATITUDE)))
    shown = np.round(np.degrees(np.mod(np.append(directions[1:], directions[-1]), 2.0 * np.pi)))
    rows = "".join(
        f"{1_760_000_000 + 30 * k},{lat[k]:.6f},{lon[k]:.6f},{3_400 + 130 * (k % 3)},90,{shown[k]:.0f},0\n"
        for k in range(n)
    )
    return read_flight(save(tmp_path, f"timestamp,lat,lng,altitude,speed,heading,{word}\n{rows}"))


SQUARE = np.radians(np.repeat([10.0, 100.0, 190.0, 280.0], 10))


@pytest.mark.parametrize("word", ["id", "squawk"])
def test_a_fix_in_half_a_minute_has_a_ground_speed_and_a_track(tmp_path: Path, word: str) -> None:
    """Whatever they are called: a tracker knows no airspeed, and the way from fix to fix is where it heads."""
    flight = network(tmp_path, SQUARE, word)
    assert "heading_mag_rad" not in flight.columns
    assert flight.columns["track_rad"].known == "measured"
    assert float(np.nanmedian(flight["groundspeed_mps"])) == pytest.approx(90.0 * KT, rel=0.02)
    assert not any("only speed" in m.what for m in flight.mends)


def test_hundreds_of_feet_in_whole_meters_are_meters(tmp_path: Path) -> None:
    """304, 609, 914: what a transponder's network cuts short."""
    steps = np.array([1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 12, 13, 15])
    height = np.floor(np.repeat(steps, 5) * 304.8)
    rows = "".join(f"{20 * k},{47.0 + 0.02 * k:.5f},{9.0 + 0.03 * k:.5f},{h:.0f}\n" for k, h in enumerate(height))
    flight = read_flight(save(tmp_path, "time,lat,lon,baro_altitude\n" + rows))
    name = next(n for n in ("pressure_altitude_m", "indicated_altitude_m", "gps_altitude_m") if n in flight.columns)
    assert float(flight[name].max()) == 4_572.0
    assert not asked(flight)


@pytest.mark.parametrize("lost", [True, False])
def test_a_compass_is_not_judged_by_a_receiver_that_lost_its_place(tmp_path: Path, lost: bool) -> None:
    """A ground speed that leaps by 40 kt a second beside a steady airspeed; else it is the compass that lies across."""
    n = 150
    leaps = np.where(np.arange(n) % 30 == 7, 45.0, 0.0) if lost else np.zeros(n)
    columns = {"heading": np.full(n, 130.0), "tas (kt)": np.full(n, 100.0), "gs (kt)": 100.0 + leaps}
    flight = piece(tmp_path, columns)
    assert ("heading_mag_rad" in flight.columns) == lost


@pytest.mark.parametrize(("off_deg", "kept"), [(45.0, False), (25.0, True)])
def test_a_few_rows_tell_a_compass_that_only_a_storm_would_turn_so(tmp_path: Path, off_deg: float, kept: bool) -> None:
    """Twelve of them at 100 kt: 80 kt across, and 54; sin of the angle off the track, worked out here."""
    flight = piece(tmp_path, {"magnetic heading": np.full(12, 70.0 - 8.0 - off_deg)})
    assert ("heading_mag_rad" in flight.columns) == kept


def test_a_named_load_factor_without_steady_flight_is_kept(tmp_path: Path) -> None:
    """A pull-up and a push-over, half a minute of them; no level flight says where 1 g is, the name does."""
    load = 1.6 + 1.8 * np.sin(np.arange(60) / 9.0)
    flight = piece(tmp_path, {"altitude (ft)": 3_000.0 + wander(60, 300.0), "Normal Acceleration (G)": load})
    assert float(np.nanmax(flight["load_factor"])) == pytest.approx(3.4, abs=0.1)


@pytest.mark.parametrize("air", [False, True])
def test_a_speed_beside_fixes_held_for_long_is_the_receivers(tmp_path: Path, air: bool) -> None:
    """A fix in twelve seconds, rows each second; beside a named airspeed nobody knows what a bare speed is."""
    rows = ""
    for k in range(70):
        way = 100.0 * KT * 12.0 * (k // 12)
        rows += f"{k},{LATITUDE + np.degrees(way / 6_371_000.0):.5f},{LONGITUDE},{1_500 + 8 * k},{99 + k % 3}"
        rows += f",{95 + k % 4}\n" if air else "\n"
    names = "seconds,lat,lon,altitude (ft),SPD" + (",IAS (kt)" if air else "")
    flight = read_flight(save(tmp_path, names + "\n" + rows))
    known = flight.columns.get("groundspeed_mps")
    assert (known is not None and known.known == "measured") != air
    if not air:
        assert float(np.nanmedian(flight["groundspeed_mps"])) == pytest.approx(100.0 * KT, rel=0.02)


@pytest.mark.parametrize(("egt", "cht", "kelvin"), [(695, 68, 341.0), (1_350, 330, 438.7), (710, 190, 463.0)])
def test_heads_and_exhaust_of_one_engine_are_in_one_unit(tmp_path: Path, egt: int, cht: int, kelvin: float) -> None:
    """No head is at 20 °C below an exhaust of 695 °C, and none at 330 °C."""
    rows = "".join(f"{k},2300,{egt + k % 3},{cht}\n" for k in range(40))
    flight = read_flight(save(tmp_path, "seconds,RPM,EGT1,CHT1\n" + rows))
    assert float(flight["cht_k"][0]) == pytest.approx(kelvin, abs=1.0)


@pytest.mark.parametrize(("east", "open_"), [(8.2, True), (-122.0, False)])
def test_places_by_their_order_alone_are_asked_for(tmp_path: Path, east: float, open_: bool) -> None:
    """Without names 8 and 47 may be either way round; 122 is no latitude."""
    rows = "".join(
        f"2026-05-14T10:00:{k:02d}Z,{47.4 + 0.0004 * k:.6f},{east + 0.0003 * k:.6f},900\n" for k in range(60)
    )
    flight = read_flight(save(tmp_path, rows))
    assert ("latitude_rad" in asked(flight)) == open_


def test_seconds_of_a_day_are_no_count_of_days(tmp_path: Path) -> None:
    """49865 s are 13:51:05; as a spreadsheet's day it would be one of 2036."""
    rows = "".join(f"{47.4 + 0.0004 * k:.6f},{8.2 + 0.0003 * k:.6f},900\n" for k in range(60))
    text = "# interval_s: 1\n# OriginSec: 49865.0\nlat,lon,altitude (m)\n" + rows
    assert np.isnan(read_flight(save(tmp_path, text)).start_utc_s)


@pytest.mark.parametrize(("gain", "runs"), [(1.8, True), (0.6, False)])
def test_a_roll_under_way_when_the_file_begins(tmp_path: Path, gain: float, runs: bool) -> None:
    """At 80 kt, dead level for 10 s, 3.5 kt a second faster: wheels; at 1 kt a second one may fly so."""
    t = np.arange(30.0)
    speed = 41.0 + gain * np.minimum(t, 10.0) + 0.3 * np.maximum(t - 10.0, 0.0)
    height = 9.5 + 2.3 * np.maximum(t - 10.0, 0.0)
    way = np.concatenate(([0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]))))
    rows = "".join(
        f"2026-05-14T10:00:{k:02d}Z,{LATITUDE + np.degrees(way[k] / 6_371_000.0):.7f},{LONGITUDE},{height[k]:.1f}\n"
        for k in range(30)
    )
    flight = read_flight(save(tmp_path, "time,lat,lon,gps altitude (m)\n" + rows))
    assert ([c.kind for c in flight.contacts] == ["takeoff"]) == runs


def test_rare_fixes_at_one_place_are_a_stand(tmp_path: Path) -> None:
    """A logger that notes a fix in half a minute while it stands: it takes off where they begin to move."""
    stands = np.arange(0.0, 151.0, 30.0)
    moves = 150.0 + np.arange(3.0, 120.0, 3.0)
    way = np.concatenate((np.zeros(stands.size), 30.0 * (moves - 150.0)))
    height = np.concatenate((np.full(stands.size, 304.0), 304.0 + 2.5 * np.maximum(moves - 162.0, 0.0)))
    rows = "".join(
        f"2026-05-14T10:{int(t) // 60:02d}:{int(t) % 60:02d}Z,"
        f"{LATITUDE + np.degrees(w / 6_371_000.0):.6f},{LONGITUDE},{h:.0f}\n"
        for t, w, h in zip(np.concatenate((stands, moves)), way, height, strict=True)
    )
    flight = read_flight(save(tmp_path, "time,lat,lon,gps altitude (m)\n" + rows))
    assert [c.kind for c in flight.contacts] == ["takeoff"]
    assert 148.0 <= flight.contacts[0].time_s <= 168.0


def test_a_tracker_in_miles_an_hour_on_straight_legs(tmp_path: Path) -> None:
    """Chords shorten by turns, unevenly; a ratio that is one number throughout is the unit's."""
    n = SQUARE.size * 6
    way = np.cumsum(np.full(n, 10.0 * 44.704))  # 100 mph
    rows = "".join(
        f"{10 * k},{LATITUDE + np.degrees(way[k] / 6_371_000.0):.6f},{LONGITUDE},"
        f"{900 + k % 40},{100 + 0.2 * (k % 3):.1f}\n"
        for k in range(n)
    )
    flight = read_flight(save(tmp_path, "seconds,lat,lon,altitude (m),velocity\n" + rows))
    assert float(np.nanmedian(flight["groundspeed_mps"])) == pytest.approx(44.8, rel=0.01)
