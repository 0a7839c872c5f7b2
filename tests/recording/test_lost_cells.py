"""What a cell or a sensor lost: points, a phone's speed, a count's unit, the level of a height. Tables of our own.

A light airplane in steady air; no source but the physics beside each.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from airwork.errors import InputError
from airwork.recording import Flight, read_flight
from recording.made_flight import fly
from recording.writing import save

pytestmark = pytest.mark.usefixtures("columns_alone")
KT, FT = 1852.0 / 3600.0, 0.3048
# Two minutes: level, a climb of 500 ft, turns to both sides.
MADE = fly(
    bank=[(0.0, 0.0), (30.0, 0.0), (34.0, 0.4), (50.0, 0.4), (56.0, -0.4), (80.0, -0.4), (84.0, 0.0), (120.0, 0.0)],
    tas_kt=[(0.0, 95.0), (120.0, 95.0)],
    altitude_ft=[(0.0, 2_500.0), (25.0, 2_500.0), (80.0, 3_100.0), (120.0, 3_000.0)],
    duration_s=120.0,
    rate_hz=1.0,
)
T = MADE.time_s
PLACE = {"lat": np.degrees(MADE.latitude_rad), "lon": np.degrees(MADE.longitude_rad)}
PHONE = {"altitude": MADE.altitude_m, "speed": MADE.groundspeed_mps, "course": np.degrees(MADE.track_rad)}


def read(folder: Path, columns: dict[str, np.ndarray], change: tuple[str, str] = ("", "")) -> Flight:
    """Columns as a table, seven decimals."""
    cells = [[x if isinstance(x, str) else f"{x:.7f}" for x in v] for v in columns.values()]
    text = "\n".join([",".join(columns), *map(",".join, zip(*cells, strict=True))]) + "\n"
    return read_flight(save(folder, text.replace(*change) if change[0] else text))


def test_a_phones_minus_one_is_no_speed_and_no_course(tmp_path: Path) -> None:
    unknown = (T < 3) | (T % 11 == 5)
    without = {n: np.where(unknown, -1.0, PHONE[n]) for n in ("speed", "course")}
    flight = read(tmp_path, {"time": 1.78e9 + T, **PLACE, **PHONE, **without})
    assert flight.columns["groundspeed_mps"].known == "measured"
    np.testing.assert_allclose(flight["groundspeed_mps"][5:], MADE.groundspeed_mps[5:], atol=0.6)
    assert not flight.contacts


def test_a_direction_that_wavers_about_north_keeps_its_minus_one(tmp_path: Path) -> None:
    heading = np.where(T % 3 == 0, -1.0, np.where(T % 3 == 1, 0.0, 1.0))
    east = np.zeros(T.size)
    places = {"lat": 40.0 + T * 50.0 / 111_200.0, "lon": 9.0 + east}
    flight = read(tmp_path, {"time": 1.78e9 + T, **places, "altitude": MADE.altitude_m, "course": heading})
    assert not any("no reading" in m.what for m in flight.mends)


def test_a_height_counted_from_the_start_in_flight_is_no_ground(tmp_path: Path) -> None:
    relative = MADE.altitude_m - MADE.altitude_m[0]
    flight = read(tmp_path, {"time": 1.78e9 + T, **PLACE, **PHONE, "relativeAltitude": relative})
    assert not flight.contacts
    assert not flight["on_ground"].any()


def test_a_cell_that_lost_its_point_changes_no_unit(tmp_path: Path) -> None:
    lon = PLACE["lon"]
    flight = read(
        tmp_path, {"time": 1.78e9 + T, **PLACE, **PHONE}, (f"{lon[40]:.7f}", f"{lon[40]:.7f}".replace(".", ""))
    )
    np.testing.assert_allclose(flight["longitude_rad"], MADE.longitude_rad, atol=2e-6)


def test_the_parts_of_a_velocity_have_the_unit_their_speed_has(tmp_path: Path) -> None:
    parts = {"vn": MADE.ground_north_mps / KT, "ve": MADE.ground_east_mps / KT, "vd": -MADE.vertical_speed_mps / KT}
    flight = read(tmp_path, {"time": T, **PLACE, "alt": MADE.altitude_m / FT, **parts})
    np.testing.assert_allclose(flight["groundspeed_mps"], MADE.groundspeed_mps, atol=0.1)
    np.testing.assert_allclose(flight["vertical_speed_mps"], MADE.vertical_speed_mps, atol=0.1)


def test_rows_a_thousand_apart_count_milliseconds(tmp_path: Path) -> None:
    short = slice(0, 14)
    flight = read(tmp_path, {"t": 1000.0 * T[short], **{n: v[short] for n, v in {**PLACE, **PHONE}.items()}})
    assert float(np.ptp(flight.time_s)) == pytest.approx(13.0)


def test_a_vertical_speed_that_counts_down_is_turned_over_in_a_piece_too(tmp_path: Path) -> None:
    columns = {"time": T, **PLACE, "altitude": MADE.altitude_m, "vz": -MADE.vertical_speed_mps}
    flight = read(tmp_path, columns)
    assert np.corrcoef(flight["vertical_speed_mps"], MADE.vertical_speed_mps)[0, 1] > 0.9


def leaping(far_m: float) -> np.ndarray:
    """A sensor that settles within ten seconds to a level so much higher."""
    return MADE.altitude_m - far_m + far_m * np.where(T < 40.0, 0.0, 1.0 - np.exp(-np.maximum(T - 40.0, 0.0) / 3.0))


def test_a_leap_of_the_sensor_is_no_climb(tmp_path: Path) -> None:
    flight = read(tmp_path, {"time": 1.78e9 + T, **PLACE, "altitude (m)": leaping(400.0)})
    assert any("leaps by" in m.what for m in flight.mends)
    late = T > 70.0
    np.testing.assert_allclose(flight["gps_altitude_m"][late], MADE.altitude_m[late], atol=3.0)
    assert np.isnan(flight["gps_altitude_m"][T < 35.0]).all()


def test_a_climb_that_speed_pays_for_is_no_leap(tmp_path: Path) -> None:
    """20 m/s up for six seconds."""
    zoom = MADE.altitude_m + np.interp(T, [40.0, 46.0], [0.0, 120.0])
    flight = read(tmp_path, {"time": 1.78e9 + T, **PLACE, "altitude (m)": zoom})
    assert not any("leaps by" in m.what for m in flight.mends)


def approach(below_m: float, field_m: float) -> dict[str, np.ndarray]:
    """Down at 3 m/s and 34 m/s over the ground, then 0 is written below some height; it stands at last."""
    speed = np.interp(T, [0.0, 80.0, 105.0], [34.0, 33.5, 0.0])
    height = field_m + np.maximum(240.0 - 3.0 * T, 0.0)
    lat = 48.0 + np.cumsum(speed) / 111_200.0
    written = np.where(height - field_m < below_m, 0.0, height)
    return {"time": 1.78e9 + T, "lat": lat, "lon": 9.0 + 0.0 * T, "altitude (m)": written, "speed (m/s)": speed}


def test_a_height_of_0_flown_at_for_half_a_minute_is_none(tmp_path: Path) -> None:
    flight = read(tmp_path, approach(100.0, 15.0))
    height = next(flight[n] for n in ("gps_altitude_m", "pressure_altitude_m") if flight.has(n))
    assert any("stands for none" in m.what for m in flight.mends)
    assert np.isnan(height[(T > 52.0) & (T < 75.0)]).all()


def test_noughts_on_the_way_up_are_no_runway(tmp_path: Path) -> None:
    """Off the ground at 20 s, 0 written below 50 m: the climb begins well before the first height."""
    speed, height = np.interp(T, [0.0, 18.0], [0.0, 33.0]), np.maximum(4.0 * (T - 20.0), 0.0)
    places = {"lat": 48.0 + np.cumsum(speed) / 111_200.0, "lon": 9.0 + 0.0 * T}
    written = {"altitude (m)": np.where(height < 50.0, 0.0, height), "speed (m/s)": speed}
    flight = read(tmp_path, {"time": 1.78e9 + T, **places, **written})
    assert [c.kind for c in flight.contacts] == ["takeoff"]
    assert flight.contacts[0].time_s == pytest.approx(20.0, abs=6.0)


def test_noughts_in_a_slow_climb_are_left_at_the_climbs_speed(tmp_path: Path) -> None:
    """Off the ground at 20 s at 33 m/s, so flat a climb that by its later rate it would begin a quarter minute late."""
    speed, height = np.interp(T, [0.0, 20.0, 60.0], [0.0, 33.0, 35.0]), np.interp(T, [20, 45, 120], [0.0, 35.0, 335.0])
    places = {"lat": 48.0 + np.cumsum(speed) / 111_200.0, "lon": 9.0 + 0.0 * T}
    marked = {"altitude (m)": np.where(height < 45.0, 0.0, height), "speed (m/s)": speed}
    flight = read(tmp_path, {"time": 1.78e9 + T, **places, **marked})
    assert [c.kind for c in flight.contacts] == ["takeoff"]
    assert flight.contacts[0].time_s == pytest.approx(20.0, abs=4.0)
    whole = {**marked, "altitude (m)": height}  # a field at the sea: its 0 is a height
    at_sea = read(tmp_path, {"time": 1.78e9 + T, **places, **whole})
    assert not any("stands for none" in m.what for m in at_sea.mends)
    assert at_sea.contacts[0].time_s == pytest.approx(20.0, abs=4.0)


def test_a_height_twice_in_other_digits_is_one(tmp_path: Path) -> None:
    twice = {"ALT": MADE.altitude_m, "AltGPS": np.round(MADE.altitude_m, 2)}
    flight = read(tmp_path, {"time": 1.78e9 + T, **PLACE, **twice})
    assert flight.has("gps_altitude_m")
    assert not flight.has("indicated_altitude_m")


def test_a_column_that_counts_on_is_offered_as_the_time(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"'column 1' counts on by 1 from row to row"):
        read(tmp_path, {"2039.1": 2040.1 + T, "27.0": 30.0 + T % 7.0, "17.0": 20.0 + T % 5.0})


def test_a_field_at_the_sea_has_a_height_of_0(tmp_path: Path) -> None:
    flight = read(tmp_path, approach(6.0, 0.0))
    assert not any("stands for none" in m.what for m in flight.mends)


FLAPS = np.select([T < 30, T < 60, T < 90], [0.0, 1.0, 2.0], 3.0)


@pytest.mark.parametrize(
    "words", [("rentrés", "cran 1", "cran 2", "sortis"), ("ein", "Stufe 1", "Stufe 2", "aus"), ("0", "10", "20", "30")]
)
def test_flaps_in_words_are_notches_in_numbers_degrees(tmp_path: Path, words: tuple[str, ...]) -> None:
    columns = {"time": 1.78e9 + T, **PLACE, **PHONE, "Volets": np.array(words)[FLAPS.astype(int)]}
    flight = read(tmp_path, columns)
    if words[0] == "0":
        np.testing.assert_array_equal(flight["flap_deg"], 10.0 * FLAPS)
        return
    assert "flap_deg" not in flight.columns
    assert flight.columns["flap_notch"].known == "measured"
    np.testing.assert_array_equal(flight["flap_notch"], FLAPS)


def test_thousands_parted_by_a_narrow_blank_are_numbers_of_either_sign(tmp_path: Path) -> None:
    """CLDR: French parts thousands by U+202F; so is the altimeter's setting. A number cut short is none."""
    climb_fpm = np.where(T < 60, -200.0, np.where(T < 70, -1_220.0, 480.0))
    height_ft = 2_500.0 + np.cumsum(climb_fpm) / 60.0
    cells = [f"{x:.0f}".replace("-1220", "-1\u202f220") for x in climb_fpm]
    cells[100] = "-1\u202f22"
    rows = [
        f"{1.78e9 + t:.0f};{a:.6f};{o:.6f};{h:.1f};{c};1\u202f014".replace(".", ",")
        for t, a, o, h, c in zip(T, PLACE["lat"], PLACE["lon"], height_ft, cells, strict=True)
    ]
    text = "\n".join(["time;lat;lon;Altitude QNH (ft);Vario (ft/min);Calage (hPa)", *rows]) + "\n"
    flight = read_flight(save(tmp_path, text))
    np.testing.assert_allclose(flight["setting_pa"], 101_400.0)
    assert float(np.nanmin(flight["vertical_speed_mps"])) == pytest.approx(-1_220.0 * FT / 60.0, rel=1e-6)
    assert [m.what for m in flight.mends if "no number" in m.what] == [
        "one cell of 'Vario (ft/min)' is no number ('-1\\u202f22'); left empty"
    ]
