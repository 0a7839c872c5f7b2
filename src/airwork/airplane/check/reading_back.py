"""The numbers no check can see, read back to be confirmed, and the file held against common sense.

Arms, limits and corrections stand alone in a book: no second table says them again. The ones with most leverage are
shown to be compared with the page, one by one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.airplane import Airplane
from airwork.airplane.file.base import CATEGORIES
from airwork.airplane.file.performance import Correction
from airwork.airplane.file.printed import as_printed, printed_unit, unit_of
from airwork.airplane.loading import loading, station_kind
from airwork.airplane.runway import landing, takeoff
from airwork.errors import AirworkError

MOST = 24  # lines; in a line only what stands together on the page
G = units.G0_MPS2
PERSON_KG = 77.0  # 170 lb


@dataclass(frozen=True, slots=True)
class ReadBack:
    """One number to confirm: what it is, as printed, and where it stands in the file."""

    what: str
    text: str
    table: str
    key: str

    def __str__(self) -> str:
        return f"{self.what}: {self.text}"


def read_back(airplane: Airplane) -> tuple[ReadBack, ...]:
    """The numbers with most leverage, the most dangerous first; at most two dozen lines."""
    return tuple(n for _, n in zip(range(MOST), _numbers(airplane), strict=False))


def _numbers(airplane: Airplane) -> Iterator[ReadBack]:
    file = airplane.file

    def say(what: str, table: str, key: str, value: float | None, unit_table: str = "") -> Iterator[ReadBack]:
        if value is None:
            return
        unit = printed_unit(file.printed, unit_table or table, key)
        shown = value if unit == unit_of(key) else as_printed(value, key, unit)
        kind = " indicated" if key.endswith("kias") else " calibrated" if key.endswith("kcas") else ""
        yield ReadBack(what, f"{shown:,.10g} {unit}{kind}".strip(), table, key)

    a, wb, limits = file.airplane, file.weight_and_balance, file.limitations
    yield from say("maximum takeoff weight", "airplane", "maximum_takeoff_weight_lb", a.maximum_takeoff_weight_lb)
    if wb is not None:
        yield from say("empty weight", "weight_and_balance", "empty_weight_lb", wb.empty_weight_lb)
        yield from say("empty arm", "weight_and_balance", "empty_arm_in", wb.empty_arm_in)
        for what, key in (("mean aerodynamic chord", "mac_length_in"), ("its leading edge", "mac_leading_edge_in")):
            yield from say(what, "weight_and_balance", key, getattr(wb, key))
        path = "weight_and_balance.stations"
        for s in wb.stations:
            (found,) = say(f"arm of {s.name}", "weight_and_balance", "arm_in", s.arm_in, path)
            for most in say("", "weight_and_balance", "maximum_lb", s.maximum_lb, path):
                found = replace(found, text=f"{found.text}, at most {most.text}")
            yield found
        yield from _edges(airplane)
    tanks = file.fuel.tanks if file.fuel else []
    said = [(t.name, n.text) for t in tanks for n in say("", "fuel", "usable_us_gal", t.usable_us_gal, "fuel.tanks")]
    if said:
        yield ReadBack("usable fuel", ", ".join(f"{name} {text}" for name, text in said), "fuel", "usable_us_gal")
    if limits is not None:
        for name in ("never_exceed", "maximum_structural_cruise", "maximum_flaps_extended"):
            for suffix in ("kias", "kcas"):
                value = getattr(limits, f"{name}_{suffix}", None)
                if value is not None:
                    yield from say(name.replace("_", " "), "limitations", f"{name}_{suffix}", value)
                    break
    for kind in ("takeoff", "landing"):
        table = getattr(file.performance, kind)
        if table is None:
            continue
        flap = _flap(airplane, kind)
        rules = [*([flap] if flap else []), *(_rule(rule) for rule in table.corrections)]
        if rules:
            yield ReadBack(f"{kind} table", "; ".join(rules), f"performance.{kind}", "corrections")
    if limits is not None and limits.maximum_demonstrated_crosswind_kt is not None:
        knots = limits.maximum_demonstrated_crosswind_kt
        yield from say("demonstrated crosswind", "limitations", "maximum_demonstrated_crosswind_kt", knots)
    glide = file.performance.glide
    if glide is not None and glide.rows[0].glide_ratio is not None:
        yield ReadBack("glide ratio", f"{glide.rows[0].glide_ratio:g} to 1", "performance.glide", "glide_ratio")


def _rule(rule: Correction) -> str:
    per = f" for every {rule.per:g} {rule.unit}" if rule.per else ""
    of = {"ground_roll": " of the ground roll", "total": "", "share_of_total": " of the total, added to both"}
    return f"{rule.cause.replace('_', ' ')} {f'{rule.change_percent:+g}'.replace('-', '−')} %{of[rule.applies_to]}{per}"


def _flap(airplane: Airplane, kind: str) -> str:
    """The flaps a runway table is for; nothing where the file doesn't say."""
    notch = getattr(airplane.file.performance, kind).flap_notch
    found = next((n for n in airplane.flap_notches if n.notch == notch), None)
    degrees = f" ({found.deflection_deg:g}°)" if found and found.deflection_deg else ""
    return "" if notch is None else f"flaps at notch {notch}{degrees}" if notch else "flaps up"


def _edges(airplane: Airplane) -> Iterator[ReadBack]:
    """The corners of each envelope by weight, by arm or percent as they are printed."""
    wb, printed = airplane.file.weight_and_balance, airplane.file.printed
    for name in CATEGORIES:
        envelope = getattr(wb, f"envelope_{name}", None)
        if wb is None or envelope is None:
            continue
        path = f"weight_and_balance.envelope_{name}"
        key = "arm_in" if envelope.polygon[0].percent_mac is None else "percent_mac"

        def number(key: str, value: float, table: str = f"{path}.polygon") -> str:
            unit = printed_unit(printed, table, key)
            return f"{value if unit == unit_of(key) else as_printed(value, key, unit):,.10g}"

        corners: dict[float, list[float]] = {}
        for c in sorted(envelope.polygon, key=lambda c: c.weight_lb):
            corners.setdefault(c.weight_lb, []).append(getattr(c, key))
        unit = printed_unit(printed, f"{path}.polygon", key) if key == "arm_in" else "% of the chord"
        weight_unit = printed_unit(printed, f"{path}.polygon", "weight_lb")
        text = "; ".join(
            f"{number('weight_lb', w)} {weight_unit} {' to '.join(number(key, x) for x in sorted(set(arms)))}"
            for w, arms in corners.items()
        )
        yield ReadBack(f"{name} envelope", f"{text} {unit}", path, "polygon")
        if envelope.rear_seats_empty or (
            name != "normal" and any(station_kind(s) == "rear_seats" for s in wb.stations)
        ):
            text = "must be empty" if envelope.rear_seats_empty else "may be taken"
            yield ReadBack(f"{name} category, rear seats", text, path, "rear_seats_empty")


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
        flaps = _flap(airplane, kind)
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
