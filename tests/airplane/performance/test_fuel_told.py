"""Fuel flow as the book, readings and flights tell it, each by its spread."""

import re
from dataclasses import replace

import numpy as np
import pytest

from airwork.airplane.performance import Performance
from airwork.airplane.performance import differences as book_differences
from airwork.airplane.performance import fuel as fuel_module
from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.differences import differences
from airwork.airplane.performance.fuel import fuel_flow
from airwork.airplane.performance.fuel_line import FuelLine
from airwork.airplane.performance.today import _Day, todays_answers
from airwork.errors import NotPossible
from airwork.units import from_unit, to_unit


@pytest.mark.parametrize("gph", [[1.0], [1.0, 1.4], [1.0, 1.4, 3.0]])
def test_fuel_flows_scatter_as_they_do_from_the_third_on(fitted, monkeypatch, gph):
    """One or two readings say nothing of their own scatter: what a gauge can be read to counts. 1.645 : 90 % of a
    normal distribution (NIST/SEMATECH e-Handbook, 1.3.6.7.1, from memory)."""
    values = from_unit(np.array(gph), "gph")
    monkeypatch.setattr(book_differences, "flow_differences_m3ps", lambda performance: {"best_power": values})
    (found,) = [d for d in differences(fitted["larkmoor_155"]) if d.name == "fuel flow, best power"]
    read = to_unit(book_differences.READ_SD_M3PS, "gph")
    scatter = read if len(gph) < 3 else max(read, np.std(gph, ddof=1))
    assert found.value == pytest.approx(np.mean(gph))
    assert found.value_90 == pytest.approx(1.645 * scatter / np.sqrt(len(gph)), rel=1e-3)


def test_points_of_power_are_hundredths_of_the_rated_power(fitted, monkeypatch):
    """The whole rated power more is a hundred points more."""
    p = fitted["caldmere_200"]
    (own,) = [d for d in differences(p) if d.name == "slow flight"]
    control = p.law.control
    monkeypatch.setattr(
        type(p.law),
        "control",
        lambda law, theta, at: control(theta, at) + (theta is p.theta) * p.airplane.rated_power_w,
    )
    (more,) = [d for d in differences(p) if d.name == "slow flight"]
    assert own.unit == "%"
    assert more.value - own.value == pytest.approx(100.0, abs=1e-6)


@pytest.mark.parametrize(("gph", "word"), [(0.5, "more"), (-0.5, "less")])
def test_a_fuel_flow_off_the_book_is_said_with_its_sign(fitted, monkeypatch, gph, word):
    """Two dozen readings half a gallon off, all alike: what a gauge can be read to is a fraction of that by then."""
    values = from_unit(np.full(24, gph), "gph")
    monkeypatch.setattr(book_differences, "flow_differences_m3ps", lambda performance: {"best_power": values})
    (found,) = [d for d in differences(fitted["larkmoor_155"]) if d.name == "fuel flow, best power"]
    assert re.match(rf"burns 0\.5 gal/h {word}", found.words), found.words


def line_of(p: Performance, more: float, **how: float) -> Performance:
    """The airplane with flights that burned so much more than the full-rich column at 60 %."""
    flow = more * p.airplane.fuel_flow_m3ps(0.6, "full_rich")
    line = FuelLine(0.2 * flow, 0.8 * flow / (0.6 * p.airplane.rated_power_w), 0.03, 2, **how)
    return replace(p, learned=replace(p.learned, fuel=line))


def test_fuel_flow_is_the_books_moved_by_readings_and_flights_by_their_spreads(fitted, monkeypatch):
    """Normal with known variance: airplanes 0.4, a reading or flight 0.3 gal/h; 0.1 for the table's rounding. By hand:
    three readings 0.6 above: 0.6 · 33.3 / (33.3 + 6.25) = 0.505; with two flights 0.4 above besides 0.455 gal/h."""
    p = fitted["larkmoor_155"]
    printed = to_unit(p.airplane.fuel_flow_m3ps(0.6, "full_rich"), "gph")
    read = {"full_rich": [from_unit(0.6, "gph")] * 3}
    plain = fuel_flow(p, 0.6)
    assert to_unit(plain.flow_90_m3ps, "gph") == pytest.approx(1.6449 * np.hypot(0.4, 0.1), rel=1e-6)
    monkeypatch.setattr(fuel_module, "flow_differences_m3ps", lambda performance: read)
    three = fuel_flow(p, 0.6)
    assert to_unit(three.flow_m3ps, "gph") - printed == pytest.approx(
        0.6 * (3 / 0.09) / (3 / 0.09 + 1 / 0.16), rel=1e-6
    )
    half = np.sqrt(1.0 / (3 / 0.09 + 1 / 0.16) + 0.01)
    assert to_unit(three.flow_90_m3ps, "gph") == pytest.approx(1.6449 * half, rel=1e-6)
    assert three.source.endswith(" and 3 readings")
    both = fuel_flow(line_of(p, 1.0 + 0.4 / printed), 0.6)
    moved = (0.6 * 3 / 0.09 + 0.4 * 2 / 0.09) / (5 / 0.09 + 1 / 0.16)
    assert to_unit(both.flow_m3ps, "gph") - printed == pytest.approx(moved, rel=1e-4)
    assert both.source.endswith(" and 3 readings and 2 flights")
    nearer = fuel_flow(
        line_of(p, p.airplane.fuel_flow_m3ps(0.6, "best_power") / p.airplane.fuel_flow_m3ps(0.6, "full_rich")), 0.6
    )
    assert nearer.source == three.source  # flown leaned: another column's
    assert fuel_flow(p, 0.6, "best_power").source == fuel_flow(p, 0.6, "best_power").source.split(" and ")[0]


def test_where_the_book_prints_no_column_what_flights_burned_is_told(fitted, monkeypatch):
    """Leaned where flights were leaned; 90 % half-width: 1.6449 times their spread of 3 % and 2 % of a gauge."""
    p = line_of(fitted["larkmoor_155"], 1.0, leaner=0.85)

    def refuse(self, ratio, mixture):
        raise NotPossible("no such column")

    monkeypatch.setattr(type(p.airplane.engine), "fuel_flow", refuse)
    rich = p.learned.fuel.flow_m3ps(0.6 * p.airplane.rated_power_w)
    found = fuel_flow(p, 0.6)
    assert (found.flow_m3ps, found.source) == (pytest.approx(rich), "2 flights, mixture as flown")
    assert found.flow_90_m3ps == pytest.approx(1.6449 * rich * np.hypot(0.03, 0.02), rel=1e-9)
    leaned = fuel_flow(p, 0.6, "best_power")
    assert (leaned.flow_m3ps, leaned.source) == (pytest.approx(0.85 * rich), "2 flights, leaned as flown")
    never_leaned = replace(p, learned=replace(p.learned, fuel=replace(p.learned.fuel, leaner=0.0)))
    for other, mixture in ((never_leaned, "best_power"), (fitted["larkmoor_155"], "full_rich")):
        with pytest.raises(NotPossible, match="no such column"):
            fuel_flow(other, 0.6, mixture)


def test_the_rich_flow_thins_with_the_air_and_the_leaned_does_not():
    """flow = (1 + 2·3) at the usual pressure; at a quarter of it with m = ½ twice that; leaned 0.8 of it anywhere."""
    line = FuelLine(1.0, 2.0, 0.02, 3, usual_pa=80000.0, thin=0.5, leaner=0.8)
    assert float(line.flow_m3ps(3.0)) == 7.0
    assert float(line.flow_m3ps(3.0, 20000.0)) == pytest.approx(14.0)
    assert float(line.flow_m3ps(3.0, 20000.0, True)) == pytest.approx(5.6)
    assert float(replace(line, leaner=0.0).flow_m3ps(3.0, None, True)) == 7.0


def test_leaned_flow_is_held_against_its_own_column(fitted):
    """12 % above best power by flights that leaned: said of the leaned column; what never leaned says nothing of it."""
    p = fitted["larkmoor_155"]
    rich, lean = (p.airplane.fuel_flow_m3ps(0.65, m) for m in ("full_rich", "best_economy"))
    line = FuelLine(0.2 * rich, 0.8 * rich / (0.65 * p.airplane.rated_power_w), 0.02, 4, leaner=1.12 * lean / rich)
    found = {d.name: d for d in differences(replace(p, learned=replace(p.learned, fuel=line)))}
    assert "fuel flow as leaned" in found
    names = {m: p.airplane.fuel_flow_m3ps(0.65, m) for m in ("full_rich", "best_power", "best_economy")}
    named = min(names, key=lambda m: abs(names[m] - 1.12 * lean))
    leaned = found["fuel flow as leaned"]
    assert leaned.value == pytest.approx(to_unit(1.12 * lean - names[named], "gph"), abs=1e-6)
    assert leaned.value_90 == pytest.approx(1.6449 * to_unit(1.12 * lean, "gph") * np.hypot(0.02 / 2.0, 0.03), rel=1e-9)
    assert leaned.words.startswith("leaned, it burns")
    assert named.replace("_", " ") in leaned.words
    without = replace(p, learned=replace(p.learned, fuel=replace(line, leaner=0.0)))
    assert "fuel flow as leaned" not in {d.name for d in differences(without)}


def test_todays_answers_say_leaned_flow_and_speeds_no_dial_shows(fitted):
    p = line_of(fitted["larkmoor_155"], 1.0, leaner=0.85)
    at = Condition(950.0, 900.0, 285.0)
    assert any(line.name == "fuel flow, leaned" for line in todays_answers(p, at))
    assert _Day(p, at).dial(300.0) == "583 KCAS"  # 300 m/s; 1 kt is 0.514 444 m/s
    assert "KCAS" not in _Day(p, at).dial(40.0)
