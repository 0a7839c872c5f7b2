"""Wind on the runway, the choice of runway, distances with their factor."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from airwork.airplane import find_airplane_file, load_airplane
from airwork.airplane.runway import at_least, runway_distance, takeoff
from airwork.lesson.day import make_day
from airwork.lesson.reasons_airplane import _distance
from airwork.lesson.runway_plan import choose_runway, components, handbook_surface, plan_runway
from airwork.lesson.style import Style
from airwork.lesson.weather import Wind
from airwork.units import FT_M, KT_MPS, LB_KG
from lesson.lessons import small

RAD = math.pi / 180
STYLE = Style("us", "America/Denver")


def planned(lesson, plane):
    """The runway plan at 2,000 lb, an hour long."""
    day = make_day(lesson, lesson.start_utc_s + 3600)
    return plan_runway(lesson, plane, day, choose_runway(lesson, day), 2000 * LB_KG, 2000 * LB_KG, STYLE)


def wind(direction: float | None, knots: float, gust: float | None = None, **more: float) -> Wind:
    return Wind(None if direction is None else direction * RAD, knots * KT_MPS, None if gust is None else gust * KT_MPS,
                **{k: v * RAD for k, v in more.items()})  # fmt: skip


# Sources: PHAK ch. 11 problem 10 (H1 [V], exact 21.65 and 12.50), H14, H15 [D].
@pytest.mark.parametrize(
    ("runway", "direction", "knots", "head", "cross", "right", "tolerance"),
    [
        (170, 140, 25, 22, 13, False, 0.51),
        (360, 30, 20, 17.32, 10.00, True, 0.01),
        (270, 310, 15, 11.49, 9.64, True, 0.01),
    ],
)
def test_h1_h14_h15_components_published(runway, direction, knots, head, cross, right, tolerance):
    c = components("now", wind(direction, knots), runway * RAD)
    assert c.headwind_mps / KT_MPS == pytest.approx(head, abs=tolerance)
    assert c.crosswind_mps / KT_MPS == pytest.approx(cross, abs=tolerance)
    assert c.from_right is right


def test_the_gust_counts_across_and_the_mean_wind_along():
    c = components("now", wind(90, 10, 20), 360 * RAD)
    assert c.crosswind_mps / KT_MPS == pytest.approx(20)
    c = components("now", wind(360, 10, 20), 360 * RAD)
    assert c.headwind_mps / KT_MPS == pytest.approx(10)


def test_a_wind_without_direction_counts_in_full_across_and_gives_no_headwind():
    c = components("now", wind(None, 7), 360 * RAD)
    assert (c.crosswind_mps / KT_MPS, c.headwind_mps, c.from_right) == (pytest.approx(7), 0.0, None)


def test_a_light_variable_wind_is_no_crosswind():
    """A report may call the direction variable up to 6 kt (AWH 24.4.3.5)."""
    assert components("now", wind(None, 6), 360 * RAD).crosswind_mps == 0.0
    assert components("now", wind(None, 4, 9), 360 * RAD).crosswind_mps / KT_MPS == pytest.approx(9)


def test_a_varying_direction_counts_at_its_worst():
    c = components("now", wind(360, 10, None, varies_from_rad=300, varies_to_rad=90), 360 * RAD)
    assert c.crosswind_mps / KT_MPS == pytest.approx(10)
    assert c.headwind_mps / KT_MPS == pytest.approx(0, abs=1e-9)


ACROSS = '[[place.runways]]\nname = "18"\nheading = "180 deg"\nlength = "4,000 ft"\n[[people]]'
UNKNOWN = '[[place.runways]]\nname = "36"\nlength = "9,000 ft"\n[[people]]'
EAST = '[[place.runways]]\nname = "08"\nheading = "90 deg"\nlength = "3,600 ft"\n[[people]]'
FORECAST = '[weather]\ntaf = "TAF KOGA 201130Z 2012/2112 25012KT P6SM SKC"'


def chosen(changes: dict[str, str]) -> tuple[str | None, str]:
    lesson = small(changes)
    runway, why = choose_runway(lesson, make_day(lesson, lesson.start_utc_s + 3600))
    return None if runway is None else runway.name, why


def test_the_runway_most_into_the_wind_is_taken_among_those_whose_heading_is_known():
    assert chosen({"[[people]]": ACROSS})[0] == "26"
    assert "36" in chosen({"[[people]]": UNKNOWN})[1]


def test_without_wind_the_longest_is_taken_and_without_headings_none():
    assert chosen({"[[people]]": ACROSS, '"240/12G18 kt"': '"calm"'})[0] == "18"
    assert chosen({'heading = "270 deg"\n': ""})[0] is None


def test_a_light_wind_leaves_the_choice_to_what_is_forecast():
    """Calm now, 12 kt from 250 forecast: not the longer 08, which would end in a tailwind."""
    calm = {"[[people]]": EAST, '"240/12G18 kt"': '"calm"', "[weather]": FORECAST}
    assert chosen(calm)[0] == "26"
    assert chosen(calm | {'"240/12G18 kt"': '"090/9 kt"'})[0] == "08"  # what blows goes first


def test_surfaces_in_the_handbooks_words():
    asked = (("paved", False), ("paved", True), ("grass", False), ("grass", True))
    assert [handbook_surface(*a) for a in asked] == [
        ("paved_dry",), ("paved_wet",), ("dry_grass",), ("wet_grass",)
    ]  # fmt: skip
    assert handbook_surface("grass", wet=True, soft=True, snow=True) == ("wet_grass", "soft_ground", "snow")
    assert handbook_surface("gravel", wet=False, soft=True) is None


# Source: the airplane's own handbook table (invented airplane) with a printed rule of +50 % of the roll on soft ground.
def test_wet_and_soft_grass_is_corrected_for_both_one_after_the_other(tmp_path: Path):
    text = find_airplane_file("larkmoor_155").read_text("utf-8")
    soft = '  { cause = "soft_ground", change_percent = 50, applies_to = "ground_roll" },\n'
    head, tail = text.split("[performance.takeoff]")
    file = tmp_path / "larkmoor_155.toml"
    file.write_text(head + "[performance.takeoff]" + tail.replace("corrections = [\n", "corrections = [\n" + soft, 1))
    airplane = load_airplane(file)
    day = 950.0, 1000.0, 288.15, 0.0
    grass, both = (takeoff(airplane, *day, surface) for surface in ("wet_grass", ("wet_grass", "soft_ground")))
    assert both.ground_roll_m == pytest.approx(1.5 * grass.ground_roll_m)
    assert both.over_50_ft_m - grass.over_50_ft_m == pytest.approx(0.5 * grass.ground_roll_m)
    assert handbook_surface("gravel", False) is None
    assert handbook_surface(None, False) is None


# Source: the airplane's takeoff table (invented): 2,000 lb, 4,000 ft, 20 °C: roll 1,015, over 50 ft 2,250 ft; the
# factor on top is the usual 1.33 (UK SafetySense 7c, from memory [M]).
def test_the_distance_is_the_tables_with_the_factor_on_top(larkmoor):
    lesson = small(
        {'"3,279 ft"': '"4,000 ft"', '"240/12G18 kt"': '"calm"', '"18 °C"': '"20 °C"', '"30.02 inHg"': '"29.9213 inHg"'}
    )
    plan = planned(lesson, larkmoor)
    assert plan.takeoff.ground_roll_m / FT_M == pytest.approx(1015, abs=1)
    assert plan.takeoff.over_50_ft_m / FT_M == pytest.approx(2250, abs=2)
    assert plan.takeoff.needed_m == pytest.approx(1.33 * plan.takeoff.over_50_ft_m)


@pytest.mark.parametrize(
    ("ground", "length", "level"),
    [("grass", "3,500 ft", "unknown"), ("grass", "2,300 ft", "unknown"), ("grass", "1,650 ft", "no-go"),
     ("gravel", "1,300 ft", "no-go"), ("gravel", "3,500 ft", "unknown")],
)  # fmt: skip
def test_a_worse_runway_gives_no_better_verdict(larkmoor, ground, length, level):
    """No factor for soft ground or gravel: without it the takeoff alone is longer than a short runway."""
    on = {'surface = "paved"': f'surface = "{ground}"'}
    soft = on | {'"3,500 ft"': f'"{length}"', '"3,279 ft"': '"3,279 ft"\nsoft = true'}
    off = planned(small(soft), larkmoor).takeoff
    on = on if ground == "grass" else {}
    assert off.needed_m is None
    assert off.least_m == pytest.approx(planned(small(on), larkmoor).takeoff.over_50_ft_m)
    said = _distance("takeoff", "26", off, STYLE)
    assert said.level == level
    assert ("even without it" in said.text) == (off.least_m * 1.33 > off.available_m)


def test_a_tailwind_no_rule_is_for_leaves_the_calm_distance_as_the_least(larkmoor):
    """30 m/s is more than its rule covers; snow has none. Both only lengthen."""
    day = (950.0, 1000.0, 288.15)
    least = at_least("takeoff", larkmoor, *day, -30.0, ("dry_grass", "snow"), 0.0, 1.0)
    grass = runway_distance("takeoff", larkmoor, *day, surface="dry_grass")
    assert least.over_50_ft_m == pytest.approx(grass.over_50_ft_m)
    assert at_least("takeoff", larkmoor, 9000.0, 1000.0, 288.15, 0.0, ("snow",), 0.0, 1.0) is None


def test_a_pilots_own_factor_wins_when_it_is_larger(larkmoor):
    more = {"[[exercises]]": "[student.limits]\nrunway_factor = 1.8\n[[exercises]]"}
    lesson = small(more)
    plan = planned(lesson, larkmoor)
    assert plan.takeoff.factor == 1.8
    assert plan.landing.factor == 1.8


def test_what_the_table_does_not_reach_is_unknown_with_the_reason(larkmoor):
    lesson = small({'"18 °C"': '"55 °C"'})
    plan = planned(lesson, larkmoor)
    assert plan.takeoff.needed_m is None
    assert "outside" in plan.takeoff.problem


# AFH ch. 9: approach faster by half the gust factor (70 kt with 15 kt of gusts: 77 kt). PHAK ch. 11: a landing with
# more speed is longer by the square of it (10 % more: 21 %).
def test_gusts_lengthen_the_landing_by_the_square_of_the_faster_approach_published(larkmoor):
    calm, gusty = (planned(x, larkmoor) for x in (small({"12G18 kt": "12 kt"}), small({"12G18 kt": "12G24 kt"})))
    assert gusty.approach_more_mps / KT_MPS == pytest.approx(6.0)
    approach = larkmoor.speed_cas_mps("approach_flaps_full", 2000 * LB_KG)
    factor = ((approach + 6 * KT_MPS) / approach) ** 2
    assert gusty.landing.over_50_ft_m / calm.landing.over_50_ft_m == pytest.approx(factor)
    assert gusty.takeoff == calm.takeoff
    assert any("gusts" in step for step in gusty.landing.steps)


def test_rain_makes_the_runway_wet_for_the_landing(larkmoor):
    rain = small({"[weather]": '[weather]\ntaf = "TAF KOGA 201130Z 2012/2112 24012KT P6SM BKN090 TEMPO 2012/2018 -RA"'})
    plan = planned(rain, larkmoor)
    dry = planned(small(), larkmoor)
    assert (plan.landing.surface, plan.takeoff.surface) == ("paved_wet", "paved_dry")
    assert plan.landing.needed_m > dry.landing.needed_m
