"""The card that keeps time: the lesson's plan and the readings of the moment → the numbers that count now.

Every number says what it is from; a number that needs what isn't fresh isn't there. No clock here, no screen.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from airwork.airdata.angles import wrap_positive_rad
from airwork.airdata.column import AirColumn
from airwork.airplane import Airplane
from airwork.errors import AirworkError
from airwork.lesson.flight_plan import Asking
from airwork.lesson.legs import time_fuel_home
from airwork.lesson.plan import Planned
from airwork.live.now import Item, Level, Moment, air_now, altitude_m
from airwork.live.whereabouts import Whereabouts
from airwork.maneuvers.setup import NEAR_STALL_MPS, SetUp
from airwork.maneuvers.tank_change import NAMES as TANK_NAMES
from airwork.units import KT_MPS, to_unit

CRUISE_SHARE = 0.6  # taken for the flow where nothing is recorded of the engine
FLYING_MPS = 20.0
PLAN_SPEAKS_S = 1800.0  # of flight at the planned flow, beside what was flown; common practice has no number for it
HOME_S = 5.0  # the way home is worked out anew so often: it changes by seconds in that time
MOST_SET_UPS = 64
MARGIN_ACT_MPS, MARGIN_LOOK_MPS = NEAR_STALL_MPS, 10 * KT_MPS


@dataclass
class Card:
    """Works out the items of a moment. Keeps what was worked out anew of the lesson's numbers."""

    plan: Planned
    where: Whereabouts = field(init=False)
    _set_ups: dict[tuple[int, ...], SetUp | None] = field(default_factory=dict)
    _home: tuple[float, tuple[float, float] | None] = (-math.inf, None)

    def __post_init__(self) -> None:
        """The same plan for the map."""
        self.where = Whereabouts(self.plan)

    def items(self, at: Moment) -> list[Item]:
        """All numbers that can be had now, in the order of the card."""
        out = [self.power(at), self.tank(at), self.home(at), self.margin(at)]
        out += [*self.where.items(at), self.wind(at)]
        return [item for item in out if item is not None]

    # --- air and weight of the moment ---

    def mass_kg(self, at: Moment) -> float:
        """Mass now. [kg]"""
        return self.plan.planner.mass_after(at.burned_m3)

    # --- the numbers ---

    def power_ratio(self, at: Moment) -> tuple[float, str]:
        """Share of rated power and where it is from; NaN where it can't be had. [1]"""
        measured = at.value("power_ratio")
        if math.isfinite(measured):
            return measured, "as received"
        rpm, here = at.value("rpm"), altitude_m(at)
        manifold = at.value("manifold_pressure_pa")
        if not math.isfinite(rpm) or not math.isfinite(here):
            return math.nan, ""
        air = air_now(self.plan, at)
        try:
            ratio = self.plan.airplane.power_ratio(
                rpm, float(air.pressure_altitude_m(here)), float(air.temperature_at_k(here)),
                manifold if math.isfinite(manifold) else None,
            )  # fmt: skip
        except AirworkError:
            return math.nan, "outside the power chart"
        return ratio, "engine speed and the handbook's power chart"

    def power(self, at: Moment) -> Item | None:
        """Percent power, and whether it may be leaned."""
        ratio, how = self.power_ratio(at)
        if not math.isfinite(ratio):
            return Item("power", "power", "–", how, "plain") if how else None
        limit = self.plan.airplane.engine.leaning_rule
        percent = f"{100.0 * ratio:.0f} %"
        if limit is None:
            return Item("power", "power", percent, f"{how}; the airplane file has no leaning rule")
        if ratio <= limit.value + 1e-9:
            return Item("power", "power: may lean", percent, f"at or below {100.0 * limit.value:.0f} %; {how}")
        leaned = self._leaned(at, ratio)
        level: Level = "act" if leaned else "plain"
        why = f"above {100.0 * limit.value:.0f} %; {how}" + (
            "; the fuel flow is that of a leaned engine" if leaned else ""
        )
        return Item("power", "power: rich", percent, why, level)

    def _leaned(self, at: Moment, ratio: float) -> bool:
        """The flow is well below full rich: 12 % leaves room for a flow meter's error."""
        flow = at.value("fuel_flow_m3ps")
        try:
            return math.isfinite(flow) and flow < 0.88 * self.plan.airplane.fuel_flow_m3ps(ratio, "full_rich")
        except AirworkError:
            return False

    def flow_m3ps(self, at: Moment) -> tuple[float, str]:
        """Fuel flow and where it is from. [m³/s]"""
        flow = at.value("fuel_flow_m3ps")
        if math.isfinite(flow):
            return flow, "fuel flow as received"
        ratio, _ = self.power_ratio(at)
        share, how = (ratio, "from the power") if math.isfinite(ratio) else (CRUISE_SHARE, "taken at 60 % power")
        try:
            return self.plan.airplane.fuel_flow_m3ps(share, "full_rich"), f"full-rich flow {how}"
        except AirworkError:
            return self.plan.briefing.fuel.cruise_flow_m3ps, "flow of the plan's cruise"

    def fuel_m3(self, at: Moment) -> tuple[float, str]:
        """Fuel aboard and where it is from. [m³]"""
        total = at.value("fuel_total_m3")
        both = at.value("fuel_left_m3") + at.value("fuel_right_m3")
        for value in (total, both):
            if math.isfinite(value):
                return value, "gauges as received"
        return self.plan.briefing.fuel.aboard_m3 - at.burned_m3, "as planned, less what was burned"

    def tank(self, at: Moment) -> Item | None:
        """The tank in use, when to change, and the difference."""
        code, tanks = at.value("tank"), self.plan.briefing.tanks
        if not tanks.selectable:
            return None
        feeding = TANK_NAMES.get(round(code), "") if math.isfinite(code) else ""
        planned = [p for p in tanks.points if p.time_s <= at.elapsed_s]
        name, how = (feeding, "") if feeding else (planned[-1].feeding if planned else "", "by the plan")
        left, right = at.value("fuel_left_m3"), at.value("fuel_right_m3")
        unit = self.plan.briefing.style.fuel_unit
        apart = f", {abs(to_unit(left - right, unit)):.0f} {unit} apart" if math.isfinite(left + right) else ""
        due = self.tank_due_s(at)
        if due is None:
            return Item("tank", "tank", f"{name}{apart}", how or "no change planned any more")
        text = f"{name} · change now" if due <= 0.0 else f"{name} · {math.ceil(due / 60.0):.0f} min"
        return Item("tank", "tank", text + apart, f"then {self.next_tank(at)}; {how or 'selector as received'}",
                    "act" if due <= 0.0 else "look" if due < 120.0 else "plain")  # fmt: skip

    def _next_change(self, at: Moment) -> tuple[float, str] | None:
        """The first planned change that was not made: (its time from the start, to which tank)."""
        code = at.value("tank")
        feeding = TANK_NAMES.get(round(code), "") if math.isfinite(code) else ""
        for change in self.plan.briefing.tanks.changes:
            made = bool(feeding) and change.time_s <= at.elapsed_s + 300.0 and feeding == change.to_tank
            passed = not feeding and change.time_s <= at.elapsed_s - 120.0
            later = [c for c in self.plan.briefing.tanks.changes if change.time_s < c.time_s <= at.elapsed_s]
            if not made and not passed and not later:
                return change.time_s, change.to_tank
        return None

    def tank_due_s(self, at: Moment) -> float | None:
        """Time to the next change of tank, negative when it is overdue; None when there is none. [s]"""
        found = self._next_change(at)
        return None if found is None else found[0] - at.elapsed_s

    def next_tank(self, at: Moment) -> str:
        found = self._next_change(at)
        return "" if found is None else found[1]

    def home_s(self, at: Moment) -> tuple[float, float, float, str] | None:
        """(time left before turning for home [s], way home [s], fuel for it [m³], by what); None without a position."""
        spot, here = self.where.position(at), altitude_m(at)
        if spot is None or not math.isfinite(here):
            return None
        if not 0.0 <= at.now_s - self._home[0] < HOME_S:
            self._home = at.now_s, self._way_home(at, spot, here)
        if self._home[1] is None:
            return None
        time_s, fuel = self._home[1]
        aboard, plan = self.fuel_m3(at)[0], self.plan.briefing.fuel
        landing = plan.turn_home_m3 - plan.home_m3  # a second pattern, the reserve: as on the card
        # not the flow of the moment: slow flight at little power would promise hours that the way on doesn't have
        left, by = (aboard - fuel - landing) / (plan.going_on_m3ps * self._over_plan(at)), "fuel"
        if plan.turn_home_by == "daylight":
            latest = self.plan.lesson.start_utc_s + plan.turn_home_s + plan.home_s - time_s
            if latest - at.utc_s < left:
                left, by = latest - at.utc_s, "daylight"
        return left, time_s, fuel, by

    def _over_plan(self, at: Moment) -> float:
        """What this flight burned against the plan to the same minute, climb and all; 1 where it is less. [1]

        The plan speaks for half an hour of flight more: a taxi longer than planned promises no thirsty engine.
        """
        plan, legs = self.plan.briefing.fuel, self.plan.flight.legs
        ends = np.array([0.0, *(leg.end_s for leg in legs)])
        burned = np.concatenate([[0.0], np.cumsum([leg.fuel_m3 for leg in legs])])
        beyond = max(at.elapsed_s - float(ends[-1]), 0.0) * plan.cruise_flow_m3ps
        planned = float(np.interp(at.elapsed_s, ends, burned)) + beyond
        spoken = PLAN_SPEAKS_S * plan.going_on_m3ps
        return max((at.burned_m3 + spoken) / (planned + spoken), 1.0)

    def _way_home(self, at: Moment, spot: tuple[float, float], here_m: float) -> tuple[float, float] | None:
        planner = replace(self.plan.planner, air=air_now(self.plan, at), cruises={})
        try:
            return time_fuel_home(planner, spot, here_m, self.mass_kg(at))
        except AirworkError:
            return None

    def home(self, at: Moment) -> Item | None:
        """Time and fuel to turn for home."""
        found = self.home_s(at)
        if found is None:
            return None
        left, time_s, fuel, by = found
        style, (_, how) = self.plan.briefing.style, self.fuel_m3(at)
        reserve = style.fuel(self.plan.briefing.fuel.reserve_m3)
        way = f"home from here {time_s / 60.0:.0f} min, {style.fuel(fuel)}, one more pattern, reserve {reserve}"
        if left <= 0.0:
            return Item("home", "turn for home", "now", f"by {by}; {way}; {how}", "act")
        return Item("home", "turn for home", f"in {left / 60.0:.0f} min", f"by {by}; {way}; {how}",
                    "look" if left < 600.0 else "plain")  # fmt: skip

    def margin_mps(self, at: Moment) -> float:
        """Airspeed less the stall speed at this weight, flap, bank or load, on the dial where it is told there, else
        calibrated; NaN not known. [m/s]
        """
        airplane = self.plan.airplane
        notch = at.value("flap_notch")
        if not math.isfinite(notch):
            notch = float(airplane.notches_at(at.value("flap_deg")))
        flap = round(notch) if math.isfinite(notch) else 0
        cas, ias = at.value("cas_mps"), at.value("ias_mps")
        load, bank = at.value("load_factor"), at.value("bank_rad")
        n = load if math.isfinite(load) else 1.0 / max(math.cos(bank), 0.2) if math.isfinite(bank) else 1.0
        try:
            stall = float(airplane.stall_cas_mps(self.mass_kg(at), flap, max(n, 0.3)))
        except AirworkError:
            return math.nan
        try:
            if math.isfinite(ias):
                return ias - float(airplane.ias_from_cas_mps(stall, flap))
        except AirworkError:  # the calibration is not printed so far down
            pass
        try:
            return (cas if math.isfinite(cas) else float(airplane.cas_from_ias_mps(ias, flap))) - stall
        except AirworkError:
            return math.nan

    def margin(self, at: Moment) -> Item | None:
        """Margin to the stall in this bank and flap, on the airplane's dial."""
        margin, airplane = self.margin_mps(at), self.plan.airplane
        speed = at.value("ias_mps")
        if not math.isfinite(margin) or speed < FLYING_MPS:
            return None
        bank = at.value("bank_rad")
        shown = to_unit(margin, airplane.dial_unit)
        with_bank = (
            f"at {math.degrees(abs(bank)):.0f}° of bank" if math.isfinite(bank) else "bank not known: wings level"
        )
        level: Level = "act" if margin < MARGIN_ACT_MPS else "look" if margin < MARGIN_LOOK_MPS else "plain"
        return Item("margin", "above the stall", f"{shown:.0f} {airplane.dial_unit}",
                    f"{with_bank}, this weight and flap", level)  # fmt: skip

    def wind(self, at: Moment) -> Item | None:
        if not math.isfinite(at.wind_mps):
            return None
        degrees = round(math.degrees(wrap_positive_rad(at.wind_from_rad)) / 5.0) * 5 or 360
        text = "calm" if at.wind_mps < KT_MPS else f"{degrees:03d}° {at.wind_mps / KT_MPS:.0f} kt"
        return Item("wind", "wind", text, f"true; {at.wind_how}")

    # --- the lesson's numbers, for the wind and weight of now ---

    def set_up(self, index: int, at: Moment) -> SetUp | None:
        """An exercise's set-up for the air, wind and weight of now; as briefed where it can't be worked out anew."""
        runs = self.plan.flight.runs
        if not 0 <= index < len(runs):
            return None
        run, air, mass = runs[index], air_now(self.plan, at), self.mass_kg(at)
        wind = (round(at.wind_mps / 2.0), round(at.wind_from_rad / 0.2)) if math.isfinite(at.wind_mps) else (0, 0)
        key = (index, round(mass / 10.0), round(air.setting_pa / 100.0), round(air.isa_deviation_k), *wind)
        if key not in self._set_ups:
            if len(self._set_ups) >= MOST_SET_UPS:
                self._set_ups.clear()
            self._set_ups[key] = self._anew(index, air, mass) or run.set_up
        return self._set_ups[key]

    def _anew(self, index: int, air: AirColumn, mass_kg: float) -> SetUp | None:
        plan, run = self.plan, self.plan.flight.runs[index]
        asking = Asking(plan.lesson, plan.planner, plan.standard, plan.day, plan.briefing.runway.runway)
        try:
            return asking.run(run.number, run.exercise, mass_kg, air).set_up
        except AirworkError:
            return None


def dial_targets(set_up: SetUp, airplane: Airplane) -> Mapping[str, str]:
    """A set-up's targets as the dials show them."""
    out = {}
    for key, value in set_up.targets.items():
        if key == "ias_mps":
            out["speed"] = f"{to_unit(value, airplane.dial_unit):.0f} {airplane.dial_unit}"
        elif key == "bank_rad":
            out["bank"] = f"{math.degrees(value):.0f}°"
        elif key == "altitude_m":
            out["altitude"] = f"{to_unit(value, 'ft'):,.0f} ft"
    return out
