"""Climb table, and time, fuel and distance to climb."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from airwork import units
from airwork.airplane import Airplane
from airwork.errors import OutOfRange

FT, LB, GAL, NM = units.FT_M, units.LB_KG, units.USGAL_M3, units.NM_M


@pytest.mark.parametrize("name", ["larkmoor_155", "wrenbrook_108", "caldmere_200"])
def test_the_climb_tables_own_rows_come_back(airplanes: dict[str, Airplane], name: str) -> None:
    a = airplanes[name]
    assert a.file.performance.climb is not None
    for row in a.file.performance.climb.rows:
        rate = a.climb_rate_mps(row.weight_lb * LB, row.pressure_altitude_ft * FT, row.oat_c + 273.15)
        assert rate / units.FPM_MPS == pytest.approx(row.rate_of_climb_fpm, abs=1e-6)


def test_climb_falls_with_weight_height_and_heat(larkmoor: Airplane) -> None:
    here = larkmoor.climb_rate_mps(2100 * LB, 3000 * FT, 288.0)
    assert larkmoor.climb_rate_mps(2200 * LB, 3000 * FT, 288.0) < here
    assert larkmoor.climb_rate_mps(2100 * LB, 3500 * FT, 288.0) < here
    assert larkmoor.climb_rate_mps(2100 * LB, 3000 * FT, 293.0) < here


@pytest.mark.parametrize(("lb", "ft", "kelvin", "word"), [
    (1600, 3000, 288.0, "lightest 1,750 lb"), (2100, -500, 288.0, "lowest 0 ft"), (2100, 3000, 230.0, "coldest"),
])  # fmt: skip
def test_lighter_lower_or_colder_than_printed_takes_the_first_row_and_says_so(
    larkmoor: Airplane, lb: float, ft: float, kelvin: float, word: str
) -> None:
    """On the safe side, as for distances: it climbs no worse than where the table begins (common practice)."""
    answer = larkmoor.climb.rate(lb * LB, ft * FT, kelvin)
    assert word in answer.note
    edge = larkmoor.climb.rate(max(lb, 1750) * LB, max(ft, 0) * FT, max(kelvin, 250.0))
    assert answer.value == pytest.approx(edge.value, rel=0.05)


@pytest.mark.parametrize(("lb", "ft", "kelvin"), [(2400, 3000, 288.0), (2100, 16_000, 288.0), (2100, 3000, 330.0)])
def test_heavier_higher_or_hotter_than_printed_is_refused(
    larkmoor: Airplane, lb: float, ft: float, kelvin: float
) -> None:
    with pytest.raises(OutOfRange, match="outside the climb table"):
        larkmoor.climb_rate_mps(lb * LB, ft * FT, kelvin)


def to_climb(small: Callable[..., Airplane], rows: list[tuple[float, float, float, float]], **more: object) -> Airplane:
    """An airplane with a time, fuel and distance table."""
    keys = ("pressure_altitude_ft", "fuel_us_gal", "time_min", "distance_nm")
    table = {"rows": [dict(zip(keys, row, strict=True)) for row in rows], **more}
    return small(performance={"time_fuel_distance_to_climb": table})


def test_a_climb_is_the_difference_of_two_readings_published(small: Callable[..., Airplane]) -> None:
    """Worked example J4: inputs [V] PHAK ch. 11 problem 4; the book's 4 minutes are a misprint for 4.5."""
    a = to_climb(small, [(6000, 3.5, 6, 9), (10000, 6.0, 10.5, 15)])
    climb = a.climb.to_climb(6000 * FT, 10000 * FT)
    assert climb.fuel_m3 / GAL == pytest.approx(2.5)
    assert climb.time_s / 60 == pytest.approx(4.5)
    assert climb.distance_m / NM == pytest.approx(6)


def test_heat_lengthens_the_climb_by_the_tables_rule_published(small: Callable[..., Airplane]) -> None:
    """Worked example J5 [V] PHAK ch. 11 problem 5: 10 min, 21 lb, 20 NM, +10 %: 11 min, 23.1 lb, 22 NM, 3.85 gal."""
    rule = {"increase_percent": 10, "per_c": 7}
    a = to_climb(small, [(0, 0, 0, 0), (8000, 21 / 6, 10, 20)], temperature_correction=rule)
    climb = a.climb.to_climb(0, 8000 * FT, isa_deviation_k=7.0)
    assert climb.time_s / 60 == pytest.approx(11)
    assert climb.distance_m / NM == pytest.approx(22)
    assert climb.fuel_m3 / GAL == pytest.approx(3.85, abs=0.005)
    assert climb.fuel_m3 * a.fuel_density_kgpm3 / LB == pytest.approx(23.1)
    assert a.climb.to_climb(0, 8000 * FT, isa_deviation_k=-7.0).time_s / 60 == pytest.approx(10)


def test_fuel_for_start_and_taxi_is_read_from_its_key_or_the_usual_sentence(
    larkmoor: Airplane, small: Callable[..., Airplane]
) -> None:
    start = larkmoor.climb.to_climb(0, 1000 * FT).start_taxi_takeoff_m3
    assert start is not None
    assert start / GAL == pytest.approx(1.1)
    said = to_climb(small, [(0, 0, 0, 0), (8000, 3, 10, 20)], conditions="add 1.4 us gal for start, taxi and takeoff")
    start = said.climb.to_climb(0, 1000 * FT).start_taxi_takeoff_m3
    assert start is not None
    assert start / GAL == pytest.approx(1.4)
