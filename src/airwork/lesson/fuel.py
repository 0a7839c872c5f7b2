"""Fuel for the lesson: burned, left, the legal reserve, when to turn for home, and what one more try costs. SI."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from airwork.lesson.exercises import Run
from airwork.lesson.legs import BETWEEN_S, PATTERN_S, Leg, Planner, time_fuel_home
from airwork.lesson.path import Laid
from airwork.lesson.rules import Reserve, legal_reserve


@dataclass(frozen=True, slots=True)
class OneMore:
    """Flying one exercise once more: what it takes, and what stays above the reserve at landing (negative: short)."""

    run: int
    title: str
    time_s: float
    fuel_m3: float
    spare_after_m3: float
    landing_utc_s: float


@dataclass(frozen=True, slots=True)
class FuelPlan:
    """Fuel and time of the lesson. Times from the engine's start unless `utc`.

    reserve_m3 : the larger of the rule's and the user's own, at normal cruise.
    turn_home_m3 : fuel aboard with which to turn for home, wherever in the area: way home, landing, a second pattern,
        taxi in, reserve. turn_home_s : latest time for it, by fuel and by daylight; `turn_home_by` says which.
    going_on_m3ps : flow while the lesson goes on as planned, no less than in cruise.
    spare_m3 : above the reserve at engine off, as planned.
    """

    aboard_m3: float
    burned_m3: float
    left_m3: float
    time_s: float
    cruise_flow_m3ps: float
    legal: Reserve
    reserve_s: float
    reserve_how: str
    reserve_m3: float
    spare_m3: float
    home_s: float
    home_m3: float
    turn_home_m3: float
    turn_home_s: float
    turn_home_by: str
    going_on_m3ps: float
    planned_turn_home_s: float
    one_more: tuple[OneMore, ...]


def plan_fuel(
    planner: Planner,
    legs: Sequence[Leg],
    runs: Sequence[Run],
    laid: Mapping[int, Laid],
    aboard_m3: float,
    *,
    start_utc_s: float,
    night: bool,
    sunset_utc_s: float | None,
    own_reserve_s: float | None,
) -> FuelPlan:
    """The fuel plan of the legs.

    Parameters
    ----------
    night : the landing falls in the night (by civil twilight); decides the legal reserve.
    sunset_utc_s : sunset of the day for a lesson that is to end by daylight; None when it doesn't matter.
    own_reserve_s : the lesson's own reserve; it counts where it is the longer one.
    """
    legal = legal_reserve(planner.plan.rules, night, planner.plan.stays_at_aerodrome)
    reserve_s, how = legal.time_s, legal.source
    if own_reserve_s is not None and own_reserve_s > legal.time_s:
        reserve_s, how = own_reserve_s, "own reserve"
    burned, time = sum(leg.fuel_m3 for leg in legs), legs[-1].end_s
    cruise = planner.cruise(max(planner.pattern_m, *(leg.altitude_to_m for leg in legs)), planner.mass_kg)
    reserve = reserve_s * cruise.fuel_flow_m3ps
    spare = aboard_m3 - burned - reserve
    home_s, home = _farthest_home(planner, legs, laid, burned)
    pattern = planner.cruise(planner.pattern_m, planner.mass_after(burned)).fuel_flow_m3ps * PATTERN_S
    turn_home = home + pattern + reserve
    planned = next((leg.start_s for leg in legs if leg.kind in {"return", "pattern"}), time)
    going_on = max(_working_flow_m3ps(legs, planned), cruise.fuel_flow_m3ps)
    by_fuel = _time_of(legs, aboard_m3, turn_home, planned, going_on)
    by, latest = "fuel", by_fuel
    if sunset_utc_s is not None and sunset_utc_s - home_s - start_utc_s < latest:
        by, latest = "daylight", sunset_utc_s - home_s - start_utc_s
    return FuelPlan(
        aboard_m3=aboard_m3,
        burned_m3=burned,
        left_m3=aboard_m3 - burned,
        time_s=time,
        cruise_flow_m3ps=cruise.fuel_flow_m3ps,
        legal=legal,
        reserve_s=reserve_s,
        reserve_how=how,
        reserve_m3=reserve,
        spare_m3=spare,
        home_s=home_s,
        home_m3=home,
        turn_home_m3=turn_home,
        turn_home_s=latest,
        turn_home_by=by,
        going_on_m3ps=going_on,
        planned_turn_home_s=planned,
        one_more=_one_more(planner, legs, runs, spare, start_utc_s + time),
    )


def _farthest_home(
    planner: Planner, legs: Sequence[Leg], laid: Mapping[int, Laid], burned_m3: float
) -> tuple[float, float]:
    """The longest way home from the end of any exercise, by fuel. (time [s], fuel [m³])"""
    mass = planner.mass_after(burned_m3)
    options = [
        time_fuel_home(planner, (float(p.east_m[i]), float(p.north_m[i])), float(p.altitude_m[i]), mass)
        for p in laid.values()
        for i in (0, -1)
    ]
    if not options:  # no path was laid: the way home as planned
        tail = [leg for leg in legs if leg.kind in {"return", "pattern", "landing"}]
        return sum(leg.duration_s for leg in tail), sum(leg.fuel_m3 for leg in tail)
    return max(options, key=lambda option: option[1])


def _working_flow_m3ps(legs: Sequence[Leg], planned_s: float) -> float:
    """Mean flow from the climb to the planned way home. [m³/s]"""
    air = [x for x in legs if x.start_s < planned_s and x.kind in {"exercise", "between", "transit", "climb"}] or legs
    return sum(x.fuel_m3 for x in air) / max(sum(x.duration_s for x in air), 1.0)


def _time_of(legs: Sequence[Leg], aboard_m3: float, wanted_m3: float, planned_s: float, flow_m3ps: float) -> float:
    """When the fuel aboard comes down to an amount, if the lesson were to go on after its plan at a flow. [s]"""
    if aboard_m3 < wanted_m3:
        return legs[0].start_s
    left = aboard_m3
    for leg in (leg for leg in legs if leg.start_s < planned_s):
        if left - leg.fuel_m3 < wanted_m3:
            return leg.start_s + (left - wanted_m3) / leg.fuel_m3 * leg.duration_s
        left -= leg.fuel_m3
    return planned_s + (left - wanted_m3) / flow_m3ps


def _one_more(
    planner: Planner, legs: Sequence[Leg], runs: Sequence[Run], spare_m3: float, landing_utc_s: float
) -> tuple[OneMore, ...]:
    """Each exercise once more, with setting it up again."""
    between = BETWEEN_S if planner.plan.between_s is None else planner.plan.between_s
    out, seen = [], set()
    for run in runs:
        if run.set_up is None or run.exercise in seen:
            continue
        seen.add(run.exercise)
        lead = next((leg for leg in legs if leg.kind == "between"), None)
        flow = (
            lead.fuel_m3 / lead.duration_s
            if lead
            else planner.cruise(run.set_up.entry_altitude_m, planner.mass_kg).fuel_flow_m3ps
        )
        fuel, time = run.fuel_m3 + between * flow, run.duration_s + between
        out.append(OneMore(run.number, run.title, time, fuel, spare_m3 - fuel, landing_utc_s + time))
    return tuple(out)
