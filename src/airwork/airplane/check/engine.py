"""Suspicions about the power, RPM and cruise tables."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from airwork.airplane.check.book import STRICT, Book, Complaint, cruise_inputs, wrong_way

RED_LINE = 1.06  # over the RPM of rated power; geared engines have 5,800 for five minutes over 5,500 (from memory)
MIXTURES = ("best_economy", "best_power", "full_rich")  # the leanest first
CHART, CRUISE = "performance.power_chart", "performance.cruise"


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about the engine's tables."""
    yield from _limits(book)
    yield from _chart(book)
    yield from _cruise(book)
    yield from _mixtures(book)


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
        table, key = ("limitations", "maximum_rpm") if slow else ("engine", "rated_rpm")
        yield book.doubt(table, what, why, key=key)
    elif limits and limits.maximum_rpm and limits.maximum_rpm > RED_LINE * engine.rated_rpm:
        what = f"maximum {limits.maximum_rpm:,.0f} RPM, rated at {engine.rated_rpm:,.0f} RPM"
        why = "The red line lies at the rated RPM or a little above; a digit?"
        yield book.doubt("limitations", what, why, key="maximum_rpm", leans=("engine",))
    static = book.file.propeller.static_rpm_full_throttle
    if static is not None and static[1] > _top_rpm(book):
        what = f"static RPM up to {static[1]:,.0f}"
        yield book.doubt("propeller", what, f"The maximum is {_top_rpm(book):,.0f} RPM.")
    if engine.carburetor_heat and engine.fuel_system == "fuel injection":
        yield book.doubt("engine", "carburetor heat with fuel injection", "There is no carburetor to heat.")
    if book.file.propeller.type == "fixed_pitch" and book.file.propeller.governing_rpm is not None:
        yield book.doubt("propeller", "governing_rpm with a fixed-pitch propeller", "It has no governor.")


def _over(book: Book, table: str, rows: list[Any], name: str = "rows") -> Iterator[Complaint]:
    """Rows above the maximum RPM or above 100 % power, one complaint for each kind."""
    top = _top_rpm(book) * (1.05 if name == "rpm_for_percent_power" else 1.0)  # a chart the other way round runs on
    fast = [i for i, row in enumerate(rows) if row.rpm is not None and row.rpm > top]
    if fast:
        worst = max(rows[i].rpm for i in fast)
        yield book.doubt(
            table,
            f"{len(fast)} row{'s' if len(fast) > 1 else ''} above the maximum {top:,.0f} RPM (up to {worst:,.0f})",
            "They can't be flown; a wrong digit, or rows the handbook prints for other uses?",
            row=fast[0],
            of=name,
            rows=tuple(fast),
            leans=("limitations", "engine") if len(fast) > 2 else (),
            firm=True,
        )
    for i, row in enumerate(rows):
        if row.percent_power is not None and row.percent_power > 100:
            what = f"{row.percent_power:g} % power"
            yield book.doubt(table, what, "More than the rated power; a digit is wrong.", row=i, of=name, firm=True)


def _chart(book: Book) -> Iterator[Complaint]:
    chart = book.file.performance.power_chart
    if chart is None:
        return
    yield from _over(book, CHART, chart.rows)
    rows = chart.rpm_for_percent_power
    name = "rpm_for_percent_power"
    yield from _over(book, CHART, rows, name)
    yield from wrong_way(
        book, CHART, rows, ("density_altitude_ft", "percent_power"), "rpm", along=("percent_power",),
        least=lambda *_: STRICT, name=name,
    )  # fmt: skip


def _cruise(book: Book) -> Iterator[Complaint]:
    cruise = book.file.performance.cruise
    if cruise is None:
        return
    rows = cruise.rows
    yield from _over(book, CRUISE, rows)
    inputs = cruise_inputs(rows)
    along = [k for k in inputs if k in {"rpm", "manifold_pressure_inhg", "percent_power"}]
    flow = next((f for m in MIXTURES if any(getattr(r, f := f"gph_{m}") is not None for r in rows)), "ktas")

    def rise(a: Any, b: Any, along: str) -> float:
        """A twentieth more RPM takes a seventh more power: no book prints the same flow for it."""
        return STRICT if along == "rpm" and b.rpm > 1.03 * a.rpm else 0.0

    for key in ("percent_power", "ktas"):
        yield from wrong_way(book, CRUISE, rows, inputs, key, along=along)
    yield from wrong_way(book, CRUISE, rows, inputs, flow, along=along, least=rise)


def _mixtures(book: Book) -> Iterator[Complaint]:
    cruise, rule = book.file.performance.cruise, book.file.engine.leaning
    for i, (row, percent) in enumerate(zip(cruise.rows if cruise else (), book.percents, strict=True)):
        flows = {m: flow for m in MIXTURES if (flow := getattr(row, f"gph_{m}")) is not None}
        if list(flows.values()) != sorted(flows.values()):
            said = ", ".join(
                f"{m.replace('_', ' ')} {book.number(CRUISE, f'gph_{m}', flow)}" for m, flow in flows.items()
            )
            why = "Best economy uses least, full rich most; are columns exchanged?"
            yield book.doubt(CRUISE, said, why, row=i)
        leaned = any(m != "full_rich" for m in flows)
        if rule is not None and leaned and percent is not None and percent > rule.maximum_percent_power + 2:
            why = f"[engine.leaning] allows leaning at {rule.maximum_percent_power:g} % and below."
            yield book.doubt(CRUISE, f"leaned fuel flow at {percent:g} % power", why, row=i)
