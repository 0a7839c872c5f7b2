"""The numbers of the moment, held against the tables and formulas they come from."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from airwork.lesson.plan import Planned
from airwork.live.card import Card
from airwork.live.now import Moment
from airwork.live.reading import Sample
from airwork.live.watch import Watch
from airwork.units import from_unit, to_unit


def seen(plan: Planned, **more: float) -> Watch:
    """Level over the field's position at 6,500 ft, 100 kt, in cruise."""
    place = plan.lesson.place
    values = {"latitude_rad": place.latitude_rad, "longitude_rad": place.longitude_rad, "track_rad": 0.0,
              "indicated_altitude_m": from_unit(6500.0, "ft"), "ias_mps": from_unit(100.0, "kt"), "rpm": 2400.0,
              "groundspeed_mps": from_unit(100.0, "kt"), "bank_rad": 0.0, **more}  # fmt: skip
    watch = Watch()
    watch.take(Sample("sim", 0.0, math.nan, values))
    return watch


def moment(plan: Planned, watch: Watch, **more: float) -> Moment:
    return replace(Moment(watch, 0.5, plan.lesson.start_utc_s + 1800.0, 1800.0), **more)


def test_the_margin_falls_with_the_root_of_the_load(plan: Planned) -> None:
    """60° of bank is 2 g: the stall speed is √2 times as high (V_s ∝ √n, [PHAK] ch. 5)."""
    card = Card(plan)
    level = card.margin_mps(moment(plan, seen(plan)))
    banked = card.margin_mps(moment(plan, seen(plan, bank_rad=math.radians(60.0))))
    stall, dial = float(plan.airplane.stall_cas_mps(plan.planner.mass_kg)), plan.airplane.ias_from_cas_mps
    assert level - banked == pytest.approx(dial(stall * math.sqrt(2.0)) - dial(stall), rel=1e-6)
    measured = card.margin_mps(moment(plan, seen(plan, bank_rad=math.radians(60.0), load_factor=1.0)))
    assert measured == pytest.approx(level)  # a measured load wins over the bank


def test_leaning_is_allowed_up_to_the_handbooks_limit(plan: Planned) -> None:
    limit = plan.airplane.engine.leaning_limit
    assert limit is not None
    for ratio, word in ((limit.value, "may lean"), (limit.value + 0.01, "rich")):
        item = Card(plan).power(moment(plan, seen(plan, power_ratio=ratio)))
        assert item is not None
        assert word in item.label
        assert f"{100 * limit.value:.0f} %" in item.why
    lean = 0.8 * plan.airplane.fuel_flow_m3ps(limit.value, "full_rich")
    item = Card(plan).power(moment(plan, seen(plan, power_ratio=limit.value + 0.01, fuel_flow_m3ps=lean)))
    assert item is not None
    assert item.level == "act"


def test_the_time_to_turn_for_home_is_fuel_above_what_is_needed_over_the_flow(plan: Planned) -> None:
    """One gallon more aboard is one gallon's time more; none left is now.

    Counted at the plan's flow, not at the trickle of slow flight; at more where this flight has burned more than the
    plan to the same minute, its climb and all. What is needed is what the card's latest time is worked out with.
    """
    flow, trickle = plan.briefing.fuel.going_on_m3ps, from_unit(4.0, "gph")
    card = Card(plan)
    planned = sum(leg.fuel_m3 * min(max(1800.0 - leg.start_s, 0.0) / leg.duration_s, 1.0)
                  for leg in plan.flight.legs if leg.duration_s)  # fmt: skip
    twenty = from_unit(20.0, "gal")
    thirsty = card.home_s(moment(plan, seen(plan, fuel_total_m3=twenty), burned_m3=2.0 * planned))
    climbed = Card(plan).home_s(moment(plan, seen(plan, fuel_total_m3=twenty), burned_m3=planned))
    first = card.home_s(moment(plan, seen(plan, fuel_total_m3=from_unit(20.0, "gal"), fuel_flow_m3ps=trickle)))
    more = card.home_s(moment(plan, seen(plan, fuel_total_m3=from_unit(21.0, "gal"), fuel_flow_m3ps=trickle)))
    assert first is not None
    assert more is not None
    assert thirsty is not None
    assert more[0] - first[0] == pytest.approx(from_unit(1.0, "gal") / flow)
    # twice the plan's in the half hour flown, the plan's in as long again
    assert thirsty[0] == pytest.approx(first[0] / 1.5, rel=0.05)
    assert climbed is not None
    assert climbed[0] == pytest.approx(first[0], rel=1e-6)  # as planned: no quarter of an hour lost in the climb
    needed = first[2] + plan.briefing.fuel.turn_home_m3 - plan.briefing.fuel.home_m3
    assert first[0] == pytest.approx((from_unit(20.0, "gal") - needed) / flow)
    item = Card(plan).home(moment(plan, seen(plan, fuel_total_m3=needed - 1e-4, fuel_flow_m3ps=flow)))
    assert item is not None
    assert (item.text, item.level) == ("now", "act")


def test_the_time_to_turn_for_home_does_not_jump_after_a_thirsty_taxi(plan: Planned) -> None:
    """Three tenths of a gallon more than planned before takeoff: minutes are lost, once, and come back by no jump."""
    aboard, extra = from_unit(20.0, "gal"), from_unit(0.3, "gal")
    ends = [0.0, *(leg.end_s for leg in plan.flight.legs)]
    burned = np.cumsum([0.0, *(leg.fuel_m3 for leg in plan.flight.legs)])
    card, watch = Card(plan), seen(plan, fuel_total_m3=aboard)
    times = [
        card.home_s(moment(plan, watch, elapsed_s=at, burned_m3=float(np.interp(at, ends, burned)) + extra))[0]
        for at in np.arange(60.0, 1800.0, 60.0)
    ]
    as_planned = card.home_s(moment(plan, watch))[0]
    assert max(abs(np.diff(times))) < 60.0
    assert all(0.9 * as_planned < one < as_planned for one in times)


def test_the_floor_is_the_higher_of_the_areas_and_the_exercises(plan: Planned) -> None:
    """Slow flight is to end no lower than 1,500 ft above ground (PA.VII.A, [S1]): the floor on the card."""
    where, area = Card(plan).where, plan.lesson.area
    of_stalls = plan.flight.runs[0].set_up
    assert of_stalls.floor_m > area.floor_m
    assert where.floor(moment(plan, seen(plan), exercise=0)) == (of_stalls.floor_m, f" ({of_stalls.floor_why})")
    assert where.floor(moment(plan, seen(plan))) == (area.floor_m, "")
    floor = next(i for i in where.items(moment(plan, seen(plan), exercise=0)) if i.key == "floor")
    assert floor.text == plan.briefing.style.altitude(from_unit(6500.0, "ft") - of_stalls.floor_m)


def test_glide_counts_the_wind_and_says_when_no_place_is_in_reach(plan: Planned) -> None:
    """Over the field everything above it is spare; far off and low nothing is."""
    card = Card(plan)
    above = card.where.glide_place(moment(plan, seen(plan), wind_from_rad=0.0, wind_mps=0.0))
    assert above is not None
    assert above[1] > 0.0
    place = plan.lesson.place
    far = seen(plan, latitude_rad=place.latitude_rad + 0.01, indicated_altitude_m=(place.elevation_m or 0.0) + 300.0)
    item = Card(plan).where.glide(moment(plan, far))
    assert item is not None
    assert item.text == "no place"


def test_a_number_that_needs_what_is_old_is_not_there(plan: Planned) -> None:
    late = moment(plan, seen(plan), now_s=5.0)
    shown = {i.key for i in Card(plan).items(late)}
    assert not shown & {"home", "margin", "edge", "floor", "glide", "power"}


def test_the_lessons_numbers_follow_the_weight(plan: Planned) -> None:
    """40 gallons lighter the stall is lower, by the root of the weight (V ∝ √W)."""
    card = Card(plan)
    heavy = card.set_up(0, moment(plan, seen(plan)))
    light = card.set_up(0, moment(plan, seen(plan), burned_m3=from_unit(40.0, "gal")))
    assert heavy is not None
    assert light is not None
    assert light.targets["ias_mps"] < heavy.targets["ias_mps"]
    assert to_unit(heavy.targets["ias_mps"] - light.targets["ias_mps"], "kt") < 8.0


def test_a_position_beyond_the_fuels_reach_is_said_and_nothing_is_worked_out_from_it(plan: Planned) -> None:
    """Half a great circle away: no way home of hundreds of minutes, no area, no glide; just inside the reach all of it.

    Range = time on the fuel aboard × true airspeed, [PHAK] ch. 16.
    """
    card = Card(plan)
    fuel = plan.briefing.fuel
    reach = card.where.range_m
    knots = to_unit(reach / (fuel.aboard_m3 / fuel.cruise_flow_m3ps), "kt")
    assert 70.0 < knots < 140.0
    place, radius = plan.lesson.place, 6_371_000.0
    for share, near in ((0.9, True), (1.1, False)):
        north = seen(plan, latitude_rad=place.latitude_rad + share * reach / radius)
        shown = {i.key for i in Card(plan).items(moment(plan, north))}
        assert ({"home", "edge", "glide"} <= shown) is near
        assert ("place" in shown) is not near
