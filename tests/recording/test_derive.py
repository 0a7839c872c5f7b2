"""What is worked out: against flights whose truth is known, and against physics; each column says how it is known."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from airwork.airplane import load_airplane
from airwork.recording import COLUMNS, Flight, read_flight
from recording.made_flight import FT, KT, START_UTC_S, Made, fly, lesson, stamp
from recording.writing import FULL, GET, GPS, ias_mps, save, table


@pytest.fixture(scope="module")
def made() -> Made:
    return lesson(1800.0, 2.0, wind_from_deg=300.0, wind_kt=18.0)


@pytest.fixture(scope="module")
def full(made: Made, tmp_path_factory: pytest.TempPathFactory) -> Flight:
    return read_flight(save(tmp_path_factory.mktemp("full"), table(made, FULL)))


@pytest.fixture(scope="module")
def gps(made: Made, tmp_path_factory: pytest.TempPathFactory) -> Flight:
    return read_flight(save(tmp_path_factory.mktemp("gps"), table(made, GPS)))


@pytest.fixture(scope="module")
def fixes(made: Made, tmp_path_factory: pytest.TempPathFactory) -> Flight:
    """Positions and heights only."""
    columns = {name: GPS[name] for name in ("Latitude (deg)", "Longitude (deg)", "GPS Altitude (ft)")}
    return read_flight(save(tmp_path_factory.mktemp("fixes"), table(made, columns)))


def flying(made: Made) -> np.ndarray:
    return (made.tas_mps > 30.0) & (made.altitude_m > 1300 * FT)


def rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.nanmean(values**2)))


def test_every_column_is_a_house_column_marked_and_finite_somewhere(full: Flight, gps: Flight, fixes: Flight) -> None:
    for flight in (full, gps, fixes):
        for name, column in flight.columns.items():
            assert name in COLUMNS
            assert column.known in {"measured", "derived"}
            assert np.isfinite(column.values).any()
            assert column.known == "measured" or column.note, f"{name} does not say how it was derived"


def test_true_airspeed_from_indicated_height_and_temperature(full: Flight, made: Made) -> None:
    """IAS was made from TAS by the low-speed form; the compressible form differs by less than 0.2 kt here."""
    at = flying(made)
    assert full["tas_mps"][at] == pytest.approx(made.tas_mps[at], abs=0.15)
    assert full.columns["tas_mps"].known == "derived"


@pytest.mark.parametrize("which", ["gps", "fixes"])
def test_wind_airspeed_bank_and_load_from_gps_alone(which: str, made: Made, request: pytest.FixtureRequest) -> None:
    flight: Flight = request.getfixturevalue(which)
    at = flying(made)
    assert flight.columns["wind_mps"].known == "derived"
    assert abs(float(np.median(flight["wind_mps"][at])) / KT - 18.0) < 2.0
    assert abs(math.degrees(float(np.median(flight["wind_from_rad"][at]))) - 300.0) < 10.0
    assert rms((flight["tas_mps"] - made.tas_mps)[at]) / KT < 3.0
    steady = at & (np.abs(np.gradient(made.bank_rad, made.time_s)) < 1e-3) & (np.abs(made.bank_rad) > 0.2)
    assert math.degrees(rms((flight["bank_rad"] - made.bank_rad)[steady])) < 2.0
    assert rms((flight["load_factor"] - made.load_factor)[steady]) < 0.05


def test_nothing_is_delayed(gps: Flight, made: Made) -> None:
    """The derived bank correlates best with the true one at no shift at all."""
    at = np.flatnonzero(flying(made))[20:-20]
    shifts = range(-4, 5)
    best = max(shifts, key=lambda k: float(np.corrcoef(gps["bank_rad"][at], made.bank_rad[at + k])[0, 1]))
    assert best == 0


def test_vertical_speed_integrates_to_the_altitude(fixes: Flight, made: Made) -> None:
    """Physical consistency: climb rate against differentiated altitude."""
    climbed = np.cumsum(fixes["vertical_speed_mps"][:-1] * np.diff(fixes.time_s))
    assert climbed[-1] == pytest.approx(fixes["altitude_m"][-1] - fixes["altitude_m"][0], abs=3.0)
    assert fixes["vertical_speed_mps"] == pytest.approx(made.vertical_speed_mps, abs=0.7)


def test_flight_path_and_energy(full: Flight, made: Made) -> None:
    at = flying(made)
    assert np.sin(full["flight_path_rad"][at]) == pytest.approx(
        made.vertical_speed_mps[at] / made.tas_mps[at], abs=0.01
    )
    energy = made.altitude_m + made.tas_mps**2 / (2 * 9.80665)
    assert full["energy_height_m"][at] == pytest.approx(energy[at], abs=2.0)


def test_without_turns_no_wind_is_claimed(tmp_path: Path) -> None:
    straight = fly(
        [(0.0, 0.0), (1.0, 0.0)],
        [(0.0, 100.0), (1.0, 100.0)],
        [(0.0, 3000.0), (1.0, 3000.0)],
        duration_s=900.0,
        rate_hz=1.0,
    )
    flight = read_flight(save(tmp_path, table(straight, GPS)))
    assert "wind_mps" not in flight.columns
    assert "tas_mps" not in flight.columns
    assert flight.has("bank_rad", "groundspeed_mps", "track_rad")
    assert "wind not known" in flight.columns["bank_rad"].note


def test_takeoff_landing_ground_and_height_above_it(full: Flight, gps: Flight, made: Made) -> None:
    lift = float(made.time_s[np.argmax(made.altitude_m > 1200.5 * FT)])
    down = float(made.time_s[np.flatnonzero(made.altitude_m > 1200.5 * FT)[-1]])
    for flight in (full, gps):
        assert [c.kind for c in flight.contacts] == ["takeoff", "landing"]
        assert flight.contacts[0].time_s == pytest.approx(lift, abs=6.0)
        assert flight.contacts[1].time_s == pytest.approx(down, abs=6.0)
        at = flying(made)
        assert flight["agl_m"][at] == pytest.approx((made.altitude_m - 1200 * FT)[at], abs=3.0)


def test_a_touch_and_go_is_told_from_a_low_pass(tmp_path: Path) -> None:
    """Both come down to the runway; one slows and rolls, the other keeps its speed."""
    for rolls, expected in ((True, ["takeoff", "touch_and_go", "landing"]), (False, ["takeoff", "landing"])):
        low_speed, low_height = (44.0, 1200.0) if rolls else (82.0, 1216.0)
        tas = [(0.0, 0.0), (20.0, 0.0), (42.0, 58.0), (60.0, 76.0), (300.0, 85.0), (330.0, 62.0 if rolls else 80.0),
               (342.0, low_speed),
               (352.0, 62.0 if rolls else 85.0), (380.0, 78.0), (620.0, 62.0), (650.0, 5.0), (690.0, 0.0)]  # fmt: skip
        alt = [(0.0, 1200.0), (44.0, 1200.0), (140.0, 2000.0), (230.0, 2000.0), (330.0, low_height),
               (352.0, low_height),
               (430.0, 2000.0), (520.0, 2000.0), (622.0, 1200.0), (690.0, 1200.0)]  # fmt: skip
        # two 180s each way bring it back over the field
        bank = [(60.0, 0.0), (64.0, 20.0)]
        for start in (100.0, 200.0, 400.0, 510.0):
            v = 80.0 * KT
            turn = math.pi / (9.80665 * math.tan(math.radians(25.0)) / v)
            bank += [(start, 0.0), (start + 3.0, 25.0), (start + turn, 25.0), (start + turn + 3.0, 0.0)]
        bank = [(0.0, 0.0), (99.0, 0.0), *bank[2:]]
        made = fly(bank, tas, alt, duration_s=690.0, rate_hz=2.0, wind_kt=0.0)
        flight = read_flight(save(tmp_path, table(made, FULL), f"{rolls}.csv"))
        assert [c.kind for c in flight.contacts] == expected


@pytest.mark.parametrize("step", [1, 4])
def test_a_recorder_that_pauses_while_parked_has_a_takeoff(made: Made, tmp_path: Path, step: int) -> None:
    """One fix where it stood, the next in the roll: it began on the ground. The same backward for the landing."""
    columns = {name: GPS[name] for name in ("Latitude (deg)", "Longitude (deg)", "GPS Altitude (ft)")}
    header, *rows = table(made, columns).splitlines()
    second = round(1.0 / float(np.diff(made.time_s[:2])[0]))
    moving = np.flatnonzero(made.groundspeed_mps > 5.0)[:: step * second]
    kept = [0, *moving, len(rows) - 1]
    flight = read_flight(save(tmp_path, "\n".join([header, *(rows[k] for k in kept)]) + "\n"))
    assert [c.kind for c in flight.contacts] == ["takeoff", "landing"]
    aloft = read_flight(save(tmp_path, "\n".join([header, *rows[moving[0] + 400 * second : -400 * second]]) + "\n"))
    assert aloft.contacts == ()


def test_slow_flight_into_a_strong_wind_is_no_landing(tmp_path: Path) -> None:
    """48 kt of airspeed into 40 kt of wind: 8 kt over the ground, 3,000 ft up."""
    made = fly([(0.0, 0.0), (50.0, 0.0), (54.0, 20.0), (90.0, 20.0), (94.0, 0.0)],
               [(0.0, 0.0), (30.0, 60.0), (200.0, 80.0), (260.0, 62.0), (400.0, 62.0)],
               [(0.0, 1000.0), (32.0, 1000.0), (200.0, 4000.0)],
               duration_s=400.0, rate_hz=2.0, wind_from_deg=30.0, wind_kt=53.0, heading_deg=30.0)  # fmt: skip
    flight = read_flight(save(tmp_path, table(made, GPS)))
    late = made.time_s > 270.0
    assert not flight["on_ground"][late].any() if "on_ground" in flight.columns else True
    assert not [c for c in flight.contacts if c.kind == "landing"]


def test_indicated_to_calibrated_by_the_airplanes_table(made: Made, airplane_folder: Path, tmp_path: Path) -> None:
    airplane = load_airplane(airplane_folder / "larkmoor_155.toml")
    flight = read_flight(save(tmp_path, table(made, FULL)), airplane=airplane)
    at = np.flatnonzero(flying(made))[::40]
    expected = [airplane.cas_from_ias_mps(float(v)) for v in ias_mps(made)[at]]
    assert flight["cas_mps"][at] == pytest.approx(expected, abs=0.1)
    assert "Larkmoor" in flight.columns["cas_mps"].note


def test_percent_power_from_the_airplanes_chart(made: Made, airplane_folder: Path, tmp_path: Path) -> None:
    airplane = load_airplane(airplane_folder / "larkmoor_155.toml")
    flight = read_flight(save(tmp_path, table(made, FULL)), airplane=airplane)
    k = flight.index_at(1000.0)
    pressure, oat = float(flight["pressure_altitude_m"][k]), float(flight["oat_k"][k])
    assert flight["power_ratio"][k] == pytest.approx(airplane.power_ratio(2400.0, pressure, oat), abs=0.01)
    assert flight.columns["power_ratio"].known == "derived"
    assert "full rich" in flight.columns["fuel_flow_m3ps"].note


# Source: JSBSim 1.3.3, shaft power while it flew the demo's recording (demo/fly_recordings.py; its propeller was made
# from the same handbook tables, so this checks the dependence on airspeed, not the tables). Seconds, hp, flown.
SHAFT_POWER = [(120, 119.6, "climb"), (460, 81.8, "level"), (1355, 90.4, "power-on stall"), (1870, 97.3, "steep turn")]


@pytest.mark.parametrize(("at_s", "power_hp", "flown"), SHAFT_POWER)
def test_power_of_a_fixed_pitch_propeller_depends_on_the_airspeed(
    at_s: float, power_hp: float, flown: str, airplane_folder: Path
) -> None:
    """At one RPM the propeller takes a fifth more in a stall with power than in cruise; the chart says too little."""
    airplane = load_airplane(airplane_folder / "larkmoor_155.toml")
    flight = read_flight(
        airplane_folder.parent / "recordings/2025-09-20_stalls_over_the_lake.csv.gz", airplane=airplane
    )
    k = flight.index_at(at_s)
    assert 155.0 * flight["power_ratio"][k] == pytest.approx(power_hp, abs=2.5), flown
    pressure, oat = float(flight["pressure_altitude_m"][k]), float(flight["oat_k"][k])
    by_chart = 155.0 * airplane.power_ratio(float(flight["rpm"][k]), pressure, oat)
    if flight["ias_mps"][k] < 80 * KT:
        assert by_chart < power_hp - 8.0


def test_the_altimeter_setting_turns_indicated_into_pressure_altitude(made: Made, tmp_path: Path) -> None:
    """[PHAK] fig. 11-3: with 30.10 in. Hg the pressure altitude stands 165 ft below the indicated one."""
    flight = read_flight(save(tmp_path, table(made, FULL)), setting_pa=30.10 * 3386.389)
    assert (flight["pressure_altitude_m"] - flight["indicated_altitude_m"]) / FT == pytest.approx(-165.0, abs=0.5)
    unknown = read_flight(save(tmp_path, table(made, FULL)))
    assert unknown.columns["pressure_altitude_m"].error == 60.0


def test_a_given_elevation_gives_height_where_the_ground_was_never_touched(tmp_path: Path) -> None:
    aloft = fly(
        [(0.0, 0.0), (1.0, 0.0)],
        [(0.0, 100.0), (1.0, 100.0)],
        [(0.0, 3000.0), (1.0, 3000.0)],
        duration_s=300.0,
        rate_hz=1.0,
    )
    path = save(tmp_path, table(aloft, FULL))
    assert "agl_m" not in read_flight(path).columns
    assert read_flight(path, ground_elevation_m=1000 * FT)["agl_m"] / FT == pytest.approx(2000.0, abs=1.0)


@pytest.mark.parametrize("tilt", [0.0, 0.4, 1.3])
def test_accelerometers_mounted_anyhow_are_levelled_and_believed(made: Made, tmp_path: Path, tilt: float) -> None:
    rng = np.random.default_rng(2)
    felt = -9.80665 * made.load_factor
    GET["ax"] = lambda m: felt * math.sin(tilt) + rng.normal(0, 0.3, m.time_s.size)
    GET["ay"] = lambda m: rng.normal(0, 0.3, m.time_s.size)
    GET["az"] = lambda m: felt * math.cos(tilt) + rng.normal(0, 0.3, m.time_s.size)
    flight = read_flight(save(tmp_path, table(made, {**GPS, "a_x": ("ax", 3), "a_y": ("ay", 3), "a_z": ("az", 3)})))
    assert flight.columns["load_factor"].known == "measured"
    at = flying(made)
    assert rms((flight["load_factor"] - made.load_factor)[at]) < 0.06


def test_a_phone_that_slides_about_is_not_believed(made: Made, tmp_path: Path) -> None:
    """Its axes turn by a radian a minute: what it feels follows its own attitude, not the flight path."""
    rng = np.random.default_rng(2)
    angle = made.time_s / 60.0 + np.cumsum(rng.normal(0, 0.02, made.time_s.size))
    felt = 9.80665 * made.load_factor
    GET["ax"] = lambda m: felt * np.sin(angle)
    GET["ay"] = lambda m: felt * np.cos(angle) * np.sin(angle / 3)
    GET["az"] = lambda m: felt * np.cos(angle) * np.cos(angle / 3)
    flight = read_flight(
        save(tmp_path, table(made, {**GPS, "accel x": ("ax", 3), "accel y": ("ay", 3), "accel z": ("az", 3)}))
    )
    assert flight.columns["load_factor"].known == "derived"
    assert any("accelerations not used" in m.what for m in flight.mends)


@pytest.mark.parametrize("form", ["plus one", "nought", "minus one", "no unit"])
def test_normal_acceleration_in_any_convention(made: Made, tmp_path: Path, form: str) -> None:
    GET["nz"] = {
        "plus one": lambda m: m.load_factor,
        "nought": lambda m: m.load_factor - 1.0,
        "minus one": lambda m: -m.load_factor,
        "no unit": lambda m: -9.80665 * m.load_factor,
    }[form]
    name = "Normal Acceleration" + (" (g)" if form != "no unit" else "")
    flight = read_flight(save(tmp_path, table(made, {**FULL, name: ("nz", 3)})))
    assert flight["load_factor"] == pytest.approx(made.load_factor, abs=0.01)


def test_magnetic_heading_becomes_true_by_the_variation_of_the_place(made: Made, tmp_path: Path) -> None:
    """Variation at 40°N 100°W in 2026 is about 5° east ([WMM2025]; checked in airdata)."""
    from airwork.airdata.magnetic import variation

    expected = variation(math.radians(40.0), math.radians(-100.0), 2026.4).variation_rad
    columns = {k.replace("True Heading", "Magnetic Heading"): v for k, v in FULL.items()}
    GET["mag"] = lambda m: np.mod(m.heading_rad - expected, 2 * np.pi) * 180 / np.pi
    columns["Magnetic Heading (deg)"] = ("mag", 2)
    flight = read_flight(save(tmp_path, table(made, columns)))
    off = np.angle(np.exp(1j * (flight["heading_rad"] - made.heading_rad)))
    assert np.degrees(off) == pytest.approx(0.0, abs=0.2)


def test_a_derived_flight_does_not_depend_on_its_direction(made: Made, tmp_path: Path) -> None:
    """Turning the whole flight to another heading leaves bank, airspeed and wind speed as they were."""
    turned = lesson(1800.0, 2.0, wind_from_deg=60.0, wind_kt=18.0, heading_deg=150.0)  # all turned by 120°
    one = read_flight(save(tmp_path, table(made, GPS), "a.csv"))
    two = read_flight(save(tmp_path, table(turned, GPS), "b.csv"))
    at = flying(made)
    assert rms((one["bank_rad"] - two["bank_rad"])[at]) < 0.01
    assert rms((one["tas_mps"] - two["tas_mps"])[at]) < 0.3


def test_the_facts_of_the_source_are_plain_data(full: Flight, gps: Flight, fixes: Flight) -> None:
    import json

    for flight in (full, gps, fixes):
        assert json.loads(json.dumps(dict(flight.source))) == dict(flight.source)


def test_the_original_bytes_are_kept_by_their_digest(made: Made, tmp_path: Path) -> None:
    import hashlib

    path = save(tmp_path, table(made, GPS))
    flight = read_flight(path)
    assert flight.source["sha256"] == hashlib.sha256(path.read_bytes()).hexdigest()
    assert flight.source["bytes"] == path.stat().st_size
    assert flight.start_utc_s == START_UTC_S
    assert stamp(flight.start_utc_s).startswith("2026-05-28T20:26:40")


def test_bank_is_said_less_surely_the_further_the_samples_lie_apart(made: Made, tmp_path: Path) -> None:
    """A roll between two samples isn't seen."""
    lines = table(made, GPS).splitlines()
    errors = []
    for every in (2, 10, 20):
        error = read_flight(save(tmp_path, "\n".join([lines[0], *lines[1::every]]))).columns["bank_rad"].error
        assert error is not None
        errors.append(error)
    assert errors[0] < 0.04 < errors[1] < errors[2]


@pytest.mark.parametrize("off_deg", [8.0, -8.0])
def test_wind_from_air_data_is_right_in_spite_of_a_compass_that_is_off(
    off_deg: float, made: Made, tmp_path: Path
) -> None:
    """Made with 18 kt from 300°; at 100 kt a correction the wrong way (16°) would move the wind by 28 kt."""
    shifted = replace(made, heading_rad=made.heading_rad + math.radians(off_deg))
    flight = read_flight(save(tmp_path, table(shifted, FULL)))
    at = flying(made)
    assert "heading, true airspeed, track" in flight.columns["wind_mps"].note
    wind = flight["wind_mps"] * np.exp(1j * flight["wind_from_rad"])
    assert np.abs(np.median(wind[at]) - 18.0 * KT * np.exp(1j * math.radians(300.0))) / KT < 2.0


@pytest.mark.parametrize("heading", [True, False])
def test_a_straight_piece_with_all_air_data_tells_a_rough_wind(tmp_path: Path, heading: bool) -> None:
    """No turn checks airspeed and compass: 18 kt from 300° within a wide band; without a heading none is claimed."""
    straight = fly([(0.0, 0.0), (1.0, 0.0)], [(0.0, 100.0), (1.0, 100.0)], [(0.0, 3000.0), (1.0, 3000.0)],
                   duration_s=120.0, rate_hz=1.0, wind_from_deg=300.0, wind_kt=18.0)  # fmt: skip
    columns = {name: column for name, column in FULL.items() if heading or "eading" not in name}
    flight = read_flight(save(tmp_path, table(straight, columns)))
    assert flight.has("wind_mps") == heading
    if heading:
        wind = flight.columns["wind_mps"]
        assert wind.error is not None
        assert wind.error > 2.0 * KT
        assert abs(float(np.median(wind.values)) - 18.0 * KT) < 1.7 * wind.error
        assert "no turn tells" in wind.note


def test_a_turn_stamped_as_its_rows_came_in_is_no_steeper_than_it_was(tmp_path: Path) -> None:
    """40° for two circles, one row a second, each stamped up to half a second late: the bank of neither jumps.

    The rate of turn is that of a level, coordinated one, ω = g·tan φ / V ([PHAK] ch. 5).
    """
    made = fly([(0, 0), (300, 0), (306, 40), (390, 40), (396, 0), (480, 0), (486, -40), (570, -40), (576, 0), (700, 0)],
               [(0, 0), (30, 0), (60, 95), (700, 95)], [(0, 1000), (60, 1000), (250, 3000), (700, 3000)],
               duration_s=700.0, rate_hz=1.0)  # fmt: skip
    late = np.random.default_rng(7).uniform(0.0, 0.95, made.time_s.size)
    flight = read_flight(save(tmp_path, table(replace(made, time_s=made.time_s + late), GPS)))
    steady = np.interp(flight.time_s, made.time_s + late - late[0], np.abs(np.degrees(made.bank_rad))) > 39.5
    bank = np.abs(np.degrees(flight["bank_rad"][steady]))
    assert float(np.nanmedian(bank)) == pytest.approx(40.0, abs=2.0)
    assert float(np.nanpercentile(bank, 95.0)) < 48.0
