"""Cruise tables that print no percent power: RPM or manifold pressure, true airspeed and fuel flow alone."""

from __future__ import annotations

import copy
import tomllib
from typing import Any

import pytest

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane import Airplane, find_airplane_file
from airwork.airplane.check import check_airplane
from airwork.airplane.engine import Mixture
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import read_printed
from airwork.airplane.performance import Condition, performance
from airwork.airplane.performance.level import level_flight
from airwork.errors import InputError, NotPossible

FIXED, GOVERNED = "larkmoor_155", "caldmere_200"


def book(name: str, *, chart: bool = False, percent: bool = False) -> dict[str, Any]:
    """A shipped airplane as a book that prints no percent power."""
    data = tomllib.loads(find_airplane_file(name).read_text())
    data = {k: v for k, v in data.items() if k not in {"observations", "fitted"}}
    if not chart:
        del data["performance"]["power_chart"]
    if not percent:
        for row in data["performance"]["cruise"]["rows"]:
            del row["percent_power"]
    return data


def airplane(data: dict[str, Any]) -> Airplane:
    found, printed = read_printed(data, AirplaneFile)
    return Airplane(AirplaneFile.model_validate({**found, "printed": printed}))


def asked(row: dict[str, Any]) -> tuple[float, float, float, float | None]:
    """(rpm, pressure altitude [m], temperature [K], manifold pressure [Pa]) of a row."""
    height = row["pressure_altitude_ft"] * units.FT_M
    warm = float(standard_temperature_k(height)) + row.get("isa_deviation_c", 0)
    inhg = row.get("manifold_pressure_inhg")
    return row["rpm"], height, warm, None if inhg is None else inhg * units.INHG_PA


@pytest.mark.parametrize("name", [FIXED, GOVERNED])
def test_the_fuel_flow_at_a_printed_setting_is_the_printed_one(name: str) -> None:
    """Whatever stands between them: setting to power and power to flow go back to the book's own number."""
    data = book(name)
    a = airplane(data)
    tried = 0
    for row in data["performance"]["cruise"]["rows"]:
        if row.get("isa_deviation_c", 0) and name == GOVERNED:  # read at standard temperature, then by √T
            continue
        for mixture in ("best_power", "best_economy", "full_rich"):
            mix: Mixture = mixture
            if f"gph_{mixture}" not in row or "gph_best_power" not in row:
                continue
            power = a.engine.power(*asked(row))
            flow = a.engine.fuel_flow(power.value, mix).value / units.GPH_M3PS
            assert flow == pytest.approx(row[f"gph_{mixture}"], abs=0.11)  # rows of like flow are averaged
            assert "estimated" in power.note
            tried += 1
    assert tried > 10


@pytest.mark.parametrize("name", [FIXED, GOVERNED])
def test_the_estimate_is_within_what_it_says(name: str) -> None:
    """INVENTED airplanes: the percent their books print, which this one lacks."""
    with_percent = [r["percent_power"] for r in book(name, percent=True)["performance"]["cruise"]["rows"]]
    estimated = airplane(book(name)).engine.cruise_percents
    for printed, guessed in zip(with_percent, estimated, strict=True):
        assert guessed is None or guessed == pytest.approx(printed, rel=0.12)
    assert airplane(book(name)).engine.power_is_estimated


def test_with_a_power_chart_the_chart_says_the_percent_and_nothing_is_estimated() -> None:
    printed = [r["percent_power"] for r in book(FIXED, percent=True)["performance"]["cruise"]["rows"]]
    a = airplane(book(FIXED, chart=True))
    found = a.engine.cruise_percents
    assert not a.engine.power_is_estimated
    pairs = [(x, y) for x, y in zip(found, printed, strict=True) if x is not None]
    assert len(pairs) > 0.8 * len(printed)
    assert max(abs(x - y) for x, y in pairs) < 2.5
    assert [str(c) for c in check_airplane(a)] == []


def test_leaning_is_allowed_where_the_book_itself_leans_as_its_percent_is_only_estimated() -> None:
    a = airplane(book(FIXED))
    limit = a.engine.leaning_limit
    assert limit is not None
    assert "estimated" in limit.note
    assert limit.value == pytest.approx(max(p for p in a.engine.cruise_percents if p) / 100, abs=0.03)


@pytest.mark.parametrize("name", [FIXED, GOVERNED])
def test_a_sound_book_without_percent_power_is_not_doubted_and_its_slips_are(name: str) -> None:
    data = book(name)
    assert [str(c) for c in check_airplane(airplane(data))] == []
    liters = copy.deepcopy(data)
    for row in liters["performance"]["cruise"]["rows"]:
        for key in [k for k in row if k.startswith("gph_")]:
            row[key] = round(row[key] * 3.785412, 1)
    assert any("cruise" in str(c) for c in check_airplane(airplane(liters)))
    for key, change in (("ktas", 10), ("gph_best_power", 1.0)):
        slip = copy.deepcopy(data)
        rows = slip["performance"]["cruise"]["rows"]
        rows[len(rows) // 2][key] += change
        said = [str(c) for c in check_airplane(airplane(slip))]
        assert len(said) == 1, said
        assert f"row {len(rows) // 2 + 1}" in said[0]


@pytest.mark.parametrize("name", [FIXED, GOVERNED])
def test_level_flight_still_has_its_speed_and_power(name: str) -> None:
    """The fitted airplane without percent power is near the one with it: speeds are printed, power is within 12 %."""
    a, known = airplane(book(name)), airplane(book(name, percent=True))
    at = Condition(a.handbook_mass_kg, 4000 * units.FT_M, float(standard_temperature_k(4000 * units.FT_M)))
    cas = 1.9 * float(a.stall_cas_mps(a.handbook_mass_kg))
    one, other = (level_flight(performance(x), cas, at) for x in (a, known))
    assert float(one.power_ratio) == pytest.approx(float(other.power_ratio), rel=0.12)
    if name == FIXED:
        assert float(one.rpm) == pytest.approx(float(other.rpm), abs=15)


def test_a_cruise_table_without_power_and_fuel_gives_speeds_alone() -> None:
    data = book(FIXED)
    for row in data["performance"]["cruise"]["rows"]:
        for key in [k for k in row if k.startswith("gph_")]:
            del row[key]
    a = airplane(data)
    with pytest.raises(NotPossible, match="percent power or fuel flow"):
        a.engine.power(2300, 1000.0, 280.0, None)
    assert check_airplane(a) == ()


def test_a_row_that_prints_nothing_is_refused_by_name() -> None:
    text = find_airplane_file(FIXED).read_text()
    data = tomllib.loads(text)["performance"]["cruise"]["rows"][0]
    line = next(x for x in text.splitlines() if "percent_power" in x and f"rpm = {data['rpm']}" in x and "gph_" in x)
    bare = line.split("percent_power")[0].rstrip().rstrip(",") + " },"
    with pytest.raises(InputError, match="percent_power, a true airspeed or a fuel flow"):
        parse_airplane_file(text.replace(line, bare))
