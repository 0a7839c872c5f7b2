"""The handbook's tables as they are read, summed up and answered from: each number worked out here from the print."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomli_w

from airwork.airplane.airplane import Airplane
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.performance import book
from airwork.airplane.performance.against_book import Row, summaries
from airwork.airplane.performance.brackets import stall_recovery_m
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.engine import PowerPoints, fit_fixed_pitch_engine
from airwork.airplane.performance.gliding import best_glide, min_sink
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.speeds import back_side, max_level_speed
from airwork.airplane.performance.today import todays_answers
from airwork.airplane.performance.turning import sustained_bank


@pytest.fixture
def data(airplane_folder: Path) -> dict[str, Any]:
    """Larkmoor's file as plain data, to be changed."""
    return tomllib.loads((airplane_folder / "larkmoor_155.toml").read_text("utf-8"))


@pytest.mark.parametrize("name", ["larkmoor_155", "caldmere_200"])
def test_todays_lines_are_the_answers_in_printed_units(fitted, name):
    """Each against the function that answers it, converted here by hand: 1 kt is 1852/3600 m/s, a foot 0.3048 m."""
    p = fitted[name]
    at = Condition(0.9 * p.airplane.max_takeoff_mass_kg, 900.0, 285.0)
    every = todays_answers(p, at)
    kt, fpm = 1852.0 / 3600.0, 0.3048 / 60.0

    def of(start, line):
        return next(one for one in every if one.subject.startswith(start) and one.name == line)

    def same(line, value, half):
        assert (line.value, line.half_width_90) == (pytest.approx(value, rel=1e-6), pytest.approx(half, rel=1e-6))

    stall = float(p.airplane.stall_cas_mps(float(at.mass_kg)))
    slow = level_flight(p, 1.2 * stall, at)
    same(of("slow flight, flaps up", "power"), 100.0 * float(slow.power_ratio), 100.0 * float(slow.power_90))
    same(of("slow flight, flaps up", "pitch attitude"), np.degrees(float(slow.pitch_rad)),
         np.degrees(float(slow.pitch_90_rad)))  # fmt: skip
    if p.fixed is not None:
        same(of("slow flight, flaps up", "RPM"), float(slow.rpm), float(slow.rpm_90))
    else:
        same(of("slow flight, flaps up", "manifold pressure"), float(slow.manifold_pressure_pa) / 3386.389,
             float(slow.manifold_pressure_90_pa) / 3386.389)  # fmt: skip
    cruise, speed = of("cruise, 65% power", "power"), of("cruise, 65% power", "true airspeed")
    assert cruise.value == pytest.approx(65.0, abs=0.3)
    grid = np.linspace(1.3 * stall, p.never_exceed_cas_mps * 0.999, 4000)
    level_there = level_flight(p, grid, at)
    fast = slice(int(np.nanargmin(level_there.power_ratio)), None)
    k = fast.start + int(np.nanargmin(np.abs(level_there.power_ratio[fast] - 0.65)))
    assert speed.value == pytest.approx(float(level_there.tas_mps[k]) / kt, rel=2e-3)
    slope = (level_there.power_ratio[k + 20] - level_there.power_ratio[k - 20]) / (grid[k + 20] - grid[k - 20])
    assert speed.half_width_90 == pytest.approx(float(level_there.power_90[k]) / slope / kt, rel=0.05)
    up = climb(p, np.linspace(1.06 * stall, 2.6 * stall, 2000), at)
    best = of("full-throttle climb, best rate", "rate of climb")
    assert best.value == pytest.approx(float(np.nanmax(up.climb_rate_mps)) / fpm, rel=1e-3)
    steepest = of("full-throttle climb, best angle", "rate of climb")
    assert float(steepest.note.split()[1]) == pytest.approx(100.0 * float(np.nanmax(up.gradient)), abs=0.06)
    top = max_level_speed(p, at)
    same(of("fastest level flight", "true airspeed"), top.tas_mps / kt, top.cas_90_mps / kt)
    back = back_side(p, at)
    same(
        of("power curve, flaps up", "speed of least power"), back.min_power_cas_mps / kt, back.min_power_cas_90_mps / kt
    )
    lost = next(one for one in every if one.name.startswith("climb lost by a knot"))
    assert lost.value == pytest.approx(-back.climb_rate_per_kt_mps / fpm, rel=1e-6)
    for start, factor in (("1.3", 1.3), ("1.7", 1.7)):
        turn = sustained_bank(p, factor * stall, at)
        banks = [one for one in every if one.name == "bank" and "flaps up" in one.subject]
        assert any(one.value == pytest.approx(np.degrees(float(turn.bank_rad))) for one in banks), start
    for start, glide in (("best glide", best_glide(p, at)), ("least sink", min_sink(p, at))):
        same(of(start, "glide ratio"), glide.glide_ratio, glide.glide_ratio_90)
        same(of(start, "sink"), glide.sink_mps / fpm, glide.sink_90_mps / fpm)
        assert of(start, "height lost in 360° at 45° of bank").value == pytest.approx(
            glide.height_per_turn_m(np.pi / 4.0) / 0.3048
        )
    low = of("stall recovery, flaps up", "prompt recovery with full power").value
    assert low == pytest.approx(stall_recovery_m(p, at).low / 0.3048)


def test_a_tables_rows_are_summed_up():
    """By hand: 3, −5, 2 off: mean 0, root mean square √(38/3), worst −5."""
    rows = [Row("cruise", "", "kt", 100.0, 100.0 + off) for off in (3.0, -5.0, 2.0)] + [
        Row("climb", "", "fpm", 500.0, 480.0)
    ]
    cruise, one = summaries(rows)
    assert (cruise.table, cruise.unit, cruise.rows, cruise.mean, cruise.worst) == ("cruise", "kt", 3, 0.0, -5.0)
    assert cruise.rms == pytest.approx(np.sqrt(38.0 / 3.0))
    assert (one.rows, one.mean, one.rms, one.worst) == (1, -20.0, 20.0, -20.0)


def test_the_tables_are_read_as_they_are_printed(data, fitted):
    """Row by row from the typed text: lb, ft, °C, kt and ft/min by their definitions; 1.98 °C per 1,000 ft of standard
    air ([ICAO 7488]); rows without a speed say nothing."""
    kt, ft, lb = 1852.0 / 3600.0, 0.3048, 0.45359237
    p = fitted["larkmoor_155"]
    tables = data["performance"]
    typed = [(row["pressure_altitude_ft"], row["isa_deviation_c"], row["rpm"], row["percent_power"], row["ktas"])
             for row in tables["cruise"]["rows"]]  # fmt: skip
    typed += [(row["density_altitude_ft"], 0.0, row["rpm"], row["percent_power"], row["ktas"])
              for row in tables["power_chart"]["rows"] if row.get("ktas")]  # fmt: skip
    rows = book.cruise_rows(p.airplane)
    assert len(rows) == len(typed)
    for row, (feet, warmer, rpm, percent, ktas) in zip(rows, typed, strict=True):
        assert (row.mass_kg, row.rpm, row.power_ratio) == (
            pytest.approx(2300 * lb),
            rpm,
            pytest.approx(percent / 100.0),
        )
        assert (row.pressure_altitude_m, row.tas_mps) == (pytest.approx(feet * ft), pytest.approx(ktas * kt))
        assert row.temperature_k == pytest.approx(288.15 - 0.0019812 * feet + warmer, abs=0.01)
    assert [rows[0].where, rows[-1].where] == [
        "cruise, row 1",
        f"power chart, row {len(tables['power_chart']['rows'])}",
    ]
    climbs = book.climb_rows(p.airplane)
    assert len(climbs) == len(tables["climb"]["rows"])
    for row, said in zip(climbs, tables["climb"]["rows"], strict=True):
        cas = float(p.airplane.calibration[0].cas(said["climb_speed_kias"] * kt))
        assert (row.mass_kg, row.cas_mps) == (pytest.approx(said["weight_lb"] * lb), pytest.approx(cas))
        assert row.climb_rate_mps == pytest.approx(said["rate_of_climb_fpm"] * ft / 60.0)
        assert (row.pressure_altitude_m, row.temperature_k) == (pytest.approx(said["pressure_altitude_ft"] * ft),
                                                                pytest.approx(said["oat_c"] + 273.15))  # fmt: skip
    glides = book.glide_rows(p.airplane)
    assert [(row.mass_kg, row.glide_ratio) for row in glides] == [
        (pytest.approx(w * lb), 9.7) for w in (2300, 2000, 1750)
    ]
    governed = book.cruise_rows(fitted["caldmere_200"].airplane)[0]
    assert governed.manifold_pressure_pa == pytest.approx(18 * 3386.389, rel=1e-6)
    assert (governed.rpm, governed.power_ratio) == (2200, pytest.approx(0.49))


def test_a_glide_table_in_miles_per_thousand_feet_is_a_ratio(data):
    """1.6 NM over 1,000 ft: 1.6 · 1852 / 304.8 is 9.72."""
    for row in data["performance"]["glide"]["rows"]:
        del row["glide_ratio"]
    airplane = Airplane(parse_airplane_file(tomli_w.dumps(data)))
    assert [row.glide_ratio for row in book.glide_rows(airplane)] == pytest.approx([9.7218] * 3, abs=1e-3)


def test_without_a_power_in_its_tables_an_engine_gives_the_rated_power_at_seven_tenths_of_advance(data):
    """V = 0.70 · n · d at the rated RPM, where a propeller is said to take rated power, to 15 % (common practice)."""
    for table in ("cruise", "power_chart"):
        del data["performance"][table]
    del data["propeller"]["static_rpm_full_throttle"]
    airplane = Airplane(parse_airplane_file(tomli_w.dumps(data)))
    engine = book.fixed_pitch_engine(airplane, 1.9, [])
    assert not engine.known
    n = airplane.rated_rpm / 60.0
    tas, density = np.array([0.70 * n * 1.9]), np.array([1.225])
    taken = float(engine.power_w(tas, np.array([n]), density)[0])
    alone = fit_fixed_pitch_engine(
        PowerPoints(*(np.empty(0) for _ in range(6))), airplane.rated_power_w, airplane.rated_rpm, 1.9, known=False
    )
    before = float(alone.power_w(tas, np.array([n]), density)[0])
    assert abs(taken - airplane.rated_power_w) < 0.35 * abs(before - airplane.rated_power_w)
    still = book.fixed_pitch_engine(Airplane(parse_airplane_file(tomli_w.dumps(
        {**data, "propeller": {**data["propeller"], "static_rpm_full_throttle": [2290, 2400]}}))), 1.9, [])  # fmt: skip
    at_rest = 60.0 * float(still.full_throttle_n(np.zeros(1), density)[0])
    assert at_rest == pytest.approx(2345.0, rel=0.03)  # the middle of what is printed, to 4 %


def test_a_tables_common_error_is_that_of_its_speed_and_of_a_new_airplane(fitted):
    """Only what a table shares: without rows nothing; of a climb table 3 % of each rate and the throttle's own."""
    p = fitted["larkmoor_155"]
    learned = p.learned
    rows = book.climb_rows(p.airplane)
    none = book.book_evidence(p.airplane, learned.book_engine, (), (), ())
    assert len(none) == 0
    blocks = book.book_evidence(
        p.airplane, learned.book_engine, book.cruise_rows(p.airplane), rows, book.glide_rows(p.airplane)
    )
    assert blocks.level.weight.sum() == pytest.approx(15.0)  # a table counts as so many readings, however many rows
    assert blocks.climb.weight.sum() == pytest.approx(8.0)
    assert blocks.glide.weight.sum() == pytest.approx(1.0)
    assert set(np.round(60.0 * blocks.level.sd, 9)) == {10.0}
    assert set(np.round(blocks.climb.sd / (0.3048 / 60.0), 9)) == {25.0}
    sink = blocks.glide.at.tas_mps / np.sqrt(1.0 + 9.7**2)  # V · sin γ, tan γ = 1/ratio
    np.testing.assert_allclose(blocks.glide.value, sink)
    few = book.book_evidence(p.airplane, learned.book_engine, book.cruise_rows(p.airplane)[:3], rows[:2], ())
    assert (few.level.weight.tolist(), few.climb.weight.tolist()) == ([1.0] * 3, [1.0] * 2)
