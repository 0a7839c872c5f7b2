"""What every takeoff shares: lift-off and climb speeds for today's weight, power, the roll in calm air. SI."""

from __future__ import annotations

from dataclasses import dataclass

from airwork import units
from airwork.airplane import Airplane
from airwork.airplane.parts import knots_mps
from airwork.airplane.runway import takeoff
from airwork.errors import AirworkError
from airwork.maneuvers.paths.flown_ideal import STEP_S, FlownIdeal
from airwork.maneuvers.setting_up import power_lines
from airwork.maneuvers.setting_up.heights import FT
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace

CLIMB_OUT_M = 500 * FT  # the room ends here
OBSTACLE_M = 50 * FT
LIFT_OFF_SHARE = 1.15  # of the stall, where the handbook prints no lift-off speed: common practice, no source
DECIDE_SHARE = 0.7  # 70 % of lift-off speed by half of the runway, or stop: common practice, no source


@dataclass(frozen=True, slots=True)
class Departure:
    """Numbers of a takeoff. Speeds indicated."""

    notch: int
    lift_off_mps: float
    obstacle_mps: float
    climb_mps: float
    climb_rate_mps: float
    power: power_lines.Power
    roll_m: float | None


def takeoff_notch(airplane: Airplane) -> int:
    """Flap setting of the handbook's takeoff table, flaps up without one."""
    table = airplane.file.performance.takeoff
    return 0 if table is None or table.flap_notch is None else int(table.flap_notch)


def work_out(ws: Worksheet, *, steep: bool) -> Departure:
    """Fill in the lines of a takeoff; `steep`: best angle of climb until the obstacle is cleared."""
    airplane, table = ws.airplane, ws.airplane.file.performance.takeoff
    notch = ws.notch(takeoff_notch(airplane))
    ws.note_stall(notch)
    printed = table is not None and notch == takeoff_notch(airplane)
    lift = knots_mps(table.liftoff_kias) if table and printed else None
    over = knots_mps(table.speed_at_50_ft_kias) if table and printed else None
    heavy = float(airplane.stall_cas_mps(airplane.max_takeoff_mass_kg, notch))
    share = ws.stall_cas_mps(notch) / heavy  # the printed speeds are for the maximum weight
    lift_off = ws.ias(LIFT_OFF_SHARE * ws.stall_cas_mps(notch), notch)
    if lift is not None:
        lift_off = ws.ias(ws.cas(lift, notch) * share, notch)
    lift_off = ws.on_dial(lift_off, "up")
    source = "1.15 times the stall" if lift is None else "takeoff table, by √weight"
    vy = ws.book_cas("best_rate_of_climb") or 1.35 * ws.stall_cas_mps(0)
    vx = ws.book_cas("best_angle_of_climb") or 1.2 * ws.stall_cas_mps(0)
    obstacle = ws.ias(vx)
    if over is not None:
        obstacle = ws.ias(ws.cas(over, notch) * share, notch)
    obstacle = ws.on_dial(max(obstacle, 1.05 * lift_off) if steep else obstacle, "up")
    climb = ws.flown_ias(ws.on_dial(ws.ias(vy)))
    ws.note_flap(notch)
    ws.note_speed("lift-off", lift_off, "formula", source)
    ws.note_speed("speed at 50 ft" if over is not None else "best angle of climb", obstacle, "handbook table",
                  "takeoff table, by √weight" if over is not None else "V-speeds")  # fmt: skip
    ws.note_speed("best rate of climb", climb, "handbook table", "for today's weight and air")
    ws.note_speed("stop if not reached by half the runway", ws.on_dial(DECIDE_SHARE * lift_off, "up"), "formula",
                  "70 % of lift-off speed: common practice, no source")  # fmt: skip
    static = airplane.file.propeller.static_rpm_full_throttle
    if static is not None:
        ws.note("static, at least", float(static[0]), "rpm", "handbook table", "full throttle, standing",
                also=f"to {static[1]:,.0f} rpm")  # fmt: skip
    power = power_lines.full_throttle(ws, ws.cas(climb), name="full throttle in the climb")
    rate = power_lines.climb(ws, ws.cas(climb), name="rate of climb, flaps up")
    power_lines.climb(ws, ws.cas(obstacle, notch), notch, name="rate of climb, takeoff flap")
    if rate is None:
        rate = airplane.climb_rate_mps(ws.conditions.mass_kg, ws.pressure_altitude_m, ws.temperature_k)
    roll = None
    try:
        distance = takeoff(airplane, ws.conditions.mass_kg, ws.pressure_altitude_m, ws.temperature_k)
        roll, book = distance.ground_roll_m, ws.airplane.book
        over = distance.over_50_ft_m
        ws.note("ground roll, calm, paved, level", book.run(roll, 10), book.runway, "handbook table", "takeoff",
                also="" if over is None else f"{book.length(over)} over {book.over}, no safety factor")  # fmt: skip
    except AirworkError as refused:
        ws.cautions.append(f"Ground roll: {refused}")
    if rate < units.from_unit(200.0, "fpm"):
        ws.cautions.append(
            f"It climbs only about {ws.airplane.book.rate(rate)} at {units.write(ws.entry_m, 'ft')} today."
        )
    ws.use_power(20.0, 1.0)
    ws.use_power(CLIMB_OUT_M / max(rate, 0.5), power.ratio)
    return Departure(notch, lift_off, obstacle, climb, float(rate), power, roll)


def targets(d: Departure) -> dict[str, float]:
    """What the debrief grades against."""
    return {
        "ias_mps": d.climb_mps,
        "lift_off_ias_mps": d.lift_off_mps,
        "obstacle_ias_mps": d.obstacle_mps,
        "flap_notch": float(d.notch),
        **({} if d.roll_m is None else {"roll_m": d.roll_m}),
    }


def fly(set_up: SetUp, order: Order, *, steep: bool = False) -> Trace:
    """From standing to 500 ft above the field: the roll evenly accelerated, then the climb by the power's excess."""
    t = set_up.targets
    notch = int(t["flap_notch"])
    climb, lift_off = t["ias_mps"], t["lift_off_ias_mps"]
    flown = FlownIdeal(order, set_up.entry_altitude_m, lift_off, notch)
    speed, roll = flown.tas, t["roll_m"] if "roll_m" in t else flown.tas**2 / (2.0 * 1.8)
    flown.rows.clear()
    seconds = 2.0 * roll / speed
    for k in range(round(seconds / STEP_S) + 1):
        share = k * STEP_S / seconds
        flown.rows.append((k * STEP_S, 0.0, max(speed * share, 1.0), set_up.entry_altitude_m, 0.0, 1.0, float(notch)))
    flown.time = flown.rows[-1][0]
    top = set_up.entry_altitude_m + CLIMB_OUT_M
    first = t["obstacle_ias_mps"] if steep else climb
    force = flown.thrust(up_m=600.0, down_m=50.0)
    low = set_up.entry_altitude_m + (OBSTACLE_M if steep else 0.0)
    flown.climb(force, lambda f: f.altitude >= low or f.time > seconds + 60.0, ias_mps=min(first, 1.25 * lift_off))
    if notch:
        flown.notch, ias = 0, climb
    else:
        ias = climb
    clean = flown.thrust(up_m=600.0, down_m=50.0)
    flown.climb(clean, lambda f: f.altitude >= top, ias_mps=ias)
    return flown.trace()
