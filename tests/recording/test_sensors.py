"""Dirty sensors are cleaned for a stated reason; honest readings are left alone."""

from __future__ import annotations

import math

import numpy as np
import pytest

from airwork.recording.delays import mend_delays
from airwork.recording.recorded import Recorded
from airwork.recording.sensors import clean_sensors
from airwork.recording.units_check import check_units
from recording.made_flight import KT, lesson
from recording.writing import ias_mps

MADE = lesson(1500.0, 5.0)


def fresh() -> Recorded:
    m = MADE
    rng = np.random.default_rng(5)
    n = m.time_s.size
    return Recorded(
        "test", m.time_s + 1.78e9, "utc",
        {
            "latitude_rad": m.latitude_rad, "longitude_rad": m.longitude_rad,
            "indicated_altitude_m": m.altitude_m + rng.normal(0, 0.5, n), "gps_altitude_m": m.altitude_m + 15.0,
            "ias_mps": np.maximum(ias_mps(m) + rng.normal(0, 0.2, n), 0.0), "groundspeed_mps": m.groundspeed_mps,
            "track_rad": m.track_rad, "heading_mag_rad": m.heading_rad, "bank_rad": m.bank_rad,
            "vertical_speed_mps": m.vertical_speed_mps, "oat_k": 288.15 - 0.0065 * m.altitude_m,
        },
    )  # fmt: skip


def named(rec: Recorded, quantity: str, unit: str) -> Recorded:
    rec.facts.setdefault("understood", []).append(
        {"quantity": quantity, "unit": unit, "column": "x", "unit_how": "named"}
    )
    return rec


def said(rec: Recorded) -> str:
    return "; ".join(f"{m.column} {m.what}" for m in rec.mends)


def test_an_honest_flight_is_left_alone() -> None:
    rec, before = fresh(), fresh()
    check_units(rec)
    clean_sensors(rec)
    assert rec.mends == []
    for name, values in before.columns.items():
        assert np.array_equal(rec.columns[name], values), name


def test_spikes_of_one_or_several_samples_are_taken_out_and_bridged() -> None:
    rec, truth = fresh(), fresh().columns["ias_mps"]
    rec.columns["ias_mps"] = truth.copy()
    rec.columns["ias_mps"][[2000, 3000, 3001, 3002]] = [150.0, 5.0, 5.0, 6.0]
    clean_sensors(rec)
    assert "spikes" in said(rec)
    assert rec.columns["ias_mps"][[2000, 3001]] == pytest.approx(truth[[2000, 3001]], abs=1.5)
    assert next(m for m in rec.mends if "spikes" in m.what).count == 4


def test_a_drop_out_to_zero_of_half_a_minute_is_no_reading() -> None:
    rec = fresh()
    rec.columns["ias_mps"] = rec.columns["ias_mps"].copy()
    rec.columns["ias_mps"][2500:2650] = 0.0
    clean_sensors(rec)
    assert np.isnan(rec.columns["ias_mps"][2520:2630]).all()


def test_a_position_that_jumps_away_and_back_is_taken_out() -> None:
    rec = fresh()
    lat = rec.columns["latitude_rad"] = rec.columns["latitude_rad"].copy()
    truth = lat[2000]
    lat[2000] += math.radians(0.3)
    clean_sensors(rec)
    assert rec.columns["latitude_rad"][2000] == pytest.approx(truth, abs=1e-6)


def test_no_fix_written_as_nought_is_no_position() -> None:
    rec = fresh()
    for name in ("latitude_rad", "longitude_rad"):
        rec.columns[name] = rec.columns[name].copy()
        rec.columns[name][:40] = 0.0
    clean_sensors(rec)
    assert np.isnan(rec.columns["latitude_rad"][:40]).all()
    assert "without a position fix" in said(rec)


def test_sentinels_and_impossible_values_are_taken_out() -> None:
    rec = fresh()
    rec.columns["oat_k"] = rec.columns["oat_k"].copy()
    rec.columns["oat_k"][100:200] = -9999.0
    clean_sensors(rec)
    assert np.isnan(rec.columns["oat_k"][110:190]).all()
    assert "impossible values" in said(rec)


@pytest.mark.parametrize("every", [5, 10])
def test_a_slow_receiver_in_fast_rows_is_drawn_straight_between_its_fixes(every: int) -> None:
    """1 Hz positions in 5 Hz rows, and 1 Hz that is really 0.5 Hz."""
    rec = fresh()
    at = np.arange(MADE.time_s.size) // every * every
    for name in ("latitude_rad", "longitude_rad", "gps_altitude_m"):
        rec.columns[name] = rec.columns[name][at]
    clean_sensors(rec)
    flying = MADE.tas_mps > 30.0
    off = np.abs(rec.columns["latitude_rad"] - MADE.latitude_rad)[flying] * 6.37e6
    assert np.nanmax(off) < (1.3 if every == 5 else 5.0)  # sagitta at 1 g: gT²/8; held values would be 50 and 100 m off
    assert "positions come every" in said(rec)


def test_a_column_at_half_the_rate_is_filled() -> None:
    rec = fresh()
    rec.columns["heading_mag_rad"] = np.where(np.arange(MADE.time_s.size) % 2, np.nan, rec.columns["heading_mag_rad"])
    clean_sensors(rec)
    off = np.angle(np.exp(1j * (rec.columns["heading_mag_rad"] - MADE.heading_rad)))
    assert np.nanmax(np.abs(off[:-1])) < 0.01


def test_an_altimeter_that_stands_still_in_a_climb_is_stuck() -> None:
    rec = fresh()
    rec.columns["indicated_altitude_m"] = rec.columns["indicated_altitude_m"].copy()
    rec.columns["indicated_altitude_m"][700:1100] = rec.columns["indicated_altitude_m"][700]
    clean_sensors(rec)
    assert np.isnan(rec.columns["indicated_altitude_m"][720:1090]).all()
    assert "stuck" in said(rec)


def test_a_heading_that_stands_still_in_a_turn_is_stuck() -> None:
    rec = fresh()
    rec.columns["heading_mag_rad"] = rec.columns["heading_mag_rad"].copy()
    rec.columns["heading_mag_rad"][2330:2480] = rec.columns["heading_mag_rad"][2330]
    clean_sensors(rec)
    assert "the track turned" in said(rec)


@pytest.mark.parametrize("directions", [True, False])
def test_an_airspeed_that_stands_still_through_turns_to_the_ramp_is_stuck(directions: bool) -> None:
    rec = fresh()
    if not directions:  # it slowed to a stand: no wind makes that of one reading
        rec.columns = {n: v for n, v in rec.columns.items() if n not in {"track_rad", "heading_mag_rad", "heading_rad"}}
    rec.columns["ias_mps"] = rec.columns["ias_mps"].copy()
    rec.columns["ias_mps"][1500:] = 42.0
    clean_sensors(rec)
    assert np.isnan(rec.columns["ias_mps"][1520:]).all()
    assert "ias_mps stuck" in said(rec)


# coarse airspeeds that are really steady (or really nought), 20 minutes of them; flown by the wind triangle
@pytest.mark.parametrize("case", ["straight", "turns in a wind", "ground speed stuck", "taxi"])
def test_an_airspeed_held_steady_is_not_stuck(case: str) -> None:
    t = np.arange(0.0, 1200.0, 0.5)
    heading = np.zeros(t.size) if case in ("straight", "taxi") else np.radians(np.clip(t % 200 - 80, 0, 120) * 3)
    over = 45.0 * np.exp(1j * heading) + 15.0 * np.exp(1j * np.radians(70.0))
    speed = np.abs(over) + np.random.default_rng(3).normal(0.0, 0.3, t.size)
    if case == "ground speed stuck":
        speed[720:810] = speed[720]  # in the turn, and catches up where it flies straight on
    if case == "taxi":
        speed = np.clip(t % 200.0 - 80.0, 0.0, 18.0)
    airspeed = np.full(t.size, 0.0 if case == "taxi" else 45.0)
    rec = Recorded(
        "test", t + 1.78e9, "utc",
        {"ias_mps": airspeed, "groundspeed_mps": speed, "track_rad": np.angle(over), "heading_rad": heading},
    )  # fmt: skip
    clean_sensors(rec)
    assert np.isfinite(rec.columns["ias_mps"]).all(), said(rec)


def test_a_constant_reading_that_nothing_contradicts_stays() -> None:
    rec = fresh()
    rec.columns["oat_k"] = np.full(MADE.time_s.size, 283.0)
    rec.columns["ias_mps"] = np.full(MADE.time_s.size, 50.0)
    del rec.columns["groundspeed_mps"]
    clean_sensors(rec)
    assert np.isfinite(rec.columns["ias_mps"]).all()


@pytest.mark.parametrize(("unit", "ratio"), [("mph", 3600 / 1609.344), ("km/h", 3.6), ("m/s", 1.0)])
@pytest.mark.parametrize("with_heading", [True, False])
def test_an_airspeed_in_another_unit_than_named_is_found(unit: str, ratio: float, with_heading: bool) -> None:
    rec = named(fresh(), "indicated_airspeed", "kt")
    truth = rec.columns["ias_mps"]
    rec.columns["ias_mps"] = truth * ratio * KT  # the numbers are in `unit`, read as knots
    if not with_heading:
        del rec.columns["heading_mag_rad"]
    check_units(rec)
    assert rec.columns["ias_mps"] == pytest.approx(truth, rel=1e-9)
    assert f"is in {unit}, named kt" in said(rec)


def test_a_position_error_of_six_percent_is_no_wrong_unit() -> None:
    rec = named(fresh(), "indicated_airspeed", "kt")
    rec.columns["ias_mps"] = rec.columns["ias_mps"] * 1.06
    check_units(rec)
    assert rec.mends == []


def test_fahrenheit_called_celsius_is_found() -> None:
    rec = named(fresh(), "outside_temperature", "°C")
    truth = rec.columns["oat_k"]
    rec.columns["oat_k"] = (truth - 273.15) * 1.8 + 32.0 + 273.15
    check_units(rec)
    assert rec.columns["oat_k"] == pytest.approx(truth)


@pytest.mark.parametrize("late", [0.9, 1.6])
def test_a_receiver_that_comes_late_is_put_back(late: float) -> None:
    rec = fresh()
    t = MADE.time_s
    for name in ("latitude_rad", "longitude_rad", "gps_altitude_m", "groundspeed_mps"):
        rec.columns[name] = np.interp(t - late, t, rec.columns[name])
    rec.columns["track_rad"] = np.mod(np.interp(t - late, t, np.unwrap(MADE.track_rad)), 2 * math.pi)
    mend_delays(rec)
    assert rec.facts["satellite_delay_s"] == pytest.approx(late, abs=0.25)
    inside = (t > 10.0) & (t < t[-1] - 10.0)
    off = np.abs(rec.columns["latitude_rad"] - MADE.latitude_rad)[inside] * 6.37e6
    assert np.nanmax(off) < 15.0  # a quarter of a second at 55 m/s


def test_a_receiver_in_time_is_left_alone() -> None:
    rec = fresh()
    mend_delays(rec)
    assert rec.mends == []


def test_a_bank_recorded_the_other_way_round_is_turned_over() -> None:
    rec = fresh()
    rec.columns["bank_rad"] = -rec.columns["bank_rad"]
    check_units(rec)
    assert rec.columns["bank_rad"] == pytest.approx(MADE.bank_rad)
    assert "turned over" in said(rec)
