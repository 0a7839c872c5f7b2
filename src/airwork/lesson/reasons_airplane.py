"""What the verdict says of the airplane: loading and category, runway, fuel and tanks, the exercises themselves."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from airwork.airplane import Airplane
from airwork.airplane.check import Complaint, check_airplane
from airwork.airplane.runway import AT_DENSITY
from airwork.airplane.runway_corrections import FROM_MEMORY
from airwork.lesson.case import Case
from airwork.lesson.runway_plan import Distance
from airwork.lesson.style import Style
from airwork.lesson.tanks import EVEN_M3, selector
from airwork.lesson.target import WORDS
from airwork.lesson.verdict import OWN, Level, Reason
from airwork.maneuvers.setup import NEAR_STALL_MPS
from airwork.units import from_unit, write
from airwork.values import sourced

OTHER_DAY = "inside the table: lighter, lower, cooler, another runway"
LIGHTER = "less aboard: it is above the maximum weight"
_LEVEL = re.compile(r"slope 0\.[0-4] %")  # so little that nobody asks where its factor is from
SHORT = "less weight, a cooler hour, more headwind, a longer runway"
MORE_FUEL = "more fuel, or a shorter lesson"
SET_UP = "set-up of the exercise"


# Questions about these tables move power and fuel flow by little; the others stand under distances, weight and speeds.
_LESS_GRAVE = {"performance.cruise", "performance.power_chart", "observations"}


@lru_cache(maxsize=8)
def _open_questions(airplane: Airplane) -> tuple[Complaint, ...]:
    return tuple(c for c in check_airplane(airplane) if not c.alone)


def file_reasons(case: Case) -> Iterator[Reason]:
    """What the check of the airplane file still asks: every number of the lesson is from its tables."""
    asked = _open_questions(case.airplane)
    if not asked:
        return
    grave = [c for c in asked if c.table not in _LESS_GRAVE]
    said = [f"{c.table.rpartition('.')[2].replace('_', ' ')}: {c.what}" for c in (*grave, *asked)]
    listed = list(dict.fromkeys(said))
    more = f"; and {len(listed) - 2} more" if len(listed) > 2 else ""
    many, are = ("1 question", "is") if len(listed) == 1 else (f"{len(listed)} questions", "are")
    text = f"{many} about its typed handbook {are} open: {'; '.join(listed[:2])}{more}"
    change = "the airplane's page or airwork airplane check, held against the book" if grave else ""
    yield Reason("the airplane's file", "think" if grave else "go", text, OWN, change)


def loading_reasons(case: Case) -> Iterator[Reason]:
    """Weight, center of gravity and category from start to end; landing weight."""
    airplane, balance, style = case.airplane, case.flight.balance, case.style
    first, last = balance.points[0], balance.points[-1]
    if first.arm_m is None:
        most = style.mass(balance.max_mass_kg)
        text = (
            f"the airplane file has no [weight_and_balance]: {most}, the most it may weigh, is taken for every number"
        )
        yield Reason("weight and balance", "unknown", f"weight and center of gravity: {text}")
        return
    if balance.problems:  # each kind once: it is the same loading at every moment, less the fuel burned
        change = "less aboard, or moved" if not (move := balance.remedy) else move
        at = f"{style.mass(first.mass_kg)} at start, center of gravity {style.arm(first.arm_m)}"
        yield Reason("loading", "no-go", f"{'; '.join(balance.problems)} ({at})", "airplane file", change)
    own_limit = airplane.max_landing_mass_kg < airplane.max_takeoff_mass_kg  # else too heavy is said once
    if (own_limit or not balance.problems) and last.mass_kg > airplane.max_landing_mass_kg + 0.02:
        over = style.mass(last.mass_kg - airplane.max_landing_mass_kg)
        text = f"landing at {style.mass(last.mass_kg)}, {over} over the maximum landing weight"
        yield Reason("landing weight", "no-go", text, "airplane file", "less aboard, or longer aloft")
    if balance.problems:
        return
    spare = style.mass(balance.max_mass_kg - first.mass_kg)
    text = (
        f"{style.mass(first.mass_kg)} at start, {spare} below the maximum; center of gravity {style.arm(first.arm_m)}"
    )
    always = balance.always
    if not always:
        yield Reason("loading", "no-go", "no category is legal from start to end", "airplane file", "another loading")
        return
    others = "".join(f"; not {c}: {why}" for c, why in balance.why_not.items())
    yield Reason("loading", "go", f"{text}; {' and '.join(always)}{others}", "airplane file")
    yield from _categories(case)


def _categories(case: Case) -> Iterator[Reason]:
    """Exercises the handbook permits in categories today's loading is not in."""
    balance, done = case.flight.balance, set()
    for run in case.flight.runs:
        if run.kind in done:
            continue
        done.add(run.kind)
        said = case.airplane.maneuver_permission(run.room.facts.handbook or run.kind)
        if said is None or not said.permitted_in or set(said.permitted_in) & set(balance.always):
            continue
        wanted = " or ".join(said.permitted_in)
        why = "; ".join(f"{c}: {balance.why_not[c]}" for c in said.permitted_in if c in balance.why_not)
        text = f"{run.title}: the handbook permits it in the {wanted} category only, and today's loading is outside it"
        yield Reason(
            f"category, {run.title}", "no-go", f"{text} ({why})" if why else text, "airplane file", "a loading in it"
        )


def runway_reasons(case: Case) -> Iterator[Reason]:
    """Takeoff and landing distance with the factor against the runway."""
    runway, style = case.runway, case.style
    if runway.runway is None:
        yield Reason("runway", "unknown", runway.why)
        return
    for words, distance in (("takeoff", runway.takeoff), ("landing", runway.landing)):
        if distance is not None:
            found = _distance(words, runway.runway.name, distance, style)
            if found.change == OTHER_DAY and case.flight.balance.points[0].mass_kg > case.airplane.max_takeoff_mass_kg:
                found = replace(found, change=LIGHTER)
            faster = runway.approach_more_mps
            if words == "landing" and faster >= 0.25 and distance.needed_m is not None:
                found = replace(found, text=f"{found.text}; approach {write(faster, 'kt', 1)} faster for the gusts")
            yield found


def _distance(words: str, name: str, found: Distance, style: Style) -> Reason:
    topic = f"{words} distance"
    generic = [step.partition(" (")[0] for step in found.steps if FROM_MEMORY in step and not _LEVEL.search(step)]
    source = f"airplane file; generic, from memory: {', '.join(generic)}" if generic else "airplane file"
    if found.needed_m is None or found.ground_roll_m is None:
        if found.beyond:  # a table's last row is the last the maker flew or computed
            text = f"{words} distance not shown: {found.problem}"
            return Reason(topic, "no-go", text, "airplane file", OTHER_DAY)
        least, there = found.least_m, found.available_m
        if least is None or there is None or least * found.factor <= there:
            return Reason(topic, "unknown", f"{words} distance: {found.problem}")
        text = (
            f"{words} distance: {found.problem.rstrip('.')}; even without it {style.runway(least)}, with factor "
            f"{found.factor:g}: {style.runway(least * found.factor)}; runway {name} has {style.runway(there)}"
        )
        return Reason(topic, "no-go" if least > there else "unknown", text, "airplane file", SHORT)
    total = found.ground_roll_m if found.over_50_ft_m is None else found.over_50_ft_m
    over = "ground roll" if found.over_50_ft_m is None else f"over {style.obstacle}"
    on = "" if found.surface in {"", "paved_dry"} else f" on {_surface(found.surface)}"
    at = f" ({AT_DENSITY})" if any(AT_DENSITY in step for step in found.steps) else ""
    said = f"{words} {style.runway(total)} {over}{on}{at}, with factor {found.factor:g}: {style.runway(found.needed_m)}"
    if found.available_m is None:
        return Reason(topic, "unknown", f"{said}; the length of runway {name} is not given")
    have = f"runway {name} has {style.runway(found.available_m)}"
    if total > found.available_m:
        return Reason(topic, "no-go", f"{said}; {have}", source, SHORT)
    if found.needed_m > found.available_m:
        return Reason(topic, "think", f"{said}; {have}: enough by the book, not with the factor", source, SHORT)
    return Reason(topic, "go", f"{said}; {have}", source)


def _surface(words: str) -> str:
    """The handbook's words as people say them: "wet grass, soft ground"."""
    names = {"paved_dry": "", "paved_wet": "a wet runway"}
    return ", ".join(filter(None, (names.get(w, w.replace("_", " ")) for w in words.split())))


UNEVEN_M3, UNEVEN = from_unit(8.0, "gal"), 0.6  # one wing by some 50 lb, and by most of what the fuller tank holds


def fuel_reasons(case: Case) -> Iterator[Reason]:
    """Reserve at engine off, tanks running dry, imbalance, the emptier tank for takeoff, changes that come late."""
    tanks = case.flight.tanks
    yield _reserve(case)
    for problem in tanks.problems:
        yield Reason("fuel by tank", "no-go", problem, "airplane file", MORE_FUEL)
    yield from _imbalance(case)
    yield from _takeoff_tank(case)
    for change in tanks.changes:
        if change.overdue_s > 300.0:
            late = case.style.minutes(change.overdue_s)
            text = f"the change to {change.to_tank} comes {late} late: break off for it"
            yield Reason("tank change", "think", text, "common practice", "a shorter exercise before it")


def _reserve(case: Case) -> Reason:
    """What is left at engine off against the rule, people's own reserve, and a second pattern."""
    fuel, style = case.fuel, case.style
    seconds, asked = fuel.left_m3 / fuel.cruise_flow_m3ps, style.minutes(fuel.legal.time_s)
    # rounded the same way as the reserve beside it, a few seconds short must not read as enough
    minutes = f"just under {asked}" if 0.0 < fuel.legal.time_s - seconds < 60.0 else style.minutes(seconds)
    left = f"{style.fuel(fuel.left_m3)} left at engine off ({minutes})"
    source = sourced(fuel.legal.source, fuel.legal.label)
    if fuel.left_m3 < 0.0:
        text = (
            f"{style.fuel(-fuel.left_m3)} short of the lesson itself: dry {style.minutes(-seconds)} before its end, "
            f"and the rule asks for {asked} more"
        )
        return Reason("fuel", "no-go", text, source, MORE_FUEL)
    if fuel.left_m3 < fuel.legal.time_s * fuel.cruise_flow_m3ps - 1e-9:
        return Reason("fuel", "no-go", f"{left}, the rule asks {asked}", source, MORE_FUEL)
    if fuel.spare_m3 < -1e-9:
        own = {role: p.limits.fuel_reserve_s or 0.0 for role, p in case.pilots.items()}
        role = max(own, key=lambda r: own[r])
        theirs = own[role] >= fuel.reserve_s - 1.0
        whose = f"{role}'s reserve" if theirs else fuel.reserve_how
        text = f"{left}, {whose} {style.minutes(fuel.reserve_s)}"
        return Reason("fuel", case.over(role) if theirs else "think", text, "lesson", MORE_FUEL)
    if fuel.left_m3 < fuel.turn_home_m3 - fuel.home_m3 - 1e-9:
        return Reason("fuel", "think", f"{left}: reserve kept, but not for a second pattern", source, MORE_FUEL)
    spare = f"{style.fuel(fuel.spare_m3)} above {style.minutes(fuel.reserve_s)} reserve"
    return Reason("fuel", "go", f"{left}, {spare}", source)


def _imbalance(case: Case) -> Iterator[Reason]:
    """Tanks further apart than the handbook allows; where it is silent, far apart at the start."""
    tanks, style = case.flight.tanks, case.style
    start, limit = tanks.points[0], tanks.imbalance_limit_m3
    if limit is not None and tanks.most_imbalance_m3 > limit + 1e-9:
        text = f"tanks differ by up to {style.fuel(tanks.most_imbalance_m3)}, limit {style.fuel(limit)}"
        yield Reason("fuel imbalance", "no-go", text, "airplane file", "fuel moved or added; change earlier")
    if limit is None and start.imbalance_m3 > max(UNEVEN_M3, UNEVEN * max(start.left_m3.values(), default=0.0)):
        each = ", ".join(f"{tank} {style.fuel(left)}" for tank, left in start.left_m3.items())
        text = f"tanks far apart at the start: {each}; the airplane file gives no limit"
        ask = "look for a leak or a wrong gauge; fuel moved or added"
        yield Reason("fuel imbalance", "think", text, f"common practice; {OWN}", ask)


def _takeoff_tank(case: Case) -> Iterator[Reason]:
    """A takeoff on the emptier of tanks that are chosen one at a time."""
    tanks, style = case.flight.tanks, case.style
    start = tanks.points[0]
    if not tanks.selectable or not start.feeding:
        return
    fed = selector(case.airplane).get(start.feeding, ())
    held, fullest = sum(start.left_m3[t] for t in fed), max(start.left_m3.values())
    if len(fed) == 1 and held < fullest - EVEN_M3:
        text = (
            f"takeoff on the emptier tank: {start.feeding} with {style.fuel(held)}, the fullest has "
            f"{style.fuel(fullest)}"
        )
        yield Reason("tank for takeoff", "think", text, f"common practice; {OWN}", "start on the fullest tank")


def exercise_reasons(case: Case) -> Iterator[Reason]:
    """Exercises that could not be set up, each with why, and wishes that their set-up does nothing with."""
    seen = set()
    for run in case.flight.runs:
        if run.unused and run.exercise not in seen:
            seen.add(run.exercise)
            words = ", ".join(word for word, (name, _, _) in WORDS.items() if name in run.unused)
            yield Reason(
                run.title,
                "think",
                f"{run.title}: its set-up does nothing with the {words} you want",
                "lesson",
                "leave it out",
            )
        margin = None if run.set_up is None else run.set_up.stall_margin_mps
        if margin is not None and margin < NEAR_STALL_MPS and not run.room.slow_on_purpose and run.exercise not in seen:
            seen.add(run.exercise)
            over = write(margin, case.airplane.dial_unit)
            near = write(NEAR_STALL_MPS, "kt")
            text = f"{run.title}: only {over} over the stall in its bank; within {near} of it a stall warning may sound"
            yield Reason(run.title, "think", text, OWN, "faster, or less bank")
        if run.set_up is not None and run.set_up.short_of and run.exercise not in seen:
            seen.add(run.exercise)
            asked = "flap_notch" in case.lesson.exercises[run.exercise].target  # else airwork chose what leaves enough
            level: Level = "think" if asked else "go"
            text = f"{run.title}: {run.set_up.short_of}"
            change = "less weight, less height, or a cooler day" if asked else ""
            yield Reason(run.title, level, text, SET_UP, change)
        if run.set_up is None and run.exercise not in seen:
            seen.add(run.exercise)
            other = "another height, weight, configuration or day"
            yield Reason(run.title, "no-go", f"{run.title}: {run.problem}", SET_UP, other)
