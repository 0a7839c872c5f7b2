"""At the field: takeoff, traffic pattern, landing, touch-and-go, go-around. Positions are from the runway's start."""

from __future__ import annotations

import math
from dataclasses import dataclass

from airwork.units import FT_M, KT_MPS
from flying.basic import ft, kt
from flying.ground import Point, along_right, field_of, line_guide, moved
from flying.pilot import Pilot, angle_from_rad, clip
from flying.simulator import TICK_S

RUNWAY_M = 1500.0
AIM_M = 180.0  # where the path is aimed, from the runway's start
EDGE_M = 200.0 * FT_M  # takeoff ends and landing begins at this height above the field: our rule, see README


@dataclass(slots=True)
class Field:
    """Runway frame: the origin is where the takeoff roll begins."""

    p: Pilot
    course_rad: float
    origin: Point = (0.0, 0.0)

    @classmethod
    def of(cls, p: Pilot) -> Field:
        return cls(p, p.sim.day.runway_heading_rad)

    def where(self) -> Point:
        """Distance along the runway and to the right of it. [m, m]"""
        return along_right(field_of(self.p).here(self.p), self.origin, self.course_rad)

    def line(self, along_m: float, right_m: float, turn_rad: float = 0.0, **options: float) -> None:
        """Follow a line through a point of the frame."""
        start = moved(self.origin, self.course_rad, along_m, right_m)
        self.p.follow(line_guide(self.p, start, self.course_rad + turn_rad, **options))


def _height_m(p: Pilot) -> float:
    """Wheels above the ground. [m]"""
    return p.state.agl_m - p.sim.model.standing_height_m


def _steer(p: Pilot) -> None:
    """Rudder and nose wheel for the runway line; called every tick on the ground."""
    state = p.state
    field = Field.of(p)
    right_m = field.where()[1]
    wanted = field.course_rad - clip(right_m / 60.0, 0.12)
    error = angle_from_rad(state.heading_rad, wanted)
    push = 1.6 * error - 1.2 * state.yaw_rate_radps
    p.sim.set_steering(clip(2.0 * push, 0.6))
    p.rudder_hold = clip(-1.2 * push, 0.5)  # a positive command yaws left


def roll(p: Pilot, done, *, at_most_s: float = 60.0) -> None:  # type: ignore[no-untyped-def]
    """Ticks on the ground with the wings level and the runway line held."""
    p.bank(0.0)
    for _ in range(round(at_most_s / TICK_S)):
        if done():
            return
        _steer(p)
        p.tick()


def takeoff_roll(p: Pilot) -> None:
    """From brake release (or a touch-and-go's rollout) to lift-off and the climb speed's attitude."""
    model, sim = p.sim.model, p.sim
    sim.set_brakes(0.0)
    p.throttle = 1.0
    p.power_mode = "fixed"
    p.hold_elevator(model.takeoff_elevator)
    roll(p, lambda: p.state.ias_mps >= model.rotate_mps * (1.0 + 0.06 * (1.0 - p.skill.level) * float(p.rng.normal())))
    p.hold_elevator(None)
    p.hold_pitch(math.radians(8.0))
    roll(p, lambda: _height_m(p) > 1.0, at_most_s=25.0)
    sim.set_steering(0.0)
    p.rudder_hold = None


def climb_out(p: Pilot, height_m: float) -> None:
    """Along the runway line at the climb speed until a height above the field."""
    field = Field.of(p)
    field.line(0.0, 0.0)
    p.by_speed(p.sim.model.climb_mps, 1.0)
    p.pitch_rad = math.radians(7.5)
    p.fly_until(lambda: _height_m(p) >= height_m, at_most_s=200.0)


def takeoff(p: Pilot, *, notch: int = 0) -> None:
    """Standing on the runway to 200 ft above it."""
    p.sim.set_flaps(notch)
    p.set_trim(p.sim.model.takeoff_trim)
    p.fly_on_ground(4.0)
    with p.marking("takeoff", {"ias_kt": kt(p.sim.model.climb_mps)}) as mark:
        takeoff_roll(p)
        mark.notes["lift_off_s"] = round(p.time_s, 2)
        climb_out(p, EDGE_M)
    if notch:
        p.sim.set_flaps(0)


def depart(p: Pilot, altitude_m: float, heading_rad: float) -> None:
    """Climb out straight to 500 ft, then turn on course in the climb, level at an altitude (indicated)."""
    climb_out(p, 500.0 * FT_M)
    p.near_ground = False
    with p.marking("climb", {"altitude_ft": ft(altitude_m)}, intended=False):
        turn = angle_from_rad(p.state.heading_rad, heading_rad)
        p.turn(turn, math.radians(18.0), to_heading_rad=heading_rad)
        p.by_speed(p.sim.model.climb_mps + 5.0 * KT_MPS, 1.0, heading_rad=heading_rad)
        p.fly_until(
            lambda: p.sim.indicated_altitude_m >= altitude_m - 6.0 * max(p.state.vertical_speed_mps, 0.0),
            at_most_s=1500.0,
        )
        p.level(altitude_m=altitude_m, ias_mps=p.sim.model.maneuvering_mps, heading_rad=heading_rad, power="fixed")
        p.fly_until(lambda: abs(p.state.vertical_speed_mps) < 0.5, at_most_s=40.0)
    p.power_mode = "speed"
    p.power_for(p.sim.model.maneuvering_mps)
    p.fly(10.0)


def fly_pattern(p: Pilot, *, side: float = -1.0, from_upwind: bool = True, wide_m: float = 1500.0,
                height_m: float = 1000.0 * FT_M, base_m: float | None = None,
                late_final_m: float = 0.0) -> None:  # fmt: skip
    """Crosswind, downwind, base, onto final; ends rolled out on final about 1.5 km out. side −1: left turns.

    base_m: where base begins, from the runway's start; by the wind without. late_final_m: how much nearer to the
    runway's line the turn to final begins.
    The maneuver runs from the crosswind turn (or from joining the downwind leg) to the end of the turn to final.
    """
    model, field = p.sim.model, Field.of(p)
    p.near_ground = True
    altitude = p.sim.day.elevation_m + height_m
    quarter = side * math.pi / 2.0
    right = side * wide_m
    downwind_ias = model.downwind_mps
    bank = math.radians(25.0)
    if from_upwind:
        climb_out(p, min(height_m - 300.0 * FT_M, 0.7 * height_m))
        p.fly_until(lambda: field.where()[0] > 1200.0, at_most_s=60.0)
    with p.marking("traffic_pattern", {"altitude_ft": ft(altitude), "ias_kt": kt(downwind_ias)}) as mark:
        mark.notes["turns"] = "left" if side < 0 else "right"
        p.altitude_m = altitude
        if from_upwind:
            p.turn(quarter, bank)
            field.line(field.where()[0], 0.0, quarter)
            _climb_to_pattern(p, altitude, downwind_ias, lambda: side * field.where()[1] > wide_m - 500.0)
            p.turn(quarter, bank)
        field.line(0.0, right, math.pi)
        _climb_to_pattern(p, altitude, downwind_ias, lambda: field.where()[0] < AIM_M)
        mark.phases["abeam"] = p.time_s
        # abeam the aim point: power back, first flaps, down
        p.power_haste = 2.0
        p.power_for(model.approach_mps + 8.0 * KT_MPS, notch=1, path_rad=math.radians(-3.0))
        p.power_mode, p.pitch_mode = "fixed", "altitude"
        p.fly_until(lambda: p.state.ias_mps < model.flaps_max_mps, at_most_s=20.0)
        p.sim.set_flaps(min(1, len(model.flap_deg) - 1))
        p.by_speed(model.approach_mps + 8.0 * KT_MPS, p.throttle)
        begin_base = -1100.0 + 250.0 * p.skill.wind_share if base_m is None else base_m
        p.fly_until(lambda: field.where()[0] < begin_base, at_most_s=120.0)
        mark.phases["base"] = p.time_s
        p.turn(quarter, bank)
        base_along = field.where()[0]
        field.line(base_along, right, math.pi + quarter, close_m=300.0)
        p.sim.set_flaps(min(2, len(model.flap_deg) - 1))
        p.by_speed(model.approach_mps + 4.0 * KT_MPS, p.throttle)
        _along_path(p, field)
        late_m = p.state.tas_mps**2 / (9.8 * math.tan(bank)) * 1.1 - 40.0 * p.skill.rollout_error_rad - late_final_m
        p.fly_until(lambda: side * field.where()[1] < late_m, at_most_s=60.0)
        mark.phases["final"] = p.time_s
        p.turn(quarter, bank, to_heading_rad=field.course_rad)
    field.line(0.0, 0.0, close_m=250.0, limit_rad=math.radians(20.0))


def _climb_to_pattern(p: Pilot, altitude_m: float, ias_mps: float, done) -> None:  # type: ignore[no-untyped-def]
    """Keep climbing to the pattern altitude while a leg is flown, then hold it."""

    def there() -> bool:
        return done() or p.sim.indicated_altitude_m > altitude_m - 15.0

    if p.sim.indicated_altitude_m < altitude_m - 25.0:
        p.by_speed(p.sim.model.climb_mps, 1.0)
        p.fly_until(there, at_most_s=120.0)
    if not done():
        p.pitch_mode, p.power_mode, p.altitude_m, p.ias_mps = "altitude", "speed", altitude_m, ias_mps
        p.power_for(ias_mps)
        p.fly_until(done, at_most_s=180.0)


def _along_path(p: Pilot, field: Field) -> None:
    """Let the power hold the path to the aim point (distance to go measured round the corner on base)."""
    slope = math.tan(math.radians(p.sim.model.approach_path_deg))
    elevation_m = p.sim.day.elevation_m

    def path() -> float:
        along, right = field.where()
        to_go = max(0.0, AIM_M - along) + 0.8 * abs(right)
        return elevation_m + p.sim.model.standing_height_m + slope * to_go

    p.path = path
    p.path_climb_mps = -slope * 0.9 * p.sim.model.approach_mps
    p.power_mode, p.power_haste = "altitude", 2.5


def final(p: Pilot, *, until_m: float, notch: int | None = None) -> None:
    """Down the final approach to a wheel height."""
    model, field = p.sim.model, Field.of(p)
    notch = len(model.flap_deg) - 1 if notch is None else notch
    field.line(0.0, 0.0, close_m=200.0, limit_rad=math.radians(15.0))
    while p.sim.flap_notch < notch:
        p.sim.set_flaps(p.sim.flap_notch + 1)
        p.fly(2.0)
    p.by_speed(model.approach_mps + 1.2 * p.sim.day.wind.gust_mps, p.throttle)
    if until_m < 50.0:  # near the ground nobody dives after a lost knot
        p.pitch_low_rad = math.radians(-5.5)
    _along_path(p, field)
    p.fly_until(lambda: _height_m(p) < until_m, at_most_s=120.0)


def _stop_path(p: Pilot) -> None:
    p.path, p.path_climb_mps, p.power_haste = None, 0.0, 1.0
    p.power_mode = "fixed"


def flare(p: Pilot) -> None:
    """From about 6 m to the wheels on the ground: power off, hold off, straighten."""
    field = Field.of(p)
    _stop_path(p)
    p.hold_pitch(p.state.pitch_rad)
    clumsy = 1.0 - p.skill.level
    settle_mps = 0.35 + 0.5 * clumsy * abs(float(p.rng.normal()))
    for _ in range(round(40.0 / TICK_S)):
        state = p.state
        height = _height_m(p)
        if state.on_ground:
            break
        p.throttle = max(0.0, p.throttle - (0.16 if state.vertical_speed_mps > -2.2 else 0.0) * TICK_S)
        wanted = -max(settle_mps, 0.36 * height)
        lift = 1.1 * (wanted - state.vertical_speed_mps) / max(state.tas_mps, 20.0)
        p.pitch_rad = min(p.sim.model.flare_pitch_rad, p.pitch_rad + clip(lift, 0.08) * TICK_S * 2.5)
        p.pitch_rad = max(p.pitch_rad, math.radians(-3.0 + 3.0 * (height < 4.0)))
        right = field.where()[1]
        drift = state.east_mps * math.cos(field.course_rad) - state.north_mps * math.sin(field.course_rad)
        p.lateral_mode = "bank"
        p.bank_rad = clip(-0.010 * right - 0.055 * drift, math.radians(8.0))
        align = angle_from_rad(state.heading_rad, field.course_rad)
        p.rudder_hold = clip(-2.2 * align + 0.9 * state.yaw_rate_radps, 0.6) if height < 5.0 else None
        p.tick()
    p.throttle = 0.0


def landing(p: Pilot, *, stop: bool = True) -> None:
    """From 200 ft above the field on final to a slow roll. Call on final."""
    final(p, until_m=EDGE_M)
    with p.marking("landing", {"ias_kt": kt(p.sim.model.approach_mps)}) as mark:
        touch(p, mark.notes)
        p.sim.set_brakes(0.35)
        p.hold_elevator(-0.25)
        roll(p, lambda: (p.state.ias_mps < 3.0 and p.state.tas_mps < 8.0) or _ground_mps(p) < 8.0, at_most_s=60.0)
    if stop:
        roll(p, lambda: _ground_mps(p) < 0.5, at_most_s=30.0)
        p.sim.set_brakes(1.0)


def _ground_mps(p: Pilot) -> float:
    return math.hypot(p.state.east_mps, p.state.north_mps)


def touch(p: Pilot, notes: dict[str, object]) -> None:
    """Final and flare to the first contact, then the nose down; notes touchdown time, sink and distance."""
    final(p, until_m=7.0 + 1.5 * (1.0 - p.skill.level))
    flare(p)
    p.pitch_low_rad = math.radians(-12.0)
    state = p.state
    notes["touchdown_s"] = round(p.time_s, 2)
    notes["touchdown_sink_fpm"] = round(-p.last_sink_mps / FT_M * 60.0)
    notes["touchdown_along_m"] = round(Field.of(p).where()[0], 1)
    notes["touchdown_ias_kt"] = kt(state.ias_mps)
    p.hold_elevator(-0.15)
    roll(p, lambda: False, at_most_s=2.5)


def touch_and_go(p: Pilot) -> None:
    """From 200 ft on final, wheels on, flaps up, power, to 200 ft again."""
    final(p, until_m=EDGE_M)
    with p.marking("touch_and_go", {"ias_kt": kt(p.sim.model.approach_mps)}) as mark:
        touch(p, mark.notes)
        p.sim.set_flaps(0)
        p.set_trim(p.sim.model.takeoff_trim)
        roll(p, lambda: False, at_most_s=3.0)
        takeoff_roll(p)
        mark.notes["lift_off_s"] = round(p.time_s, 2)
        climb_out(p, EDGE_M)


def go_around(p: Pilot, *, at_height_m: float = 30.0) -> None:
    """Break off the approach at a height: power, attitude, flaps in steps; from the decision to 400 ft higher."""
    final(p, until_m=at_height_m)
    low = _height_m(p)
    with p.marking("go_around", {"ias_kt": kt(p.sim.model.climb_mps)}):
        p.pitch_low_rad = math.radians(-12.0)
        _stop_path(p)
        p.fly(p.skill.recovery_delay_s * 0.5)
        p.hold_pitch(math.radians(5.0))
        p.throttle = 1.0
        Field.of(p).line(0.0, 0.0)
        p.fly(2.5)
        p.sim.set_flaps(max(0, min(p.sim.flap_notch, 1)))
        p.fly_until(lambda: p.state.vertical_speed_mps > 0.7, at_most_s=12.0)
        p.by_speed(p.sim.model.climb_mps, 1.0)
        p.fly(6.0)
        p.sim.set_flaps(0)
        p.fly_until(lambda: _height_m(p) > low + 400.0 * FT_M, at_most_s=120.0)
