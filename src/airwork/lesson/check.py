"""The lesson held against its airplane: tank and station names, amounts. One clear line for what doesn't fit."""

from __future__ import annotations

from airwork import units
from airwork.airplane import Airplane
from airwork.errors import InputError
from airwork.lesson.lesson import Lesson
from airwork.lesson.style import Style


def fuel_by_tank(lesson: Lesson, airplane: Airplane) -> dict[str, float]:
    """Usable fuel in each tank, by the airplane file's names. [m³]

    Raises
    ------
    InputError : a tank the airplane hasn't, one left out (unknown is not empty), more than it holds.
    """
    if not airplane.tanks:
        raise InputError(
            f"the airplane file of {airplane.name} has no tanks; add its [fuel] to it, with tanks.", where=lesson.source
        )
    names = {t.name.lower(): t for t in airplane.tanks}
    unit = Style(lesson.units, lesson.zone, airplane.book).fuel_unit
    out: dict[str, float] = {}
    for given, volume in lesson.fuel_m3.items():
        tank = names.get(given.strip().lower())
        where = lesson.at("fuel", given)
        if tank is None:
            raise InputError(
                f"{airplane.name} has no such tank; its tanks: {', '.join(t.name for t in airplane.tanks)}.",
                where=where,
            )
        if volume > tank.usable_m3 + 1e-7:
            raise InputError(
                f"{units.write(volume, unit, 1)} is more than it holds: {units.write(tank.usable_m3, unit, 1)} usable.",
                where=where,
            )
        out[tank.name] = volume
    missing = [t.name for t in airplane.tanks if t.name not in out]
    if missing:
        raise InputError(
            f'the fuel in {" and ".join(missing)} is not given; write "{missing[0]}" = "0 {unit}" if it is empty.',
            where=lesson.at("fuel"),
        )
    return out


def flow_known(lesson: Lesson, airplane: Airplane) -> Airplane:
    """The airplane to plan fuel with: its file's flow, else the lesson's own figure.

    Raises
    ------
    InputError : neither is there: a fuel plan needs one.
    """
    if airplane.engine.prints_flow:
        return airplane
    if lesson.plan.fuel_flow_m3ps is None:
        raise InputError(
            f"the airplane file of {airplane.name} prints no fuel flow: add gph_full_rich to the rows of its "
            '[performance.cruise], or give a figure of your own in the lesson: [plan] fuel_flow = "7 gph".',
            where=lesson.source,
        )
    return Airplane(airplane.file, full_rich_flow_m3ps=lesson.plan.fuel_flow_m3ps)


def stations(lesson: Lesson, airplane: Airplane) -> dict[str, float]:
    """Mass at each station, by the airplane file's names. [kg]  InputError: a station the airplane hasn't.

    Empty for an airplane file without weight and balance, which names no stations.
    """
    balance = airplane.file.weight_and_balance
    if balance is None:
        return {}
    names = {s.name.lower(): s.name for s in balance.stations}
    out: dict[str, float] = {}
    for load in lesson.loads:
        found = names.get(load.station.strip().lower())
        if found is None:
            raise InputError(
                f"{airplane.name} has no station {load.station!r} (for {load.name}): {', '.join(names.values())}.",
                where=lesson.at("bags" if load.role is None else "people"),
            )
        out[found] = out.get(found, 0.0) + load.mass_kg
    return out
