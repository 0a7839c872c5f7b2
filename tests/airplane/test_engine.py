"""Percent power, RPM and manifold pressure for a power, leaning and fuel flow."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork import units
from airwork.airdata.atmosphere import density_ratio, standard_temperature_k
from airwork.airplane import Airplane, find_airplane_file, load_airplane
from airwork.airplane.numbers import numbers_for
from airwork.airplane.numbers.question import Question
from airwork.errors import NotPossible, OutOfRange

FT, INHG, GPH = units.FT_M, units.INHG_PA, units.GPH_M3PS
FIXED = ("larkmoor_155", "wrenbrook_108")
LARKMOOR = load_airplane(find_airplane_file("larkmoor_155"))
CALDMERE = load_airplane(find_airplane_file("caldmere_200"))


def standard(height_ft: float) -> tuple[float, float]:
    """Pressure altitude and temperature where both altitudes are this. SI."""
    return height_ft * FT, float(standard_temperature_k(height_ft * FT))


@pytest.mark.parametrize("name", FIXED)
def test_the_power_charts_own_rows_come_back(airplanes: dict[str, Airplane], name: str) -> None:
    """At standard temperature density altitude is pressure altitude."""
    a = airplanes[name]
    assert a.file.performance.power_chart is not None
    for row in a.file.performance.power_chart.rows:
        assert row.density_altitude_ft is not None
        assert 100 * a.power_ratio(row.rpm, *standard(row.density_altitude_ft)) == pytest.approx(
            row.percent_power, abs=1e-4
        )
    for inverse in a.file.performance.power_chart.rpm_for_percent_power:
        rpm = a.engine.rpm_for_power(inverse.percent_power / 100, *standard(inverse.density_altitude_ft)).value
        assert rpm == pytest.approx(inverse.rpm, abs=1e-3)


def test_the_constant_speed_charts_own_rows_come_back_both_ways(caldmere: Airplane) -> None:
    assert caldmere.file.performance.power_chart is not None
    for row in caldmere.file.performance.power_chart.rows:
        assert row.pressure_altitude_ft is not None
        assert row.manifold_pressure_inhg is not None
        air, pressure = standard(row.pressure_altitude_ft), row.manifold_pressure_inhg * INHG
        assert 100 * caldmere.power_ratio(row.rpm, *air, pressure) == pytest.approx(row.percent_power, abs=1e-6)
        back = caldmere.manifold_pressure_for_power_pa(row.percent_power / 100, row.rpm, *air)
        assert back / INHG == pytest.approx(row.manifold_pressure_inhg, abs=1e-3)


def test_the_constant_speed_charts_temperature_rule_is_applied(caldmere: Airplane) -> None:
    """1 percent power less for each 5.5 °C above standard, as its conditions say."""
    height, temperature = standard(4000)
    cold = caldmere.power_ratio(2400, height, temperature, 22 * INHG)
    warm = caldmere.power_ratio(2400, height, temperature + 11.0, 22 * INHG)
    assert 100 * (cold - warm) == pytest.approx(2.0)


def test_a_chart_whose_rule_stands_only_in_its_conditions_is_read_too(small: Callable[..., Airplane]) -> None:
    """The drafts' sentence, and without any rule the square root of the temperature (from memory), marked."""
    rows = [
        {"pressure_altitude_ft": h, "rpm": 2400, "manifold_pressure_inhg": m, "percent_power": 3 * m}
        for h in (0, 4000) for m in (18, 20, 22)
    ]  # fmt: skip
    chart: dict[str, Any] = {
        "rows": rows,
        "conditions": "subtract 1 percent power for each 5.5 C above standard, add below",
    }
    height, temperature = standard(2000)
    a = small(propeller={"type": "constant_speed"}, performance={"power_chart": chart})
    assert 100 * a.power_ratio(2400, height, temperature + 5.5, 20 * INHG) == pytest.approx(59)
    bare = small(propeller={"type": "constant_speed"}, performance={"power_chart": {"rows": rows}})
    answer = bare.engine.power(2400, height, temperature + 20, 20 * INHG)
    assert answer.value == pytest.approx(0.60 * math.sqrt(temperature / (temperature + 20)))
    assert "the chart has no rule" in answer.note
    pressure = bare.manifold_pressure_for_power_pa(answer.value, 2400, height, temperature + 20)
    assert pressure / INHG == pytest.approx(20, abs=0.01)


@given(st.floats(0, 8000), st.floats(-25, 30), st.floats(0.45, 0.68))
def test_power_and_rpm_are_each_others_inverse_within_the_charts_rounding(
    feet: float, warm: float, power: float
) -> None:
    """Both tables are rounded: RPM to 10, percent to 1 (about 7 RPM a point)."""
    height = feet * FT
    temperature = float(standard_temperature_k(height)) + warm
    try:
        rpm = LARKMOOR.engine.rpm_for_power(power, height, temperature).value
        back = LARKMOOR.power_ratio(rpm, height, temperature)
    except OutOfRange:
        return
    assert back == pytest.approx(power, abs=0.013)


@given(st.floats(0, 10000), st.floats(2200, 2590))
def test_power_rises_with_rpm_and_falls_with_density_altitude(feet: float, rpm: float) -> None:
    try:
        here = LARKMOOR.power_ratio(rpm, *standard(feet))
        faster = LARKMOOR.power_ratio(rpm + 10, *standard(feet))
        higher = LARKMOOR.power_ratio(rpm, *standard(feet + 300))
    except OutOfRange:
        return
    assert here < faster
    assert higher <= here + 1e-9


def test_percent_power_of_the_invented_larkmoor_agrees_with_the_numbers_it_was_made_from(
    larkmoor: Airplane, truth: dict[str, Any]
) -> None:
    """INVENTED data: P = ρ·n³·d⁵·CP(J) at the chart's own true airspeed, between its rows.

    Percent is printed to 1, the speed to 1 kt: half a point and a little more halfway between rows.
    """
    numbers = truth["larkmoor_155"]
    c0, c1, c2 = numbers["power_coefficient_poly_in_J"]
    diameter = numbers["prop_diameter_ft"] * FT
    chart = larkmoor.file.performance.power_chart
    assert chart is not None
    by_height: dict[float, dict[float, float]] = {}
    for row in chart.rows:
        assert row.density_altitude_ft is not None
        assert row.ktas is not None
        by_height.setdefault(row.density_altitude_ft, {})[row.rpm] = row.ktas
    worst = 0.0
    for feet, speeds in by_height.items():
        density = 1.225 * float(density_ratio(*standard(feet)))
        for low, high in zip(sorted(speeds), sorted(speeds)[1:], strict=False):
            rpm, tas = (low + high) / 2, (speeds[low] + speeds[high]) / 2 * units.KT_MPS
            n = rpm / 60
            j = tas / (n * diameter)
            true = density * n**3 * diameter**5 * (c0 + c1 * j + c2 * j * j) / larkmoor.rated_power_w
            worst = max(worst, abs(100 * (larkmoor.power_ratio(rpm, *standard(feet)) - true)))
    assert worst < 0.8


def test_outside_the_chart_power_is_refused_naming_the_range(larkmoor: Airplane) -> None:
    with pytest.raises(OutOfRange, match=r"density altitude .* is outside the power chart \(0 to 12,000 ft\)"):
        larkmoor.power_ratio(2400, 13000 * FT, 260.0)
    with pytest.raises(OutOfRange, match="engine speed"):
        larkmoor.power_ratio(1500, *standard(4000))
    with pytest.raises(OutOfRange, match="percent power"):
        larkmoor.engine.rpm_for_power(0.95, *standard(8000))


def test_an_rpm_above_the_red_line_is_refused(small: Callable[..., Airplane]) -> None:
    rows = [{"density_altitude_ft": h, "rpm": n, "percent_power": n / 40} for h in (0, 9000) for n in (2000, 2800)]
    a = small(performance={"power_chart": {"rows": rows}}, limitations={"maximum_rpm": 2600})
    with pytest.raises(NotPossible, match="above the maximum 2,600 RPM"):
        a.engine.rpm_for_power(0.68, *standard(4000))


def test_asking_for_the_wrong_kind_of_setting_is_refused(larkmoor: Airplane, caldmere: Airplane) -> None:
    with pytest.raises(NotPossible, match="constant-speed"):
        caldmere.engine.rpm_for_power(0.65, *standard(4000))
    with pytest.raises(NotPossible, match="needs the manifold pressure"):
        caldmere.power_ratio(2400, *standard(4000))
    with pytest.raises(NotPossible, match="no manifold pressure"):
        larkmoor.manifold_pressure_for_power_pa(0.65, 2400, *standard(4000))


def test_a_two_page_handbook_refuses_power_by_name(small: Callable[..., Airplane]) -> None:
    a = small()
    with pytest.raises(NotPossible, match=r"\[performance.power_chart\]"):
        a.power_ratio(2400, *standard(4000))
    with pytest.raises(NotPossible, match="fuel flow"):
        a.fuel_flow_m3ps(0.65, "full_rich")
    with pytest.raises(NotPossible, match=r"\[performance.climb\]"):
        a.climb_rate_mps(1000.0, 0.0, 288.0)
    with pytest.raises(NotPossible, match="wing_area_ft2"):
        _ = a.wing_area_m2


@pytest.mark.parametrize("name", [*FIXED, "caldmere_200"])
def test_cruise_fuel_flows_come_back_within_their_rounding(airplanes: dict[str, Airplane], name: str) -> None:
    """Rows of equal percent power are averaged: printed to 0.1 gal/h, percent to 1 (about 0.13 gal/h a point)."""
    a = airplanes[name]
    assert a.file.performance.cruise is not None
    for row in a.file.performance.cruise.rows:
        limit = a.engine.leaning_limit
        assert limit is not None
        for mixture in ("full_rich", "best_power", "best_economy"):
            printed = getattr(row, f"gph_{mixture}")
            if printed is None or (mixture != "full_rich" and row.percent_power > 100 * limit.value):
                continue
            flow = a.fuel_flow_m3ps(row.percent_power / 100, mixture) / GPH  # type: ignore[arg-type]
            assert flow == pytest.approx(printed, abs=0.16)


def test_leaning_above_the_limit_is_refused(larkmoor: Airplane) -> None:
    with pytest.raises(NotPossible, match="Leaning is allowed at or below 75 % power, asked 76 %: full rich"):
        larkmoor.fuel_flow_m3ps(0.76, "best_power")
    assert larkmoor.fuel_flow_m3ps(0.75, "best_economy") < larkmoor.fuel_flow_m3ps(0.75, "best_power")


def test_without_a_rule_the_highest_leaned_row_ends_the_leaned_flow(small: Callable[..., Airplane]) -> None:
    """And nobody is told that it is the handbook's limit."""
    rows = [
        {"pressure_altitude_ft": 4000, "rpm": 2300, "percent_power": 60, "gph_best_power": 8.0, "gph_full_rich": 9.0},
        {"pressure_altitude_ft": 4000, "rpm": 2600, "percent_power": 80, "gph_full_rich": 12.0},
    ]
    airplane = small(performance={"cruise": {"rows": rows}})
    limit = airplane.engine.leaning_limit
    assert limit is not None
    assert limit.value == pytest.approx(0.60)
    assert airplane.engine.leaning_rule is None
    said = numbers_for(airplane, Question()).find("leaning_limit").text
    assert said == "the file doesn't say; leaned flow is printed up to 60 % power"
    assert "highest power with a leaned fuel flow" in limit.note


def test_below_the_cruise_table_its_lowest_flow_stands_and_is_marked(larkmoor: Airplane) -> None:
    answer = larkmoor.engine.fuel_flow(0.30, "full_rich")
    assert answer.value == larkmoor.engine.fuel_flow(0.40, "full_rich").value
    assert "below the table" in answer.note


def test_fuel_flow_above_the_table_is_an_estimate_only_when_asked_for(larkmoor: Airplane) -> None:
    """Checked against the climb table: the first 2,000 ft take 3 min and 0.7 gal, which is 12 to 17 gal/h."""
    top = max(r.percent_power for r in larkmoor.file.performance.cruise.rows)  # type: ignore[union-attr]
    with pytest.raises(OutOfRange):
        larkmoor.fuel_flow_m3ps((top + 0.5) / 100, "full_rich")
    estimate = larkmoor.engine.full_power_fuel_flow(1.0)
    assert estimate.how == "fitted model"
    assert 12 < estimate.value / GPH < 15


def test_75_percent_of_160_hp_at_045_pounds_is_9_gallons_published(small: Callable[..., Airplane]) -> None:
    """Worked example K7 [D]. Such a row passes the check of the specific consumption; 34 (liters) does not."""
    from airwork.airplane.check import check_airplane

    def complaints(gph: float) -> list[str]:
        row = {"pressure_altitude_ft": 4000, "rpm": 2500, "percent_power": 75, "gph_best_power": gph}
        return [c.what for c in check_airplane(small(performance={"cruise": {"rows": [row]}}))]

    assert complaints(9.0) == []
    assert any("1.70 lb per hp" in what for what in complaints(34.0))  # 34·6/120


def test_a_book_with_one_leaned_column_still_tells_a_rich_flow_and_says_how(small: Callable[..., Airplane]) -> None:
    """0.57 over 0.47 lb per horsepower and hour (from memory; most sheets print one column)."""
    rows = [
        {"pressure_altitude_ft": 4000, "rpm": rpm, "percent_power": p, "gph_best_power": f}
        for rpm, p, f in ((2300, 55, 6.0), (2400, 65, 7.0), (2500, 75, 8.0))
    ]
    a = small(performance={"cruise": {"rows": rows}})
    rich = a.engine.fuel_flow(0.65, "full_rich")
    assert units.to_unit(rich.value, "gph") == pytest.approx(7.0 * 0.57 / 0.47)
    assert (rich.how, "not printed: best power times 1.21" in rich.note) == ("fitted model", True)
    assert units.to_unit(a.engine.full_power_fuel_flow(1.0).value, "gph") == pytest.approx(10.5 * 0.57 / 0.47)
    assert a.engine.prints_flow
    assert any("no full-rich fuel flow" in words for words in a.assumptions)
    lean = a.engine.fuel_flow(0.65, "best_power")
    assert (units.to_unit(lean.value, "gph"), lean.how) == (pytest.approx(7.0), "handbook table")
    with pytest.raises(NotPossible, match="Leaned fuel flow is printed at or below"):
        a.engine.fuel_flow(0.85, "best_power")


def test_a_printed_row_of_a_governed_engine_is_read_as_printed_published(small: Callable[..., Airplane]) -> None:
    """Worked example J7 [V] PHAK ch. 11 problem 7: 6,000 ft, ISA + 36 °F, 2,450 rpm: 65 %, 11.5 gph.

    Its 21.0 inHg is of the warm row; the chart is made of the standard ones, so that what is asked is the flow.
    """
    row = {"pressure_altitude_ft": 6000, "isa_deviation_c": 20, "rpm": 2450, "manifold_pressure_inhg": 21.0}
    cruise = {"rows": [{**row, "percent_power": 65, "ktas": 161, "gph_best_power": 11.5}]}
    a = small(performance={"cruise": cruise}, propeller={"type": "constant_speed"})
    assert a.fuel_flow_m3ps(0.65, "best_power") / (units.USGAL_M3 / 3600) == pytest.approx(11.5, abs=1e-9)


def test_38_gallons_at_69_an_hour_last_five_and_a_half_hours_published(small: Callable[..., Airplane]) -> None:
    """Worked example J6 [V] PHAK ch. 11 problem 6: 2,400 rpm, 6.9 gph, 38 gal: 5.5 h."""
    from airwork.airplane.numbers import Question, numbers_for

    cruise = [{"pressure_altitude_ft": 5000, "rpm": 2400, "percent_power": 60, "gph_full_rich": 6.9}]
    chart = [{"density_altitude_ft": h, "rpm": n, "percent_power": n / 40} for h in (0, 9000) for n in (2000, 2800)]
    a = small(
        performance={"cruise": {"rows": cruise}, "power_chart": {"rows": chart}},
        fuel={"tanks": [{"name": "main", "capacity_us_gal": 40, "usable_us_gal": 38}]},
    )
    line = numbers_for(a, Question(altitude_m=5000 * FT, rpm=2400)).find("endurance")
    assert line.value is not None
    assert line.value.value / 60 == pytest.approx(5.5, abs=0.05)
