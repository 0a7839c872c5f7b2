"""Every speed against the stall at its weight and flaps: V-speeds, the runway tables' speeds, limits.

Where no source is named a range is common practice, from memory, held against invented airplanes: wide.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from airwork.airplane.check.book import KT_PER_MPS, Book, Complaint, each, guess
from airwork.airplane.check.physics import LIMITS, SPEEDS, STALL, middle, off
from airwork.airplane.file.speeds import VSpeedRow

Range = tuple[float, float]

NOT_BELOW = 1.02  # no speed to fly lies at or below the stall
# calibrated, over the stall
OVER_STALL: dict[str, Range] = {
    "best_rate_of_climb": (1.17, 1.85),
    "best_angle_of_climb": (1.02, 1.55),
    "best_glide": (1.12, 1.85),
    "minimum_sink": (1.0, 1.5),
    "cruise_climb": (1.3, 2.2),
    "short_field_approach": (1.12, 1.42),
    "rotation": (0.93, 1.3),
    "liftoff": (0.98, 1.35),
}
APPROACH, TWICE = (1.15, 1.43), 1.6  # the upper end where the landing table has the same speed: the book means it
MANEUVERING = (0.92, 1.10)  # times √load: 1 by 14 CFR 23.335(c), a dial off by 5 kt by 23.1323 (both from memory)
SAME_KT = 1.5  # the same number printed twice
# in the runway tables
RUNWAY: dict[str, Range] = {"liftoff": (0.98, 1.4), "speed_at_50_ft": (1.05, 1.55), "approach": (1.15, 1.55)}
CRUISE_STALL = (1.9, 3.6)  # structural cruise over stall flaps up
NEVER_STALL = (1.8, 4.5)
# Vno at most 0.89 Vne; Vne at most 0.9 of a Vd that is made 1.4 Vc, 1.55 aerobatic, hardly more: 0.9 · 1.55 = 1.40,
# with rounding (14 CFR 23.335, 23.1505 as they long stood; from memory)
NEVER_CRUISE = (1.10, 1.45)
FLAPS_STALL = (1.45, 2.85)  # flap speed over stall, full flaps: 1.8 at least by 14 CFR 23.345 (from memory), rounding
CROSSWIND = (0.15, 0.55)  # of the stall speed, full flaps: 0.2 at least by 14 CFR 23.233


def complaints(book: Book) -> Iterator[Complaint]:
    """Every speed that lies too near to the stall, or too far from it."""
    yield from each(book, _v_speeds, _runways, _limits)


def _v_speeds(book: Book) -> Iterator[Complaint]:
    top, rows = book.file.airplane.maximum_takeoff_weight_lb, book.file.v_speeds.rows if book.file.v_speeds else []
    full = [cas for r in rows if r.name == "stall_flaps_full" and (cas := book.cas_kt(r, 0)) is not None]
    outside = []
    for i, row in enumerate(rows):
        notch = book.airplane.speed_notch(row.name)
        cas, stall = book.cas_kt(row, notch), book.stall_kt(row.weight_lb or top, notch)
        if "full" in row.name and book.airplane.flaps_full == 0 and full:  # flaps it has, their notches not typed
            stall = full[0]
        if cas is None:
            what, why = f"{book.speed(row.kias or 0.0)} lies outside the airspeed calibration", "A digit or the unit?"
            yield book.doubt(SPEEDS, what, why, row=i, label=row.name, leans=("airspeed_calibration",))
        elif stall is not None and off(cas / stall, usual := _usual(book, row, stall)):
            outside.append((i, row, cas, stall, usual))
    for i, row, cas, stall, usual in outside[:1]:
        more = f" So with {len(outside) - 1} more." if len(outside) > 1 else ""
        why = f"{usual[0]:.3g} to {usual[1]:.3g} times is usual" if cas > NOT_BELOW * stall else (
            f"No speed to fly lies at or below the stall, {book.speed(stall)}"
        )  # fmt: skip
        yield book.doubt(
            SPEEDS,
            f"{book.speed(cas)} calibrated is {cas / stall:.2f} times the stall",
            f"{why}.{guess(cas, middle(usual) * stall, 'kcas', 0.08)}{more}",
            row=i,
            rows=tuple(o[0] for o in outside),
            label=row.name,
            leans=(book.stalls(), "airplane", *book.through()),
            whole=len(outside) > 2,
            firm=len(outside) > 1 or cas <= NOT_BELOW * stall or row.name == "maneuvering",
        )


def _usual(book: Book, row: VSpeedRow, stall_kt: float) -> Range:
    """The range of a V-speed over the stall."""
    if row.name.startswith(("stall", "soft")):
        return 0.0, math.inf
    if row.name == "maneuvering":
        root = math.sqrt(book.airplane.limits.load_factor_flaps_up[1])
        return MANEUVERING[0] * root, MANEUVERING[1] * root * (stall_kt + book.dial_low_kt(0)) / stall_kt
    if row.name in OVER_STALL:
        return OVER_STALL[row.name]
    if "approach" in row.name:
        here, there = row.kias, book.landing_approach_kt()
        return APPROACH[0], TWICE if here and there and abs(there - here) < SAME_KT else APPROACH[1]
    return NOT_BELOW, math.inf


def _runways(book: Book) -> Iterator[Complaint]:
    tables = book.file.performance
    for kind, table, usual_notch in (
        ("takeoff", tables.takeoff, 0),
        ("landing", tables.landing, book.airplane.flaps_full),
    ):
        if table is None:
            continue
        notch = table.flap_notch if table.flap_notch is not None else usual_notch
        stall = book.stall_kt(max(row.weight_lb for row in table.rows), notch)
        for key, limits in RUNWAY.items():
            ias = getattr(table, f"{key}_kias", None)
            if ias is None or stall is None:
                continue
            cas = float(book.calibration(notch).cas(ias / KT_PER_MPS)) * KT_PER_MPS
            if cas == cas and off(cas / stall, limits):
                yield book.doubt(
                    f"performance.{kind}",
                    f"{book.speed(ias)} indicated is {cas / stall:.2f} times the stall",
                    f"{limits[0]:g} to {limits[1]:g} times is usual.{guess(cas, middle(limits) * stall, 'kias', 0.08)}",
                    key=f"{key}_kias",
                    leans=(STALL, SPEEDS, "airplane"),
                )


def _limits(book: Book) -> Iterator[Complaint]:
    a, limits = book.airplane, book.airplane.limits
    cruise, never = limits.max_structural_cruise_ias_mps, limits.never_exceed_ias_mps
    clean, full = book.marked_stall_mps(0), book.marked_stall_mps(a.flaps_full)
    flaps, crosswind = limits.max_flaps_extended_ias_mps, limits.max_crosswind_mps
    for key, words, value, against, usual, what in (
        ("maximum_structural_cruise", "structural cruise", cruise, clean, CRUISE_STALL, "stall flaps up"),
        ("never_exceed", "never exceed", never, cruise, NEVER_CRUISE, "structural cruise"),
        ("never_exceed", "never exceed", never, clean, NEVER_STALL, "stall flaps up"),
        ("maximum_flaps_extended", "flaps extended", flaps, full, FLAPS_STALL, "stall with full flaps"),
        ("maximum_demonstrated_crosswind", "crosswind", crosswind, full, CROSSWIND, "stall with full flaps"),
    ):
        if value and against and off(value / against, usual):
            yield book.doubt(
                LIMITS,
                f"{words} {book.speed(value * KT_PER_MPS)} is {value / against:.2f} times the {what}",
                f"{usual[0]:g} to {usual[1]:g} times is usual.{guess(value, against * middle(usual), 'kias', 0.07)}",
                key=key,
                leans=(STALL, SPEEDS, "airplane"),
            )
