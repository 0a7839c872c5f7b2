"""Suspicions about takeoff, landing, climb and glide tables."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from typing import Any

import numpy as np

from airwork import units
from airwork.airplane.check import wind
from airwork.airplane.check.book import Book, Complaint, air_inputs, guess, steps
from airwork.airplane.check.physics import sigma
from airwork.airplane.file.performance import TO_CLIMB, Correction, DistanceTable
from airwork.airplane.runway import standard_sheet
from airwork.airplane.runway_table import TEMPERATURE

# d ln(distance) / d ln(1 / density) at the very least; the square of the true airspeed alone gives 1
LEAST_GROWTH = {"takeoff": 1.0, "landing": 0.25}
CLIMB_SPREAD = 0.13  # of the logarithm: true airspeed grows with altitude by 15 % in 10,000 ft, the indicated one falls
LEVEL_RISE_FT = 1000.0  # so much higher a climb is never printed the same; it loses some 50 ft/min in it
WORDS = {
    "weight_lb": "weight",
    "pressure_altitude_ft": "altitude",
    "oat_c": "temperature",
    "isa_deviation_c": "temperature",
}
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
            yield Complaint(book.place(where, i), what, "The total contains the roll; are the columns exchanged?")
    for column in ("ground_roll_ft", "total_over_50_ft"):
        printed_all = [x for r in rows if (x := getattr(r, column)) is not None]
        step = book.step(where, column, np.array(printed_all)) if printed_all else 0.0
        bent: set[int] = set()  # rows already named: one complaint for each
        for along in air_inputs(rows):
            for a, b in steps(rows, [k for k in air_inputs(rows) if k != along], along, column):
                before, here = getattr(rows[a], column), getattr(rows[b], column)
                thinner = 0.0 if along == "weight_lb" else math.log(sigma(rows[a]) / sigma(rows[b]))
                least = before * math.exp(LEAST_GROWTH[kind] * thinner) - step
                if here < max(before, least) and not bent & {a, b}:
                    bent |= {a, b} if here < before else set()
                    what = f"{book.named(where, column, here)} after {book.number(where, column, before)} (row {a + 1})"
                    why = f"A distance {'never shrinks' if here < before else 'grows more'} with more {WORDS[along]}."
                    yield book.doubt(where, what, why, row=b, rows=(b, a))
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
    yield from _runway_speeds(book, table, kind)


def _corrections(book: Book, corrections: list[Correction], kind: str) -> Iterator[Complaint]:
    seen: set[str] = set()
    for i, rule in enumerate(corrections):
        where = book.place(f"performance.{kind}", i, rows="corrections")
        sign = SIGNS.get(rule.cause, (0, 0))[kind == "landing"]
        if sign * rule.change_percent < 0:
            words = "lengthens" if sign > 0 else "shortens"
            what = f"{rule.cause.replace('_', ' ')} {rule.change_percent:+g} %"
            yield Complaint(where, what, f"It {words} the {kind}; the sign is wrong.")
        if rule.cause in {"headwind", "tailwind"} and rule.per is None:
            what = f"{rule.cause} without `per`"
            yield Complaint(where, what, "A wind correction is for so many knots; add per and unit.")
        if rule.cause in seen:
            yield Complaint(where, f"{rule.cause} again", "Only the first is used.")
        seen.add(rule.cause)


def _runway_speeds(book: Book, table: DistanceTable, kind: str) -> Iterator[Complaint]:
    where = f"performance.{kind}"
    notch = table.flap_notch
    if notch is not None and notch > book.airplane.flaps_full:
        what = f"flap notch {notch}"
        yield Complaint(book.place(where), what, f"The file's flaps end at notch {book.airplane.flaps_full}.")
        return
    flaps = notch if notch is not None else (book.airplane.flaps_full if kind == "landing" else 0)
    stall = book.stall_kt(max(row.weight_lb for row in table.rows), flaps)
    for key, low, high, usual in (
        ("liftoff", 0.98, 1.4, 1.1),
        ("speed_at_50_ft", 1.05, 1.55, 1.25),
        ("approach", 1.15, 1.55, 1.3),
    ):
        ias = getattr(table, f"{key}_kias")
        if ias is None or stall is None:
            continue
        cas = units.to_unit(float(book.calibration(flaps).cas(units.from_unit(ias, "kt"))), "kt")
        if cas == cas and not low < cas / stall < high:
            yield book.doubt(
                where,
                f"{book.speed(ias)} indicated is {cas / stall:.2f} times the stall",
                f"{low:g} to {high:g} times is usual.{guess(cas, usual * stall, 'kias')}",
                key=f"{key}_kias",
                leans=("performance.stall", "v_speeds", "airplane"),
            )


def _climb(book: Book) -> Iterator[Complaint]:
    climb = book.file.performance.climb
    if climb is None:
        return
    where, rows = "performance.climb", climb.rows
    rate = partial(book.number, where, "rate_of_climb_fpm")
    bent: set[int] = set()
    for along in air_inputs(rows):
        for a, b in steps(rows, [k for k in air_inputs(rows) if k != along], along, "rate_of_climb_fpm"):
            more = rows[b].rate_of_climb_fpm - rows[a].rate_of_climb_fpm
            rise = along == "pressure_altitude_ft" and rows[b].pressure_altitude_ft - rows[a].pressure_altitude_ft
            if (more > 0 or (more == 0 and rise >= LEVEL_RISE_FT)) and not bent & {a, b}:
                bent |= {a, b}
                yield book.doubt(
                    where,
                    f"{rate(rows[b].rate_of_climb_fpm)} after {rate(rows[a].rate_of_climb_fpm)} (row {a + 1})",
                    f"The rate of climb falls with more {WORDS[along]}.",
                    row=b,
                    rows=(b, a),
                )


def _to_climb(book: Book) -> Iterator[Complaint]:
    table = book.file.performance.time_fuel_distance_to_climb
    if table is None:
        return
    where = "performance.time_fuel_distance_to_climb"
    rows: list[Any] = list(table.rows)  # every row has the table's columns
    for i in range(1, len(rows)):
        low, high = rows[i - 1], rows[i]
        place = book.place(where, i)
        for column in ("pressure_altitude_ft", *table.columns):
            if getattr(high, column) <= getattr(low, column):
                what = f"{book.named(where, column, getattr(high, column))} after "
                what += book.number(where, column, getattr(low, column))
                yield Complaint(place, what, "Every column must rise from row to row.")
                break
    if len(table.columns) == len(TO_CLIMB):
        yield from _climb_as_a_whole(book, rows)
        yield from _climb_speeds(book, rows)


def _climb_as_a_whole(book: Book, rows: list[Any]) -> Iterator[Complaint]:
    """From the first to the last row, where rounding is small: the speed."""
    low, high = rows[0], rows[-1]
    minutes = high.time_min - low.time_min
    if minutes < 4:
        return
    knots = 60.0 * (high.distance_nm - low.distance_nm) / minutes
    if not 48 < knots < 145:
        why = "A light single climbs at 55 to 120 kt; columns exchanged, or another unit?"
        where = "performance.time_fuel_distance_to_climb"
        yield book.doubt(where, f"{book.speed(knots)} on the way up", why, whole=True)


def _climb_speeds(book: Book, rows: list[Any]) -> Iterator[Complaint]:
    """Distance over time is the true airspeed of the climb (still air): it grows slowly from row to row."""
    first, where = rows[0], "performance.time_fuel_distance_to_climb"
    found = [
        (i, 60.0 * (r.distance_nm - first.distance_nm) / (r.time_min - first.time_min), r)
        for i, r in enumerate(rows)
        if r.time_min - first.time_min >= 4 and r.distance_nm > first.distance_nm
    ]
    if len(found) < 3:
        return
    middle = float(np.median([speed for _, speed, _ in found]))
    for i, speed, row in found:
        # times are printed to 1 min, distances to 1 NM, at both ends
        rough = 0.6 / (row.time_min - first.time_min) + 0.6 / (row.distance_nm - first.distance_nm)
        if abs(math.log(speed / middle)) > CLIMB_SPREAD + rough:
            what = f"{book.number(where, 'distance_nm', row.distance_nm)} after {row.time_min:g} min is "
            why = f"The other rows climb at about {book.speed(middle)}; the two exchanged, or a digit?"
            yield book.doubt(where, f"{what}{book.speed(speed)} on average", why, row=i)
            return


def _glide(book: Book) -> Iterator[Complaint]:
    glide = book.file.performance.glide
    for i, row in enumerate(glide.rows if glide else []):
        place = book.place("performance.glide", i)
        if row.glide_ratio is not None and row.nm_per_1000_ft is not None:
            expected = row.glide_ratio * 1000.0 * units.FT_M / units.NM_M
            if abs(expected - row.nm_per_1000_ft) > 0.06 * expected:
                what = f"ratio {row.glide_ratio:g} is {expected:.2f} NM per 1,000 ft, found {row.nm_per_1000_ft:g}"
                yield Complaint(place, what, "The two columns say the same thing and disagree.")
        here, weight = row.best_glide_kias, row.weight_lb or book.file.airplane.maximum_takeoff_weight_lb
        for speed in book.file.v_speeds.rows if book.file.v_speeds else ():
            there = speed.kias if speed.name == "best_glide" and (speed.weight_lb or weight) == weight else None
            if here is not None and there is not None and abs(there - here) > 2:
                what = f"best glide {book.speed(here)}, [v_speeds] has {book.speed(there)}"
                why = f"The two tables disagree.{guess(here, there, 'kias')}"
                yield book.doubt("performance.glide", what, why, row=i, leans=("v_speeds",))
