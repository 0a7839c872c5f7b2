"""The file held against common sense: what it says of a usual day, in sentences to be believed or not."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.airplane import Airplane
from airwork.airplane.check.reading_back import flap_words
from airwork.airplane.file.printed import printed_unit
from airwork.airplane.loading import loading, station_kind
from airwork.airplane.runway import landing, takeoff
from airwork.errors import AirworkError

G = units.G0_MPS2
PERSON_KG = 77.0  # 170 lb


def proof(airplane: Airplane) -> tuple[str, ...]:
    """What the file says of a usual day, in sentences to be believed or not; what it can't answer is left out."""
    out = []
    for line in (_distances, _climbs, _cruises, _carries):
        try:
            out += [text for text in line(airplane) if text]
        except AirworkError:
            continue
    return tuple(out)


def _unit(airplane: Airplane, table: str, key: str) -> str:
    return printed_unit(airplane.file.printed, table, key)


def _distances(airplane: Airplane) -> Iterator[str]:
    warm = float(standard_temperature_k(0.0))
    for kind, work in (("takeoff", takeoff), ("landing", landing)):
        table = getattr(airplane.file.performance, kind)
        if table is None:
            continue
        heavy = max(r.weight_lb for r in table.rows)
        mass, path = units.from_unit(heavy, "lb"), f"performance.{kind}.rows"
        try:
            found = work(airplane, mass, 0.0, warm)
        except AirworkError:
            continue
        unit, weight = _unit(airplane, path, "ground_roll_ft"), _unit(airplane, path, "weight_lb")
        length = found.ground_roll_m if found.over_50_ft_m is None else found.over_50_ft_m
        notch = table.flap_notch if table.flap_notch is not None else (0 if kind == "takeoff" else airplane.flaps_full)
        over, g = "of ground roll" if found.over_50_ft_m is None else "over the obstacle", ""
        if notch in airplane.stall_curves:
            speed = (1.13 if kind == "takeoff" else 1.1) * float(airplane.stall_curves[notch].cas(mass, 1.0))
            mean = speed**2 / (2 * found.ground_roll_m) / G
            g = f", {mean:.2f} g of {'acceleration' if kind == 'takeoff' else 'braking'}"
        flaps = flap_words(airplane, kind)
        yield (
            f"{kind.capitalize()} at {units.write(mass, weight)}{f', {flaps}' if flaps else ''}, sea level, standard: "
            f"{units.write(length, unit)} {over}{g}."
        )


def _climbs(airplane: Airplane) -> Iterator[str]:
    if airplane.file.performance.climb is None:
        return
    heavy = units.from_unit(max(r.weight_lb for r in airplane.file.performance.climb.rows), "lb")
    rate = airplane.climb_rate_mps(heavy, 0.0, float(standard_temperature_k(0.0)))
    unit = _unit(airplane, "performance.climb.rows", "rate_of_climb_fpm")
    yield f"It climbs {units.write(rate, unit, 0 if unit == 'fpm' else 1)} at sea level."


def _cruises(airplane: Airplane) -> Iterator[str]:
    cruise = airplane.file.performance.cruise
    rows = [r for r in cruise.rows if abs(r.isa_deviation_c) < 0.5] if cruise else []
    if not rows:
        return
    percents = dict(zip(map(id, cruise.rows), airplane.engine.cruise_percents, strict=True)) if cruise else {}
    row = min(rows, key=lambda r: abs((percents[id(r)] or 0.0) - 70))
    flows = [f for f in (row.gph_best_power, row.gph_best_economy, row.gph_full_rich) if f is not None]
    speed = f", {units.write(units.from_unit(row.ktas, 'kt'), airplane.dial_unit)} true" if row.ktas else ""
    mixture = next((m for m in ("best_power", "best_economy", "full_rich") if getattr(row, f"gph_{m}")), "full_rich")
    unit = _unit(airplane, "performance.cruise.rows", f"gph_{mixture}")
    flow = f", {units.write(units.from_unit(flows[0], 'gph'), unit, 1)}" if flows else ""
    tanks = sum(t.usable_m3 for t in airplane.tanks)
    hours = f"; full tanks last {tanks / units.from_unit(flows[0], 'gph') / 3600:.1f} h" if flows and tanks else ""
    percent = "" if percents[id(row)] is None else f" ({percents[id(row)]:.0f} %)"
    about = " (about " + percent[2:] if airplane.engine.power_is_estimated else percent
    setting = "" if row.rpm is None else f" at {row.rpm:,.0f} RPM"
    yield f"Cruise{setting}{about}, {row.pressure_altitude_ft:,.0f} ft{speed}{flow}{hours}."


def _carries(airplane: Airplane) -> Iterator[str]:
    wb = airplane.file.weight_and_balance
    if wb is None or not airplane.tanks:
        return
    front = next((s.name for s in wb.stations if station_kind(s) == "front_seats"), None)
    if front is None:
        return
    tanks: Mapping[str, Any] = {t.name: 0.5 * t.usable_m3 for t in airplane.tanks}
    found = loading(airplane, {front: 2 * PERSON_KG}, tanks)
    weight = _unit(airplane, "airplane", "maximum_takeoff_weight_lb")
    legal = "inside" if found.categories else "not inside any envelope"
    yield f"Two people and half fuel: {units.write(found.mass_kg, weight)}, {legal}."
    full = loading(airplane, {front: 2 * PERSON_KG}, {t.name: t.usable_m3 for t in airplane.tanks})
    left = airplane.max_takeoff_mass_kg - full.mass_kg
    words = "left for bags and more people" if left >= 0 else "too heavy"
    kept = units.from_unit(abs(math.floor(units.to_unit(left, weight) + 1e-6)), weight)  # a payload is rounded down
    yield (
        f"With full tanks and two people of {units.write(PERSON_KG, weight)} each: {units.write(kept, weight)} {words}."
    )
