"""Suspicions about calibration, V-speeds, flap speeds, limits and arcs."""

from __future__ import annotations

import difflib
import math
from collections import Counter
from collections.abc import Iterator
from functools import partial

from airwork.airplane.check.book import DIAL_LOW_KT, KT_PER_MPS, Book, Complaint, guess
from airwork.airplane.check.physics import at_sea_level
from airwork.airplane.file.speeds import KNOWN_SPEEDS, SYMBOLS, CalibrationTable
from airwork.airplane.limits import arc_mps
from airwork.units import write

CALIBRATION_KT = 2.0  # printed kias and kcas are rounded apart, to 1 kt each
ARC_KT = 1.5
TWICE_KT, LOW_FT = 2.5, 1000.0  # a speed printed twice, rounded apart; so high a climb is still sea level's
LEAST_SLOPE, MOST_SLOPE = 0.15, 1.7  # calibrated over indicated from row to row; low near the stall (practice)
FAST_ERROR = 0.06  # twice what 14 CFR 23.1323 allows from 1.3 times the stall on: 3 % or 5 kt (from memory)
LARGEST_ERROR_KT = 16.0  # position error of a light airplane near the stall; more is a typing error (practice)


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about speeds other than the stall."""
    yield from _calibration(book)
    yield from _twice(book)
    yield from _beside_a_table(book)
    yield from _flaps(book)
    yield from _names(book)
    yield from _weight_alone(book)
    yield from _order(book)
    yield from _arcs(book)


def _calibration(book: Book) -> Iterator[Complaint]:
    tables = book.file.airspeed_calibration
    if tables is None:
        return
    for key in tables.model_dump():
        found: CalibrationTable | None = getattr(tables, key)
        yield from _curve(book, f"airspeed_calibration.{key}", found) if found is not None else ()


def _pairs(table: CalibrationTable) -> list[tuple[float, float]]:
    """(indicated, calibrated) in knots."""
    return [(r.kias, r.kcas) for r in table.rows]


def _curve(book: Book, where: str, table: CalibrationTable) -> Iterator[Complaint]:
    values = _pairs(table)
    fast = sorted(values)[len(values) // 2 :]
    if len(fast) >= 2 and all(abs(c - i) > max(FAST_ERROR * i, 6.0) for i, c in fast):
        (i, c), hint = fast[-1], guess(fast[-1][1], fast[-1][0], "kias")
        yield book.doubt(
            where,
            f"{book.speed(i)} indicated is {book.speed(c)} calibrated, and so with the other fast ones",
            f"Away from the stall the two differ by 3 % or 5 kt; is one column in another unit?{hint}",
            row=values.index(fast[-1]),
            rows=(),
            whole=True,
        )
        return
    printed = [tuple(f"{book.in_print(where, k, x):.4g}" for k, x in zip(("kias", "kcas"), v, strict=True))
               for v in values]  # fmt: skip
    for i, (indicated, calibrated) in enumerate(values):
        if abs(calibrated - indicated) > LARGEST_ERROR_KT:
            yield book.doubt(
                where,
                f"indicated {printed[i][0]}, calibrated {printed[i][1]}",
                "The two differ by more than an airspeed system is ever wrong; is one of them in the other unit?",
                row=i,
            )
    for i in range(1, len(values)):
        (i0, c0), (i1, c1) = values[i - 1], values[i]
        if i1 <= i0 or c1 <= c0:
            what = " follows ".join(" → ".join(printed[k]) for k in (i, i - 1))
            yield book.doubt(where, what, "Both columns must rise from row to row.", row=i)
        elif not LEAST_SLOPE < (c1 - c0) / (i1 - i0) < MOST_SLOPE:
            yield book.doubt(
                where,
                f"{' → '.join(printed[i])} after {' → '.join(printed[i - 1])}",
                "A calibration rises about one for one; a digit is wrong here or in the row before.",
                row=i,
            )


def _twice(book: Book) -> Iterator[Complaint]:
    """Speeds printed indicated and calibrated, by the airspeed calibration."""
    for i, row in enumerate(book.file.v_speeds.rows if book.file.v_speeds else []):
        curve = book.calibration(notch := book.airplane.speed_notch(row.name))
        if row.kias is None or row.kcas is None or curve.assumed:
            continue
        known = float(curve.cas(row.kias / KT_PER_MPS)) * KT_PER_MPS
        if known > 0.0 and abs(known - row.kcas) > CALIBRATION_KT:
            yield book.doubt(
                "v_speeds",
                f"{book.speed(row.kias)} indicated with {book.speed(row.kcas)} calibrated; "
                f"the calibration gives {book.speed(known)}",
                f"The row and the calibration of {curve.name} disagree.{guess(row.kcas, known, 'kias')}",
                row=i,
                label=row.name,
                leans=("airspeed_calibration.flaps_up" if notch == 0 else "airspeed_calibration.flaps_down",),
            )


def _beside_a_table(book: Book) -> Iterator[Complaint]:
    """The best glide of the glide table, and the climb table's speed at sea level: the best rate's."""
    tables, top = book.file.performance, book.file.airplane.maximum_takeoff_weight_lb
    rows = book.file.v_speeds.rows if book.file.v_speeds else []
    printed = [
        ("best_glide", "performance.glide", r.weight_lb, r.best_glide_kias)
        for r in (tables.glide.rows if tables.glide else ())
    ]
    climb = at_sea_level(tables.climb.rows)[1] if tables.climb else None
    # a table of cruise climb is flown faster
    if climb is not None and climb.pressure_altitude_ft <= LOW_FT and all(r.name != "cruise_climb" for r in rows):
        printed.append(("best_rate_of_climb", "performance.climb", climb.weight_lb, climb.climb_speed_kias))
    for name, table, weight, there in printed:
        for i, row in enumerate(rows):
            alike = row.name == name and (row.weight_lb or top) == (weight or top)
            if not alike or row.kias is None or there is None or (row.density_altitude_ft or 0.0) > LOW_FT:
                continue
            if abs(row.kias - there) > TWICE_KT:
                yield book.doubt(
                    "v_speeds",
                    f"{book.speed(row.kias)}, [{table}] has {book.speed(there)}",
                    f"The same speed printed twice; a digit in one?{guess(row.kias, there, 'kias')}",
                    row=i,
                    label=name,
                    leans=(table,),
                )


def _flaps(book: Book) -> Iterator[Complaint]:
    notches = book.airplane.flap_notches
    for i in range(1, len(notches)):
        before, here = notches[i - 1], notches[i]
        say = partial(book.doubt, "flaps", row=i, of="notches")
        up, down = before.deflection_deg, here.deflection_deg
        if up is not None and down is not None and down <= up:
            yield say(f"{down:g}° after {up:g}°", "Each notch should put the flaps further down.")
        fast, slow = before.max_ias_mps, here.max_ias_mps
        if fast is not None and slow is not None and slow > fast + 0.3:
            what = f"{book.speed(slow * KT_PER_MPS)} allowed, {book.speed(fast * KT_PER_MPS)} one notch earlier"
            yield say(what, "More flap never allows more speed; the flap speeds are out of order.")


def _names(book: Book) -> Iterator[Complaint]:
    heavy = book.file.airplane.maximum_takeoff_weight_lb
    for i, row in enumerate(book.file.v_speeds.rows if book.file.v_speeds else []):
        say = partial(book.doubt, "v_speeds", row=i)
        if row.name not in KNOWN_SPEEDS and (near := _meant(row.name)):
            yield say(f"{row.name!r}", f"This name is not known; did you mean {near!r}?")
        if row.weight_lb is not None and row.weight_lb > heavy:
            what = f"{row.name} at {book.weight(row.weight_lb)}"
            said = f"The maximum takeoff weight is {book.weight(heavy)}."
            yield say(what, said, leans=("airplane",), firm=True)


def _weight_alone(book: Book) -> Iterator[Complaint]:
    """A speed at a weight of its own, printed at no other, among speeds that are all for one weight."""
    rows = book.file.v_speeds.rows if book.file.v_speeds else []
    names = Counter(r.name for r in rows)
    usual, times = Counter(r.weight_lb for r in rows).most_common(1)[0] if rows else (None, 0)
    if usual is None or times != len(rows) - 1 or times < 3:
        return
    for i, row in enumerate(rows):
        if row.weight_lb not in {None, usual} and names[row.name] == 1:
            what = f"{row.name} at {book.weight(row.weight_lb or 0.0)}"
            said = f"The other speeds are all for {book.weight(usual)}; a digit of the weight?"
            yield book.doubt("v_speeds", what, said, row=i, column="weight_lb")


def _meant(name: str) -> str:
    """The known speed an unknown name is close to, begins or abbreviates; empty when none."""
    near = difflib.get_close_matches(name, KNOWN_SPEEDS, 1, 0.75)
    begun = [known for known in KNOWN_SPEEDS if known.startswith(f"{name}_")]
    return SYMBOLS.get(name.replace("_", ""), (*near, *sorted(begun, reverse=True), "")[0])


def _order(book: Book) -> Iterator[Complaint]:
    """Speeds at maximum weight must stand in their order; the usual approach is no slower than the landing table's."""
    top, known = book.file.airplane.maximum_takeoff_weight_lb, dict[str, float]()
    for i, row in enumerate(book.file.v_speeds.rows if book.file.v_speeds else []):
        cas = book.cas_kt(row, book.airplane.speed_notch(row.name))
        if cas is not None and (row.weight_lb is None or row.weight_lb >= top - 1):
            known.setdefault(row.name, cas)
        there = book.landing_approach_kt() if row.name == "approach_flaps_full" else None
        # approach speeds go with the square root of the weight
        if row.kias and there and row.kias < math.sqrt(min((row.weight_lb or top) / top, 1.0)) * there - 2.0:
            yield book.doubt(
                "v_speeds",
                f"{book.speed(row.kias)}, the landing table is for {book.speed(there)}",
                "The usual approach is no slower than the table's; a digit in one?",
                row=i,
                label=row.name,
                leans=("performance.landing",),
            )
    steepest = known.get("best_angle_of_climb")
    for name, most, words in (("best_rate_of_climb", 0.975, "best rate"), ("best_glide", 1.04, "best glide")):
        other = known.get(name)
        if steepest is not None and other is not None and steepest > most * other:
            what = f"best angle {book.speed(steepest)}, {words} {book.speed(other)}"
            why = f"A propeller pulls most when slow: the best angle of climb is flown slower than the {words}."
            yield book.doubt("v_speeds", what, why)


def _arcs(book: Book) -> Iterator[Complaint]:
    airplane, limits = book.airplane, book.airplane.limits
    mass = airplane.max_takeoff_mass_kg

    def stall_ias(notch: int) -> float | None:
        curve = airplane.stall_curves.get(notch)
        if curve is None or "arc" in curve.source:
            return None
        ias = float(airplane.calibration[notch].ias(curve.cas(mass, 1.0)))
        return None if ias != ias else ias

    flaps_top = limits.max_flaps_extended_ias_mps
    by_notch = [n.max_ias_mps for n in airplane.flap_notches if n.max_ias_mps is not None]
    tops = [v for v in (flaps_top, *by_notch) if v is not None]
    ends = (
        ("white_arc", "low", [stall_ias(airplane.flaps_full)], "the stall with full flaps at maximum weight"),
        ("white_arc", "high", tops, "the maximum flap-extended speed"),
        ("green_arc", "low", [stall_ias(0)], "the stall flaps up at maximum weight"),
        ("green_arc", "high", [limits.max_structural_cruise_ias_mps], "the structural cruising speed"),
        ("yellow_arc", "low", [limits.max_structural_cruise_ias_mps], "the structural cruising speed"),
        ("yellow_arc", "high", [limits.never_exceed_ias_mps], "the never-exceed speed"),
    )
    for arc, end, marks, meaning in ends:
        pair, known = arc_mps(book.file, arc), [m for m in marks if m is not None]
        if pair is None or not known:
            continue
        found = pair[0 if end == "low" else 1]
        nearest = min(known, key=lambda mark: abs(mark - found))
        notch = airplane.flaps_full if arc == "white_arc" else 0
        reads_low = DIAL_LOW_KT if end == "low" and "stall" in meaning and book.dial_unknown_at_stall(notch) else 0.0
        if not -ARC_KT - reads_low <= (found - nearest) * KT_PER_MPS <= ARC_KT:
            unit = book.unit("limitations", f"{arc}_kias")
            slip, turned = guess(found, nearest, "kias"), guess(nearest, found, "kias")
            if slip and turned:  # either of the two may be the slip
                slip += f" Or, of {meaning}:{turned.replace(' Knots', ' knots')}"
            yield book.doubt(
                "limitations",
                f"{end} end {write(found, unit)}, {meaning} is {write(nearest, unit)}",
                f"The {arc.replace('_', ' ')} ends there by definition.{slip}",
                key=f"{arc}_kias",
                leans=(book.stalls(), "airplane", *book.through())
                if "stall" in meaning
                else ("flaps",)
                if "flap" in meaning
                else (),
            )
