"""Suspicions about corrections: their size, what is printed for one runway table alone, wet below dry."""

from __future__ import annotations

from collections.abc import Iterator

from airwork import units
from airwork.airplane.check.book import Book, Complaint
from airwork.airplane.file.performance import Correction, DistanceTable
from airwork.airplane.runway import wind_factor
from airwork.airplane.runway_table import TEMPERATURE

# Change in percent a cause makes in handbooks, on the roll or on the whole (common practice, from memory; wide)
PLAIN: dict[str, tuple[float, float]] = {
    "dry_grass": (4, 45),
    "wet_grass": (7, 75),
    "soft_ground": (10, 150),
    "snow": (10, 200),
    "wet_paved": (1, 70),
    "humidity": (1, 15),
    "no_wheel_fairings": (0.3, 10),
}
SLOPE: dict[str, tuple[float, float]] = {
    "upslope": (1.5, 18.0),
    "downslope": (1.0, 15.0),
}  # percent for each percent of slope, either sign
HEAT_C: dict[str, tuple[float, float]] = {
    "takeoff": (0.51, 2.0),  # 10 % for 35 °F is the least printed (from memory); density alone, 1.5 times, makes 0.52
    "landing": (0.28, 1.0),  # 10 % for 60 °F; density alone makes 0.35
}  # percent for each °C above standard
# Share of what the wind does to the square of the ground speed: handbooks credit half of a headwind, charge a tailwind
HEADWIND, TAILWIND = (0.22, 1.08), (0.55, 3.2)
WINDS_APART, GRASS_APART = 1.55, 2.3  # the same cause for takeoff and landing: one over the other at most
# Printed in many handbooks (from memory): 15 % of the roll for takeoff and 45 % for landing, or 7 and 20 % of the total
GRASS_LANDING = 3.2
BOTH = ("headwind", "tailwind", "dry_grass", "wet_grass")  # causes printed for both runway tables, if for one


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about corrections."""
    tables = {
        kind: table for kind in ("takeoff", "landing") if (table := getattr(book.file.performance, kind)) is not None
    }
    for kind, table in tables.items():
        for i, rule in enumerate(table.corrections):
            yield from _size(book, kind, table, i, rule)
    if len(tables) == 2 and all(t.corrections for t in tables.values()):
        yield from _one_alone(book, tables)
        yield from _alike(book, tables)


def _say(book: Book, kind: str, i: int, what: str, why: str) -> Complaint:
    path = f"performance.{kind}"
    return book.doubt(path, what, why, row=i, of="corrections", column="corrections")


def _size(book: Book, kind: str, table: DistanceTable, i: int, rule: Correction) -> Iterator[Complaint]:
    cause, change = rule.cause, abs(rule.change_percent)
    words = cause.replace("_", " ")
    what = f"{words} {rule.change_percent:+g} %" + (f" for every {rule.per:g} {rule.unit}" if rule.per else "")
    if cause in PLAIN:
        low, high = PLAIN[cause]
        low = low / 2 if rule.applies_to == "share_of_total" else low
        if not low <= change <= high:
            yield _say(book, kind, i, what, f"Handbooks print {low:g} to {high:g} % for it; a digit is wrong.")
    elif cause in SLOPE and rule.per:
        low, high = SLOPE[cause]
        if not low <= change / rule.per <= high:
            why = f"{low:g} to {high:g} % for each percent of slope is usual; the two numbers exchanged, or a digit?"
            yield _say(book, kind, i, what, why)
    elif cause == TEMPERATURE and rule.per:
        per_c = change / rule.per * (1.8 if rule.unit == "F" else 1.0)
        low, high = HEAT_C[kind]
        if not low <= per_c <= high:
            why = f"That is {per_c:.1f} % for each °C; {low:g} to {high:g} is usual. Numbers exchanged, or °F and °C?"
            yield _say(book, kind, i, what, why)
    elif cause in {"headwind", "tailwind"} and rule.per:
        speed = _speed_kt(book, kind, table)
        wind = units.to_unit(units.from_unit(rule.per, rule.unit or "kt"), "kt")
        if speed is None or wind >= 0.9 * speed:
            if speed is not None:
                yield _say(
                    book, kind, i, what, f"The wheels leave the ground at {book.speed(speed)}; a digit is wrong."
                )
            return
        sign = 1.0 if cause == "headwind" else -1.0
        full = abs(100.0 * (1.0 - wind_factor(sign * wind / speed)))
        low, high = HEADWIND if cause == "headwind" else TAILWIND
        if not low <= change / full <= high:
            most = " at most" if cause == "headwind" else ""
            why = (
                f"By the square of the speed that wind makes {full:.0f} %{most}; the two numbers exchanged, or a digit?"
            )
            yield _say(book, kind, i, what, why)


def _speed_kt(book: Book, kind: str, table: DistanceTable) -> float | None:
    key = "liftoff" if kind == "takeoff" else "approach"
    printed: float | None = getattr(table, f"{key}_kias")
    notch = table.flap_notch if table.flap_notch is not None else (0 if kind == "takeoff" else book.airplane.flaps_full)
    stall = book.stall_kt(max(r.weight_lb for r in table.rows), notch)
    usual = None if stall is None else (1.13 if kind == "takeoff" else 1.2) * stall
    if printed is None or (usual is not None and not 0.7 < printed / usual < 1.4):
        return usual
    return printed


def _one_alone(book: Book, tables: dict[str, DistanceTable]) -> Iterator[Complaint]:
    causes = {
        kind: {c.cause for c in table.corrections} | ({"headwind"} if table.wind_rows else set())  # a column for each
        for kind, table in tables.items()
    }
    for kind, other in (("landing", "takeoff"), ("takeoff", "landing")):
        known = {*causes[kind], *tables[kind].not_printed}
        lacks = [cause.replace("_", " ") for cause in BOTH if cause in causes[other] and cause not in known]
        if lacks:
            path = f"performance.{kind}"
            yield book.doubt(
                path,
                f"no correction for {', '.join(lacks)}; {other} has it",
                "Handbooks print it for both; was one left out? None, if the book prints none (`not_printed`).",
                column="corrections",
                alone=True,
            )


def _alike(book: Book, tables: dict[str, DistanceTable]) -> Iterator[Complaint]:
    """The same cause for takeoff and landing: like sizes."""
    first = {c.cause: (i, c) for i, c in reversed(list(enumerate(tables["takeoff"].corrections)))}
    for k, rule in enumerate(tables["landing"].corrections):
        if rule.cause not in {"headwind", "tailwind", "dry_grass"} or rule.cause not in first:
            continue
        i, other = first[rule.cause]
        if (rule.unit, rule.applies_to) != (other.unit, other.applies_to):
            continue
        here, there = rule.change_percent / (rule.per or 1.0), other.change_percent / (other.per or 1.0)
        most = WINDS_APART if rule.cause in {"headwind", "tailwind"} else GRASS_APART
        swapped = rule.per == abs(other.change_percent) != other.per == abs(rule.change_percent)
        landing = GRASS_LANDING if rule.cause == "dry_grass" and rule.applies_to != "total" else most
        if here * there > 0 and (swapped or not 1 / most < here / there < landing):
            words = rule.cause.replace("_", " ")
            what = f"{words} {other.change_percent:+g} % for takeoff, {rule.change_percent:+g} % for landing"
            size = "takeoff" if _unusual(other) > _unusual(rule) else "landing"
            row = i if size == "takeoff" else k
            why = "The two are alike in handbooks; a digit is wrong in one of them?"
            yield book.doubt(
                f"performance.{size}",
                what,
                why,
                row=row,
                of="corrections",
                column="corrections",
                leans=(f"performance.{'landing' if size == 'takeoff' else 'takeoff'}",),
            )


def _unusual(rule: Correction) -> float:
    """How far from what is printed most: 10 % for 9 kt of headwind, 10 % for 2 kt of tailwind, 15 % for grass."""
    usual = {"headwind": 1.1, "tailwind": 4.0, "dry_grass": 14.0}[rule.cause]
    if rule.per and rule.change_percent and (rule.per, abs(rule.change_percent)) in {(10.0, 9.0), (10.0, 2.0)}:
        return 99.0  # printed as 10 % for 9 or 2 kt everywhere
    per = units.to_unit(units.from_unit(rule.per, rule.unit or "kt"), "kt") if rule.per else 1.0
    ratio = abs(rule.change_percent) / per / usual
    return max(ratio, 1.0 / max(ratio, 1e-9))
