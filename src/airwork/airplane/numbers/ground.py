"""Loading, takeoff and landing of the day."""

from __future__ import annotations

from dataclasses import replace

from airwork import units
from airwork.airdata.altimetry import pressure_altitude_from_setting_m
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane import runway
from airwork.airplane.book_units import BookUnits
from airwork.airplane.loading import Loading, loading, remedy
from airwork.airplane.numbers.lines import Line, Section, refusal, written
from airwork.airplane.numbers.question import Field, Today
from airwork.errors import NotPossible, OutOfRange
from airwork.values import How, Value

WB = "handbook, weight and balance"


def loading_section(today: Today) -> Section:
    """Weight, center of gravity and categories, as loaded and with the fuel burned."""
    loaded, q = today.loading, today.question
    assert loaded is not None  # asked only with a loading
    cases = {"as loaded": loaded}
    if any(q.tank_m3.values()):
        dry = loading(today.airplane, q.station_mass_kg, {})
        cases["fuel burned"] = dry
        if loaded.categories and not dry.categories:
            today.cautions.append("the center of gravity leaves the envelope as the fuel is burned.")
    today.cautions += [f"{problem}." for problem in loaded.problems]
    lines: list[Line] = []
    book = today.airplane.book
    w, x = book.mass, book.arm
    for name, key in (("weight", "weight"), ("center of gravity", "center_of_gravity")):
        for column, case in cases.items():
            value = (
                Value(round(units.to_unit(case.mass_kg, w), 1), w, "formula", WB)
                if key == "weight"
                else Value(
                    round(units.to_unit(case.arm_m, x), 3 if x == "m" else 2), x, "formula", WB, note="aft of the datum"
                )
            )
            lines.append(
                Line(key, name, written(value, 0 if key == "weight" else book.digits("in")), value, column=column)
            )
    for category in today.airplane.categories:
        lines += [_limits(book, category, column, case) for column, case in cases.items()]
        lines += [_category(category, column, case) for column, case in cases.items()]
    for category in today.airplane.categories:
        if helps := remedy(today.airplane, q.station_mass_kg, q.tank_m3, category):
            lines.append(Line(f"{category}_remedy", "remedy", helps))
    return Section("loading", "Loading", tuple(lines))


def _limits(book: BookUnits, category: str, column: str, case: Loading) -> Line:
    """The arm limits of a category at this weight."""
    edges, key, name = case.arm_limits_m.get(category), f"{category}_limits", f"limits, {category} category"
    if edges is None:
        return Line(key, name, "none", column=column)
    digits = book.digits("in")
    low, high = (
        Value(round(units.to_unit(edge, book.arm), digits + 1), book.arm, "handbook table", WB) for edge in edges
    )
    return Line(
        key,
        name,
        f"{low.value:.{digits}f}–{high.value:.{digits}f} {book.arm}",
        low,
        (("aft limit", high),),
        column=column,
    )


def _category(category: str, column: str, case: Loading) -> Line:
    """Whether a category is legal so loaded; if not, why."""
    reason = case.why_not.get(category, "")
    return Line(
        category,
        f"legal in {category}",
        "no" if reason else "yes",
        None if reason else Value(1, "", "formula", WB, note="within the envelope and its conditions"),
        column=column,
        refused=f"{category}: {reason}" if reason else "",
    )


def runway_sections(today: Today) -> list[Section]:
    """Takeoff and landing at the field asked."""
    field = today.question.field
    assert field is not None  # asked only with a field
    height = float(pressure_altitude_from_setting_m(field.elevation_m, today.setting_pa))
    temperature = field.temperature_k
    if temperature is None:
        temperature = float(standard_temperature_k(height)) + today.isa_deviation_k
    out = []
    for kind in ("takeoff", "landing"):
        table = getattr(today.airplane.file.performance, kind)
        if table is not None:
            out.append(_runway(today, kind, field, height, temperature))
    return [Section("field", "Field", tuple(_field_lines(today, field, height, temperature))), *out]


def _field_lines(today: Today, field: Field, height: float, temperature: float) -> list[Line]:
    pressure = Value(round(units.to_unit(height, "ft")), "ft", "formula", "ICAO standard atmosphere")
    how: How = "assumed" if field.temperature_k is None else "given"
    source = "today's deviation from standard" if field.temperature_k is None else "asked"
    celsius = Value(round(units.to_unit(temperature, "°C"), 1), "°C", how, source)
    lines = [
        Line("field_pressure_altitude", "field pressure altitude", written(pressure), pressure),
        Line("field_temperature", "field temperature", written(celsius), celsius),
    ]
    crosswind, limit = abs(field.crosswind_mps), today.airplane.limits.max_crosswind_mps
    if crosswind > 0.05:
        value = Value(round(units.to_unit(crosswind, "kt"), 1), "kt", "formula", "wind component across the runway")
        side = "right" if field.crosswind_mps > 0 else "left"
        if limit is not None:
            value = replace(value, note=f"{units.write(limit, 'kt')} demonstrated")
            if crosswind > limit + 1e-6:
                today.cautions.append("the crosswind is more than was demonstrated for this airplane.")
        lines.append(Line("crosswind", "crosswind", f"{value.value:.0f} kt from the {side}", value))
    return lines


def _runway(today: Today, kind: str, field: Field, height: float, temperature: float) -> Section:
    usual = runway.TAKEOFF_SAFETY_FACTOR if kind == "takeoff" else runway.LANDING_SAFETY_FACTOR
    factor = usual if field.factor is None else field.factor
    ask = runway.takeoff if kind == "takeoff" else runway.landing
    try:
        found = ask(
            today.airplane, today.mass_kg, height, temperature, field.headwind_mps, field.surface, field.slope, factor
        )
    except (OutOfRange, NotPossible) as problem:
        return Section(kind, kind.capitalize(), (refusal(f"{kind}_distance", f"{kind} distance", problem),))
    source, book = f"handbook, {kind}", today.airplane.book
    roll = Value(book.run(found.ground_roll_m), book.runway, "handbook table", source)
    lines = [Line(f"{kind}_ground_roll", "ground roll", written(roll), roll)]
    if found.over_50_ft_m is not None:
        total = Value(book.run(found.over_50_ft_m), book.runway, "handbook table", source)
        lines.append(Line(f"{kind}_over_50_ft", f"total over {book.over}", written(total), total))
    source = "generic safety factor, from memory" if field.factor is None else "safety factor as asked"
    text = ""
    if field.length_m is not None:
        fits = found.needed_m <= field.length_m
        text = f"of {book.length(field.length_m)}: {'fits' if fits else 'DOES NOT FIT'}"
        if not fits:
            today.cautions.append(f"{kind}: the runway is shorter than the distance with the safety factor.")
    note = "; ".join(filter(None, [text, "generic factor, from memory" if field.factor is None else ""]))
    needed = Value(book.run(found.needed_m), book.runway, "formula", source, note=note)
    lines.append(Line(f"{kind}_needed", f"× {factor:.2f} for safety", written(needed), needed))
    lines += [Line(f"{kind}_step_{i}", "" if i else "how", step) for i, step in enumerate(found.steps)]
    return Section(kind, kind.capitalize(), tuple(lines), found.conditions)
