"""What every landing shares: approach speed for today's weight, power and sink on 3°, what makes it stable. SI."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from airwork import units
from airwork.airdata.descent import path_descent_rate_mps
from airwork.airplane.runway import landing
from airwork.errors import AirworkError
from airwork.maneuvers.paths.flown_ideal import STEP_S, FlownIdeal
from airwork.maneuvers.setting_up import power_lines
from airwork.maneuvers.setting_up.heights import FT
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Conditions, Order, SetUp, Trace

PATH_RAD = math.radians(3.0)  # [AFH] ch. 9: about 3°
PATTERN_M = 1000 * FT  # [AFH] ch. 8: 1,000 ft above the airport is usual
FINAL_M = 500 * FT  # where the room's path begins
FLARE_M = 15 * FT  # [AFH] ch. 9: 10 to 20 ft
APPROACH_SHARE = 1.3  # of the stall in landing configuration ([AFH] ch. 9)
STABLE = "By 300 ft above the field: speed +10/−5 kt, path, bank ≤ 15°, sink ≤ 500 fpm or so; else go around"
GUST = "Gusts: add half of the gust factor to the approach speed, [AFH] ch. 9."


@dataclass(frozen=True, slots=True)
class Arrival:
    """Numbers of an approach. Speeds indicated."""

    notch: int
    approach_mps: float
    sink_mps: float
    power: power_lines.Power
    roll_m: float | None


def approach_ias(ws: Worksheet, notch: int, share: float = APPROACH_SHARE, name: str = "") -> tuple[float, str]:
    """(approach speed as on the dial, its source): the handbook's for today's weight, else a share of the stall."""
    names = [n for n in (name, "approach_flaps_full" if notch == ws.airplane.flaps_full else "") if n]
    for known in names:
        cas = ws.book_cas(known)
        if cas is not None:
            return ws.on_dial(ws.ias(cas, notch), "up"), "handbook, for today's weight"
    cas = share * ws.stall_cas_mps(notch)
    return ws.on_dial(ws.ias(cas, notch), "up"), f"{share:g} times the stall, calibrated; [AFH] ch. 9"


def headwind_mps(ws: Worksheet) -> float:
    """Headwind on final to the runway most into the wind: the whole wind, unless the lesson names the runway. [m/s]"""
    from_rad, speed = ws.wind(ws.conditions.ground_elevation_m)
    course = runway_rad(ws.conditions, ws.target)
    return speed if course is None else speed * math.cos(from_rad - course)


def runway_rad(conditions: Conditions, target: Mapping[str, float | str]) -> float | None:
    """True direction of the runway: the exercise's own, else the lesson's. [rad]  None where neither names one."""
    if "line_rad" in target:
        return float(target["line_rad"])
    if "heading_mag_rad" in target:
        return float(target["heading_mag_rad"]) + conditions.variation_rad
    return conditions.runway_rad


def work_out(ws: Worksheet, *, notch: int | None = None, share: float = APPROACH_SHARE, name: str = "") -> Arrival:
    """Fill in the lines of an approach."""
    flaps = ws.notch(ws.airplane.flaps_full if notch is None else notch)
    default, source = approach_ias(ws, flaps, share, name)
    ias = ws.flown_ias(default, flaps)
    cas = ws.cas(ias, flaps)
    ws.note_flap(flaps)
    ws.note_speed("approach speed", ias, "given" if "ias_mps" in ws.target else "handbook table", source)
    ws.note_stall(flaps)
    ws.note_stall(flaps, math.radians(30.0))
    headwind = headwind_mps(ws)
    groundspeed = max(ws.tas_mps(cas) - headwind, 5.0)
    sink = float(path_descent_rate_mps(groundspeed, PATH_RAD))
    fpm = float(round(units.to_unit(sink, "fpm") / 10.0) * 10)
    ws.note("sink on a 3° path", fpm, "fpm", "formula", "ground speed · tan 3°",
            also=f"ground speed {units.write(groundspeed, 'kt')}, headwind {units.write(headwind, 'kt')}")  # fmt: skip
    power = power_lines.for_sink(ws, cas, flaps, sink, name="power on final")
    roll = None
    c = ws.conditions
    try:
        field = (
            float(c.air.pressure_altitude_m(c.ground_elevation_m)),
            float(c.air.temperature_at_k(c.ground_elevation_m)),
        )
        distance = landing(ws.airplane, c.mass_kg, *field)
        roll, book = distance.ground_roll_m, ws.airplane.book
        over = distance.over_50_ft_m
        ws.note("ground roll, calm, paved, level", book.run(roll, 10), book.runway, "handbook table", "landing",
                also="" if over is None else f"{book.length(over)} over {book.over}; no safety factor")  # fmt: skip
    except AirworkError as refused:
        ws.cautions.append(f"Ground roll: {refused}")
    ws.cautions.append(GUST)
    return Arrival(flaps, ias, sink, power, roll)


def targets(a: Arrival) -> dict[str, float]:
    """What the debrief grades against."""
    return {
        "ias_mps": a.approach_mps,
        "flap_notch": float(a.notch),
        "sink_mps": a.sink_mps,
        **({} if a.roll_m is None else {"roll_m": a.roll_m}),
    }


def fly(set_up: SetUp, order: Order) -> Trace:
    """From 500 ft above the field down the path, flare, roll to walking pace; over an even field."""
    t = set_up.targets
    airplane, conditions = order.airplane, order.conditions
    field = conditions.ground_elevation_m
    flown = FlownIdeal(order, field + FINAL_M, t["ias_mps"], int(t["flap_notch"]))
    path = -math.asin(min(t["sink_mps"] / flown.tas, 0.5))
    flown.path = path
    stall = float(airplane.stall_cas_mps(conditions.mass_kg, flown.notch))
    while flown.altitude > field + FLARE_M:
        flown.step(0.0, path, tas=flown.tas_of(flown.cas_of(t["ias_mps"])))
    begin, touch = flown.tas, flown.tas_of(1.05 * stall)
    seconds = max(2.0 * FLARE_M / t["sink_mps"], 3.0)
    count = round(seconds / STEP_S)
    for k in range(1, count + 1):
        x = k / count
        flown.step(0.0, path * (1.0 - x), tas=begin + (touch - begin) * x)
        flown.altitude = max(flown.altitude, field)
    roll = t["roll_m"] if "roll_m" in t else touch**2 / (2.0 * 2.0)
    slow = touch**2 / (2.0 * roll)
    flown.altitude = field
    while flown.tas > 5.5:
        flown.step(0.0, 0.0, tas=max(flown.tas - slow * STEP_S, 5.0))
        flown.altitude = field
    return flown.trace()
