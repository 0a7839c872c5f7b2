"""Suspicions about takeoff, landing, climb and glide tables."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from typing import Any

import numpy as np

from airwork import units
from airwork.airplane.check import wind
from airwork.airplane.check.book import STRICT, Book, Complaint, air_inputs, wrong_way
from airwork.airplane.check.physics import off, sigma
from airwork.airplane.file.performance import TO_CLIMB, Correction, DistanceTable
from airwork.airplane.runway import standard_sheet
from airwork.airplane.runway_table import TEMPERATURE

# d ln(distance) / d ln(1 / density) at the very least; the square of the true airspeed alone gives 1
LEAST_GROWTH = {"takeoff": 1.0, "landing": 0.25}
CLIMB_SPREAD = 0.13  # of the logarithm: true airspeed grows with altitude by 15 % in 10,000 ft, the indicated one falls
CLIMB_KT = (48.0, 145.0)  # true airspeed on the way up
LEVEL_RISE_FT = 1000.0  # so much higher a climb is never printed the same; it loses some 50 ft/min in it
# causes that lengthen (+1) or shorten (−1), for takeoff and landing
SIGNS = {
    "headwind": (-1, -1),
    "tailwind": (1, 1),
    "dry_grass": (1, 1),
    "wet_grass": (1, 1),
    "soft_ground": (1, 1),
    "wet_paved": (1, 1),
    "humidity": (1, 1),
    "above_standard_temperature": (1, 1),
    "upslope": (1, -1),
    "downslope": (-1, 1),
}


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about distances, climb and glide."""
    tables = book.file.performance
    if tables.takeoff is not None:
        yield from _distances(book, tables.takeoff, "takeoff")
    if tables.landing is not None:
        yield from _distances(book, tables.landing, "landing")
    yield from _climb(book)
    yield from _to_climb(book)
    yield from _glide(book)


def _distances(book: Book, table: DistanceTable, kind: str) -> Iterator[Complaint]:
    where, rows = f"performance.{kind}", table.rows
    for i, row in enumerate(rows):
        if row.total_over_50_ft is not None and row.total_over_50_ft <= row.ground_roll_ft:
            pair = (("total_over_50_ft", row.total_over_50_ft), ("ground_roll_ft", row.ground_roll_ft))
            what = ", ".join(book.named(where, key, x) for key, x in pair)
            yield book.doubt(where, what, "The total contains the roll; are the columns exchanged?", row=i, firm=True)
    for column in ("ground_roll_ft", "total_over_50_ft"):
        printed_all = [x for r in rows if (x := getattr(r, column)) is not None]
        step = book.step(where, column, np.array(printed_all)) if printed_all else 0.0

        def growth(a: Any, b: Any, along: str, column: str = column, step: float = step) -> float:
            thinner = 0.0 if along == "weight_lb" else math.log(sigma(a) / sigma(b))
            return float(getattr(a, column)) * math.expm1(LEAST_GROWTH[kind] * thinner) - step

        yield from wrong_way(book, where, rows, air_inputs(rows), column, least=growth)
    yield from _corrections(book, table.corrections, kind)
    heights = {r.pressure_altitude_ft for r in rows}
    printed = {(r.pressure_altitude_ft, r.oat_c) for r in rows}
    told = {*(c.cause for c in table.corrections), *table.not_printed}
    if len(heights) > 1 and len(printed) == len(heights) and TEMPERATURE not in told:
        what = "one temperature at each altitude, and no rule for warmer air"
        by_density = kind == "landing" and standard_sheet(table)
        hot = "is entered at density altitude, as far as the sheet goes" if by_density else "will be refused"
        why = (
            f"A warmer day {hot}. Has the handbook a rule? It is a correction: {TEMPERATURE} (none, if it prints none)."
        )
        yield book.doubt(where, what, why, alone=True)
    yield from wind.complaints(book, table, kind)
    if table.flap_notch is not None and table.flap_notch > book.airplane.flaps_full:
        why = f"The file's flaps end at notch {book.airplane.flaps_full}."
        yield book.doubt(where, f"flap notch {table.flap_notch}", why)


def _corrections(book: Book, corrections: list[Correction], kind: str) -> Iterator[Complaint]:
    seen: set[str] = set()
    for i, rule in enumerate(corrections):
        say = partial(book.doubt, f"performance.{kind}", row=i, of="corrections", firm=True)
        sign = SIGNS.get(rule.cause, (0, 0))[kind == "landing"]
        if sign * rule.change_percent < 0:
            words = "lengthens" if sign > 0 else "shortens"
            what = f"{rule.cause.replace('_', ' ')} {rule.change_percent:+g} %"
            yield say(what, f"It {words} the {kind}; the sign is wrong.")
        if rule.cause in {"headwind", "tailwind"} and rule.per is None:
            what = f"{rule.cause} without `per`"
            yield say(what, "A wind correction is for so many knots; add per and unit.")
        if rule.cause in seen:
            yield say(f"{rule.cause} again", "Only the first is used.")
        seen.add(rule.cause)


def _climb(book: Book) -> Iterator[Complaint]:
    climb = book.file.performance.climb
    if climb is None:
        return

    def loss(a: Any, b: Any, along: str) -> float:
        rise = b.pressure_altitude_ft - a.pressure_altitude_ft
        return STRICT if along == "pressure_altitude_ft" and rise >= LEVEL_RISE_FT else 0.0

    inputs = air_inputs(climb.rows)
    yield from wrong_way(
        book, "performance.climb", climb.rows, inputs, "rate_of_climb_fpm", falls=True, least=loss
    )  # fmt: skip


def _to_climb(book: Book) -> Iterator[Complaint]:
    table = book.file.performance.time_fuel_distance_to_climb
    if table is None:
        return
    where = "performance.time_fuel_distance_to_climb"
    rows: list[Any] = list(table.rows)  # every row has the table's columns
    for column in table.columns:
        yield from wrong_way(book, where, rows, ("pressure_altitude_ft",), column, least=lambda *_: STRICT)
    if len(table.columns) == len(TO_CLIMB):
        yield from _climb_speeds(book, where, rows)


def _climb_speeds(book: Book, where: str, rows: list[Any]) -> Iterator[Complaint]:
    """Distance over time is the true airspeed of the climb (still air): it grows slowly from row to row."""
    first = rows[0]
    found = [
        (i, 60.0 * (r.distance_nm - first.distance_nm) / (r.time_min - first.time_min), r)
        for i, r in enumerate(rows)
        if r.time_min - first.time_min >= 4 and r.distance_nm > first.distance_nm
    ]
    if not found:
        return
    middle = float(np.median([speed for _, speed, _ in found]))
    if off(found[-1][1], CLIMB_KT):
        why = "A light single climbs at 55 to 120 kt; columns exchanged, or another unit?"
        yield book.doubt(where, f"{book.speed(found[-1][1])} on the way up", why, whole=True)
    for i, speed, row in found if len(found) >= 3 else ():
        # times are printed to 1 min, distances to 1 NM, at both ends
        rough = 0.6 / (row.time_min - first.time_min) + 0.6 / (row.distance_nm - first.distance_nm)
        if abs(math.log(speed / middle)) > CLIMB_SPREAD + rough:
            what = f"{book.number(where, 'distance_nm', row.distance_nm)} after {row.time_min:g} min is "
            why = f"The other rows climb at about {book.speed(middle)}; the two exchanged, or a digit?"
            yield book.doubt(where, f"{what}{book.speed(speed)} on average", why, row=i)


def _glide(book: Book) -> Iterator[Complaint]:
    glide = book.file.performance.glide
    for i, row in enumerate(glide.rows if glide else []):
        if row.glide_ratio is not None and row.nm_per_1000_ft is not None:
            expected = row.glide_ratio * 1000.0 * units.FT_M / units.NM_M
            if abs(expected - row.nm_per_1000_ft) > 0.06 * expected:
                what = f"ratio {row.glide_ratio:g} is {expected:.2f} NM per 1,000 ft, found {row.nm_per_1000_ft:g}"
                yield book.doubt("performance.glide", what, "The two columns say the same thing and disagree.", row=i)
