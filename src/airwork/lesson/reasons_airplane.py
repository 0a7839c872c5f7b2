"""What the verdict says of the airplane: loading, runway, density altitude and climb, fuel and tanks, the exercises."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from airwork.airplane import Airplane
from airwork.errors import AirworkError
from airwork.lesson.balance import BalancePlan
from airwork.lesson.cruise import climb_rate
from airwork.lesson.day import Day
from airwork.lesson.exercises import Run
from airwork.lesson.fuel import FuelPlan
from airwork.lesson.legs import Planner
from airwork.lesson.lesson import Lesson
from airwork.lesson.reasons_weather import _over, pilots
from airwork.lesson.runway_plan import Distance, RunwayPlan
from airwork.lesson.style import Style
from airwork.lesson.tanks import TankPlan
from airwork.lesson.target import WORDS
from airwork.lesson.verdict import Reason
from airwork.units import from_unit, write
from airwork.values import sourced

WEAK_CLIMB_MPS = from_unit(300.0, "fpm")  # below it at pattern height: think (common practice, no source)


def loading_reasons(airplane: Airplane, balance: BalancePlan, style: Style) -> Iterator[Reason]:
    """Weight, center of gravity and category from start to end; landing weight."""
    first, last = balance.points[0], balance.points[-1]
    if first.arm_m is None:
        most = style.mass(balance.max_mass_kg)
        text = (
            f"the airplane file has no [weight_and_balance]: {most}, the most it may weigh, is taken for every number"
        )
        yield Reason("weight and balance", "unknown", f"weight and center of gravity: {text}")
        return
    for problem in balance.problems:
        yield Reason("loading", "no-go", problem, "airplane file")
    if last.mass_kg > airplane.max_landing_mass_kg + 0.02:
        over = style.mass(last.mass_kg - airplane.max_landing_mass_kg)
        text = f"landing at {style.mass(last.mass_kg)}, {over} over the maximum landing weight"
        yield Reason("landing weight", "no-go", text, "airplane file")
    if balance.problems:
        return
    spare = style.mass(balance.max_mass_kg - first.mass_kg)
    text = (
        f"{style.mass(first.mass_kg)} at start, {spare} below the maximum; center of gravity {style.arm(first.arm_m)}"
    )
    always = balance.always
    if not always:
        yield Reason("loading", "no-go", "no category is legal from start to end", "airplane file")
        return
    others = "".join(f"; not {c}: {why}" for c, why in balance.why_not.items())
    yield Reason("loading", "go", f"{text}; {' and '.join(always)}{others}", "airplane file")


def runway_reasons(runway: RunwayPlan, style: Style) -> Iterator[Reason]:
    """Takeoff and landing distance with the factor against the runway."""
    if runway.runway is None:
        yield Reason("runway", "unknown", runway.why)
        return
    for words, distance in (("takeoff", runway.takeoff), ("landing", runway.landing)):
        if distance is not None:
            yield _distance(words, runway.runway.name, distance, style)


def _distance(words: str, name: str, found: Distance, style: Style) -> Reason:
    topic = f"{words} distance"
    if found.needed_m is None or found.ground_roll_m is None:
        return Reason(topic, "unknown", f"{words} distance: {found.problem}")
    total = found.ground_roll_m if found.over_50_ft_m is None else found.over_50_ft_m
    over = "ground roll" if found.over_50_ft_m is None else "over 50 ft"
    said = f"{words} {style.runway(total)} {over}, with factor {found.factor:g}: {style.runway(found.needed_m)}"
    if found.available_m is None:
        return Reason(topic, "unknown", f"{said}; the length of runway {name} is not given")
    have = f"runway {name} has {style.runway(found.available_m)}"
    if total > found.available_m:
        return Reason(topic, "no-go", f"{said}; {have}", "airplane file")
    if found.needed_m > found.available_m:
        return Reason(topic, "think", f"{said}; {have}: enough by the book, not with the factor", "airplane file")
    return Reason(topic, "go", f"{said}; {have}", "airplane file")


def climb_reasons(lesson: Lesson, planner: Planner, day: Day, top_m: float, style: Style) -> Iterator[Reason]:
    """Density altitude at the field, and the climb there and at the highest altitude planned."""
    field = lesson.place.elevation_m or 0.0
    density = float(day.air.density_altitude_m(field))
    said = f"density altitude {style.altitude(density)}"
    if day.temperature.value is None or day.setting.value is None:
        yield Reason("density altitude", "unknown", f"{said} in standard air only")
    for role, pilot in pilots(lesson):
        limit = pilot.limits.density_altitude_m
        if limit is not None and density > limit + 1.0:
            level = _over(role, lesson.student.solo)
            yield Reason(
                f"density altitude, {role}", level, f"{said}, {role}'s limit {style.altitude(limit)}", "lesson"
            )
    rates, printed = [], True
    for words, altitude in (("at the field", field), (f"at {style.altitude(top_m)}", top_m)):
        pressure, temperature = float(day.air.pressure_altitude_m(altitude)), float(day.air.temperature_at_k(altitude))
        try:
            rate, in_book = climb_rate(planner.airplane, planner.performance, planner.mass_kg, pressure, temperature)
        except AirworkError as refused:
            yield Reason("climb", "unknown", f"climb {words}: {refused}")
            continue
        rates.append((words if in_book else f"{words} (not in the handbook's table: fitted)", rate))
        printed = printed and in_book
    if rates:
        text = f"{said}; climb " + ", ".join(f"{write(r, 'fpm')} {w}" for w, r in rates)
        doubtful = rates[0][1] < WEAK_CLIMB_MPS or not printed
        level = "no-go" if rates[0][1] <= 0.5 else "think" if doubtful else "go"
        source = "handbook table" if printed else "fitted airplane, beyond the handbook's table"
        yield Reason("density altitude and climb", level, text, source)


def fuel_reasons(fuel: FuelPlan, tanks: TankPlan, style: Style) -> Iterator[Reason]:
    """Reserve at engine off, tanks running dry, imbalance, changes that come late."""
    legal = fuel.legal.time_s * fuel.cruise_flow_m3ps
    left = f"{style.fuel(fuel.left_m3)} left at engine off"
    minutes = style.minutes(fuel.left_m3 / fuel.cruise_flow_m3ps)
    source = sourced(fuel.legal.source, fuel.legal.label)
    if fuel.left_m3 < legal - 1e-9:
        text = f"{left} ({minutes}), the rule asks {style.minutes(fuel.legal.time_s)}"
        yield Reason("fuel", "no-go", text, source)
    elif fuel.spare_m3 < -1e-9:
        text = f"{left} ({minutes}), {fuel.reserve_how} {style.minutes(fuel.reserve_s)}"
        yield Reason("fuel", "think", text, "lesson")
    elif fuel.left_m3 < fuel.turn_home_m3 - fuel.home_m3 - 1e-9:
        yield Reason("fuel", "think", f"{left} ({minutes}): reserve kept, but not for a second pattern", source)
    else:
        spare = f"{style.fuel(fuel.spare_m3)} above {style.minutes(fuel.reserve_s)} reserve"
        yield Reason("fuel", "go", f"{left} ({minutes}), {spare}", source)
    for problem in tanks.problems:
        yield Reason("fuel by tank", "no-go", problem)
    limit = tanks.imbalance_limit_m3
    if limit is not None and tanks.most_imbalance_m3 > limit + 1e-9:
        text = f"tanks differ by up to {style.fuel(tanks.most_imbalance_m3)}, limit {style.fuel(limit)}"
        yield Reason("fuel imbalance", "think", text, "airplane file")
    for change in tanks.changes:
        if change.overdue_s > 300.0:
            text = f"the change to {change.to_tank} comes {style.minutes(change.overdue_s)} late: break off for it"
            yield Reason("tank change", "think", text)


def exercise_reasons(runs: Sequence[Run]) -> Iterator[Reason]:
    """Exercises that could not be set up, each with why, and wishes that their set-up does nothing with."""
    seen = set()
    for run in runs:
        if run.unused and run.exercise not in seen:
            seen.add(run.exercise)
            words = ", ".join(word for word, (name, _, _) in WORDS.items() if name in run.unused)
            yield Reason(
                run.title, "think", f"{run.title}: its set-up does nothing with the {words} you want", "lesson"
            )
        if run.set_up is None and run.exercise not in seen:
            seen.add(run.exercise)
            yield Reason(run.title, "unknown" if "no set-up" in run.problem else "no-go", f"{run.title}: {run.problem}")
