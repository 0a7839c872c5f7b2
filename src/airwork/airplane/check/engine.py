"""Suspicions about the power, RPM and cruise tables."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.check.book import Book, Complaint, cruise_inputs, mph_hint, steps
from airwork.airplane.cruise_power import burns_jet_fuel
from airwork.airplane.tables import GridTable
from airwork.errors import AirworkError

POWER_POINTS = 3.0  # percent power is printed to 1, and the altitude between two rows
RPM_ROUNDING = 35.0  # RPM for a percent is printed to 10, percent to 1 (about 7 RPM a point)
SPEED_KT = 5.0
RED_LINE = 1.06  # over the RPM of rated power; geared engines have 5,800 for five minutes over 5,500 (from memory)
# Pounds of fuel per horsepower and hour of gasoline piston engines, from memory: best economy 0.40–0.45, best power
# 0.45–0.50, full rich 0.52–0.65; widened, because only the impossible is reported.
CONSUMPTION = {"best_economy": (0.36, 0.55), "best_power": (0.40, 0.62), "full_rich": (0.44, 0.78)}
DIESEL = (0.28, 0.48)  # of single rows; 0.17 to 0.29 kg/kWh
CHART, CRUISE = "performance.power_chart", "performance.cruise"


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about the engine's tables."""
    yield from _limits(book)
    yield from _chart(book)
    yield from _rpm_chart(book)
    yield from _cruise(book)
    yield from _cruise_against_chart(book)
    yield from _fuel_flow(book)


def _top_rpm(book: Book) -> float:
    limits = book.file.limitations
    return limits.maximum_rpm if limits and limits.maximum_rpm else book.file.engine.rated_rpm * 1.05


def _limits(book: Book) -> Iterator[Complaint]:
    engine, limits = book.file.engine, book.file.limitations
    if limits and limits.maximum_rpm and engine.rated_rpm > limits.maximum_rpm:
        what = f"rated at {engine.rated_rpm:,.0f} RPM, maximum {limits.maximum_rpm:,.0f} RPM"
        why = "Rated power can't lie above the red line."
        tables = book.file.performance
        both = [r.rpm for t in (tables.cruise, tables.power_chart) if t is not None for r in t.rows]
        flown = [rpm for rpm in both if rpm is not None]
        slow = bool(flown) and max(flown) > 1.05 * limits.maximum_rpm
        place = book.place("limitations", None, "maximum_rpm") if slow else book.place("engine", None, "rated_rpm")
        yield Complaint(place, what, why, table="limitations" if slow else "engine")
    elif limits and limits.maximum_rpm and limits.maximum_rpm > RED_LINE * engine.rated_rpm:
        what = f"maximum {limits.maximum_rpm:,.0f} RPM, rated at {engine.rated_rpm:,.0f} RPM"
        why = "The red line lies at the rated RPM or a little above; a digit?"
        yield book.doubt("limitations", what, why, key="maximum_rpm", leans=("engine",))
    static = book.file.propeller.static_rpm_full_throttle
    if static is not None and static[1] > _top_rpm(book):
        what = f"static RPM up to {static[1]:,.0f}"
        yield Complaint(book.place("propeller"), what, f"The maximum is {_top_rpm(book):,.0f} RPM.")
    if engine.carburetor_heat and engine.fuel_system == "fuel injection":
        yield Complaint(book.place("engine"), "carburetor heat with fuel injection", "There is no carburetor to heat.")
    if book.file.propeller.type == "fixed_pitch" and book.file.propeller.governing_rpm is not None:
        yield Complaint(book.place("propeller"), "governing_rpm with a fixed-pitch propeller", "It has no governor.")


def _over(book: Book, table: str, rows: list[Any], name: str = "rows") -> Iterator[Complaint]:
    """Rows above the maximum RPM or above 100 % power, one complaint for each kind."""
    top = _top_rpm(book) * (1.05 if name == "rpm_for_percent_power" else 1.0)  # a chart the other way round runs on
    fast = [i for i, row in enumerate(rows) if row.rpm is not None and row.rpm > top]
    if fast:
        worst = max(rows[i].rpm for i in fast)
        yield Complaint(
            book.place(table, fast[0], rows=name),
            f"{len(fast)} row{'s' if len(fast) > 1 else ''} above the maximum {top:,.0f} RPM (up to {worst:,.0f})",
            "They can't be flown; a wrong digit, or rows the handbook prints for other uses?",
            table=table,
            rows=tuple(fast),
            leans=("limitations", "engine") if len(fast) > 2 else (),
        )
    for i, row in enumerate(rows):
        if row.percent_power is not None and row.percent_power > 100:
            what = f"{row.percent_power:g} % power"
            yield Complaint(book.place(table, i, rows=name), what, "More than the rated power; a digit is wrong.")


def _chart(book: Book) -> Iterator[Complaint]:
    chart = book.file.performance.power_chart
    if chart is None:
        return
    rows = chart.rows
    yield from _over(book, CHART, rows)
    height = "density_altitude_ft" if rows[0].density_altitude_ft is not None else "pressure_altitude_ft"
    constant_speed = rows[0].manifold_pressure_inhg is not None
    inputs = [height, "rpm", "manifold_pressure_inhg"]
    for along, word in (("rpm", "RPM"), ("manifold_pressure_inhg", "manifold pressure")):
        fixed = [k for k in inputs if k != along]
        for a, b in steps(rows, fixed, along, "percent_power"):
            if rows[b].percent_power <= rows[a].percent_power:
                what = f"{rows[b].percent_power:g} % after {rows[a].percent_power:g} % (row {a + 1})"
                yield book.doubt(CHART, what, f"Power must rise with {word}, the rest equal.", row=b, rows=(b, a))
    for a, b in steps(rows, [k for k in inputs if k != height], height, "percent_power"):
        change = rows[b].percent_power - rows[a].percent_power
        # a fixed-pitch propeller takes less power in thinner air; at given manifold pressure an engine gives more
        if (change > 1 and not constant_speed) or (change < -1 and constant_speed):
            law = "rises slowly" if constant_speed else "falls"
            each = (
                f"{r.percent_power:g} % at {book.number(CHART, height, getattr(r, height))}" for r in (rows[b], rows[a])
            )
            why = f"With {'RPM and manifold pressure' if constant_speed else 'RPM'} held, power {law} with altitude."
            yield book.doubt(CHART, ", ".join(each), why, row=b, rows=(b, a))


def _rpm_chart(book: Book) -> Iterator[Complaint]:
    chart = book.file.performance.power_chart
    rows = chart.rpm_for_percent_power if chart else []
    if not rows:
        return
    name = "rpm_for_percent_power"
    yield from _over(book, CHART, rows, name)
    for a, b in steps(rows, ["density_altitude_ft"], "percent_power", "rpm"):
        if rows[b].rpm <= rows[a].rpm:
            what = f"{rows[b].rpm:,.0f} RPM for {rows[b].percent_power:g} %, {rows[a].rpm:,.0f} for less"
            yield Complaint(book.place(CHART, b, rows=name), what, "More power needs more RPM.")
    grid = book.airplane.engine.chart
    if grid is None or len(grid.axes) != 2:
        return
    for i, row in enumerate(rows):
        try:
            read = grid.inverse(row.percent_power, row.density_altitude_ft, what="percent power")
        except AirworkError:
            continue
        if abs(read - row.rpm) > RPM_ROUNDING:
            at = book.number(CHART, "density_altitude_ft", row.density_altitude_ft)
            what = f"{row.rpm:,.0f} RPM for {row.percent_power:g} % at {at}"
            yield Complaint(book.place(CHART, i, rows=name), what, f"The power chart's rows give {read:,.0f} RPM.")


def _cruise(book: Book) -> Iterator[Complaint]:
    cruise = book.file.performance.cruise
    if cruise is None:
        return
    rows = cruise.rows
    yield from _over(book, CRUISE, rows)
    inputs = cruise_inputs(rows)
    for along, word in (("rpm", "RPM"), ("manifold_pressure_inhg", "manifold pressure"), ("percent_power", "power")):
        if along not in inputs:
            continue
        for a, b in steps(rows, [k for k in inputs if k != along], along, "percent_power"):
            less, more = rows[a].percent_power, rows[b].percent_power
            if less is not None and more is not None and more <= less:
                what = f"{more:g} % after {less:g} % (row {a + 1})"
                yield book.doubt(CRUISE, what, f"Power must rise with {word}, the rest equal.", row=b, rows=(b, a))
        flow = next((f for m in CONSUMPTION if any(getattr(r, f := f"gph_{m}") is not None for r in rows)), "ktas")
        for key, name in (("ktas", "True airspeed"), (flow, "Fuel flow")):
            for a, b in steps(rows, [k for k in inputs if k != along], along, key):
                less, more = getattr(rows[a], key), getattr(rows[b], key)
                # a twentieth more RPM takes a seventh more power: no book prints the same flow for it
                same = key == flow and along == "rpm" and (rows[b].rpm or 0.0) > 1.03 * (rows[a].rpm or 0.0)
                if more < less or (same and more <= less):
                    said = f"{book.number(CRUISE, key, more)} after {book.number(CRUISE, key, less)}"
                    why = f"{name} must rise with {word}, the rest equal."
                    yield book.doubt(CRUISE, f"{said} (row {a + 1})", why, row=b, rows=(b, a))


def _cruise_against_chart(book: Book) -> Iterator[Complaint]:
    """Percent power and true airspeed of the cruise table against the power chart."""
    cruise, chart = book.file.performance.cruise, book.file.performance.power_chart
    grid = book.airplane.engine.chart
    if cruise is None or chart is None or grid is None:
        return
    speeds = None
    if len(grid.axes) == 2:
        speeds = GridTable.from_rows("power chart", grid.axes, "ktas", [r.model_dump() for r in chart.rows])
    for i, row in enumerate(cruise.rows):
        height = units.from_unit(row.pressure_altitude_ft, "ft")
        temperature = float(standard_temperature_k(height)) + row.isa_deviation_c
        pressure = None if row.manifold_pressure_inhg is None else units.from_unit(row.manifold_pressure_inhg, "inHg")
        # a printed temperature rule is coarse: one more point at 20 °C off standard
        allowed = POWER_POINTS + (abs(row.isa_deviation_c) / 20.0 if len(grid.axes) == 3 else 0.0)
        if row.rpm is None:
            continue
        try:
            known = 100.0 * book.airplane.power_ratio(row.rpm, height, temperature, pressure)
        except AirworkError:
            continue
        at = book.number(CRUISE, "pressure_altitude_ft", row.pressure_altitude_ft)
        if row.percent_power is not None and abs(known - row.percent_power) > allowed:
            yield book.doubt(
                CRUISE,
                f"{row.percent_power:g} % at {row.rpm:,.0f} RPM, {at}",
                f"The power chart gives {known:.0f} % there: the cruise table and the power table disagree.",
                row=i,
                leans=(CHART,),
            )
        if speeds is None or row.ktas is None:
            continue
        density = units.to_unit(book.airplane.density_altitude_m(height, temperature), "ft")
        try:
            tas = speeds(density, row.rpm)
        except AirworkError:
            continue
        if abs(tas - row.ktas) > SPEED_KT:
            what = f"{book.number(CRUISE, 'ktas', row.ktas)} true at {row.rpm:,.0f} RPM, {at}"
            yield book.doubt(
                CRUISE,
                what,
                f"The power chart gives {book.speed(tas)}.{mph_hint(row.ktas, tas)}",
                row=i,
                leans=(CHART,),
            )


def _fuel_flow(book: Book) -> Iterator[Complaint]:
    cruise, engine = book.file.performance.cruise, book.file.engine
    if cruise is None:
        return
    rule = engine.leaning
    for i, (row, percent) in enumerate(zip(cruise.rows, book.percents, strict=True)):
        where = book.place(CRUISE, i)
        power = (percent or 0.0) / 100.0 * engine.rated_power_hp
        flows = {m: flow for m in CONSUMPTION if (flow := getattr(row, f"gph_{m}")) is not None}
        for mixture, flow in flows.items():
            if power <= 0:
                continue
            used = flow * engine.fuel_density_lb_per_us_gal / power
            low, high = DIESEL if burns_jet_fuel(book.file) else CONSUMPTION[mixture]
            if not low <= used <= high:
                said = f"{book.number(CRUISE, f'gph_{mixture}', flow)} {mixture.replace('_', ' ')}"
                yield Complaint(
                    where,
                    f"{said} for {book.number('engine', 'rated_power_hp', power)} is {used:.2f} lb per hp and hour",
                    f"An engine like this uses {low:.2f} to {high:.2f}; a digit is wrong, or liters typed as gallons?",
                    table=CRUISE,
                    rows=(i,),
                    leans=("engine",),
                )
        order = [flows[m] for m in ("best_economy", "best_power", "full_rich") if m in flows]
        if order != sorted(order):
            each = [f"{m.replace('_', ' ')} {book.number(CRUISE, f'gph_{m}', flow)}" for m, flow in flows.items()]
            what = ", ".join(each)
            yield Complaint(where, what, "Best economy uses least, full rich most; are columns exchanged?")
        leaned = [m for m in flows if m != "full_rich"]
        if rule is not None and leaned and percent is not None and percent > rule.maximum_percent_power + 2:
            what = f"leaned fuel flow at {percent:g} % power"
            yield Complaint(
                where, what, f"[engine.leaning] allows leaning at {rule.maximum_percent_power:g} % and below."
            )
