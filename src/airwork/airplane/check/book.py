"""What every check is given: the airplane, how to name a place in its file, a column held against a law."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Any, TypedDict, Unpack

import numpy as np

from airwork import units
from airwork.airplane.airplane import Airplane
from airwork.airplane.calibration import CalibrationCurve
from airwork.airplane.check.smooth import Array, step_of
from airwork.airplane.file.base import SpeedRow
from airwork.airplane.file.printed import as_printed, printed_unit, unit_of
from airwork.airplane.parts import knots_mps
from airwork.errors import AirworkError, Where

MPH_PER_KT = units.KT_MPS / units.MPH_MPS
KT_PER_MPS = 1.0 / units.KT_MPS
DIAL_LOW_KT = 8.0  # an airspeed system may read so much low at the stall
UNCALIBRATED_KT = 4.0  # and usually does by this much
STRICT = 1e-9  # of a column in which no two numbers are the same


_WORDS = {"kcas": "calibrated", "ktas": "true airspeed",
          "fuel_us_gal": "fuel", "total_over_50_ft": "total",
          "time_min": "time"}  # fmt: skip


INPUTS = {
    "weight_lb": "weight",
    "pressure_altitude_ft": "altitude",
    "density_altitude_ft": "altitude",
    "oat_c": "temperature",
    "isa_deviation_c": "deviation from standard",
    "rpm": "RPM",
    "manifold_pressure_inhg": "manifold pressure",
    "percent_power": "percent power",
    "flap_notch": "flap notch",
    "bank_deg": "bank",
}


@dataclass(frozen=True, slots=True)
class Complaint:
    """One suspicion: where it is, what was found, why it is suspicious.

    rows, key : the same as a place to go to; rows counted from 0, the first the one named.
    leans : other tables it was held against, which could be at fault instead. whole : the table as a whole is doubted.
    asked : the question as `[[printed_so]]` names it, with every number it is about; of one cause all its questions.
    firm : no page can answer it, for it says a limit is passed or what can't be.
    """

    where: Where
    what: str
    why: str
    rows: tuple[int, ...] = ()
    key: str = ""
    leans: tuple[str, ...] = ()
    whole: bool = False
    alone: bool = False  # no other check reads this number, so it is no cause of what they say
    asked: tuple[str, ...] = ()
    firm: bool = False
    others: tuple[str, ...] = ()  # where other complaints with the same likely cause stand, said with it

    def __str__(self) -> str:
        return f"{self.where}: {self.what}. {self.why}"

    @property
    def table(self) -> str:
        return self.where.table


class Facts(TypedDict, total=False):
    """What else a complaint knows, as in `Complaint`."""

    leans: tuple[str, ...]
    whole: bool
    alone: bool
    firm: bool


class Book:
    """The airplane being checked and the lines of its file."""

    def __init__(self, airplane: Airplane, lines: dict[str, int]) -> None:
        self.airplane, self.file, self.lines = airplane, airplane.file, lines

    def place(self, table: str, row: int | None = None, key: str = "", *, rows: str = "rows", label: str = "") -> Where:
        """A place in the file, with its line; the row counted from 0."""
        key = self.file.printed.get(table if row is None else f"{table}.{rows}", {}).get(key, key)
        if row is None:
            return Where("", table, field=key, line=self.lines.get(f"{table}.{key}" if key else table))
        row = self.number_of(table, rows, row)
        line = self.lines.get(f"{table}.{rows}.{row}" if rows else f"{table}.{row}")
        return Where("", table, rows, row, key, line=line, label=label)

    def number_of(self, table: str, rows: str, row: int) -> int:
        """A row as the file counts them."""
        if rows == "rows" and table in ("performance.takeoff", "performance.landing"):
            return int(getattr(self.file.performance, table.rpartition(".")[2]).number_of(row))
        return row

    def doubt(
        self, table: str, what: str, why: str, *, row: int | None = None, of: str = "rows", key: str = "",
        column: str = "", rows: tuple[int, ...] | None = None, label: str = "", **facts: Unpack[Facts],
    ) -> Complaint:  # fmt: skip
        """A complaint about a place of a table: its row counted from 0 in the list `of` rows, and the value there.

        column : the value, where the line names the row alone. rows : all of them, if not this one.
        """
        where, column = self.place(table, row, key, rows=of, label=label), key or column
        found = rows if rows is not None else () if row is None else (row,)
        numbers = tuple(self.number_of(table, of, r) for r in found)
        asked = f"{replace(where, line=None)}: {what}{self._and_rows(table, of, found, column)}"
        return Complaint(where, what, why, rows=numbers, key=column, asked=(asked,), **facts)

    def _and_rows(self, table: str, of: str, rows: tuple[int, ...], column: str) -> str:
        """The numbers of the rows, where several, that a question is about too."""
        if len(rows) < 2 or not column:
            return ""
        held: Any = self.file
        for step in filter(None, (*table.split("."), of)):
            held = getattr(held, step)
        known = [f"row {self.number_of(table, of, r) + 1} {getattr(held[r], column)}" for r in rows]
        return f" ({', '.join(known)})"

    @cached_property
    def percents(self) -> tuple[float | None, ...]:
        """Percent power of each cruise row, printed or by the power chart; none where fuel flows stand for it."""
        engine = self.airplane.engine
        return tuple(None if engine.power_is_estimated else p for p in engine.cruise_percents)

    def through(self, row: SpeedRow | None = None) -> tuple[str, ...]:
        """What a speed on the dial is read through, where the book prints it; nothing for a row printed calibrated."""
        calibrated = row is not None and row.kcas is not None
        return () if calibrated or self.file.airspeed_calibration is None else ("airspeed_calibration",)

    # --- as printed ---

    def unit(self, table: str, key: str) -> str:
        """The unit a table prints a key in."""
        path = table if key in self.file.printed.get(table, {}) else f"{table}.rows"
        return printed_unit(self.file.printed, path, key)

    def in_print(self, table: str, key: str, number: float) -> float:
        """A number of the model as the table prints it."""
        unit = self.unit(table, key)
        return number if unit == unit_of(key) else as_printed(number, key, unit)

    def number(self, table: str, key: str, number: float) -> str:
        """A number as the table prints it, with its unit."""
        unit = self.unit(table, key)
        shown = self.in_print(table, key, number)
        digits = 0 if abs(shown) >= 200 else 1 if abs(shown) >= 20 else 2
        text = f"{round(shown, digits):,.10g}"
        words = {"percent_power": " %", "rpm": " RPM", "flap_notch": "", "bank_deg": "°", "isa_deviation_c": f" {unit}"}
        spoken = {"fpm": "ft/min", "gph": "gal/h"}.get(unit, unit)
        return text + words.get(key, f" {spoken}" if unit else "")

    def speed(self, knots: float) -> str:
        """A speed as the book's dial shows it: "70 mph"."""
        unit = self.airplane.dial_unit
        return f"{units.to_unit(units.from_unit(knots, 'kt'), unit):.0f} {unit}"

    def named(self, table: str, key: str, number: float) -> str:
        """A number with its column's name: "ground roll 215 m"."""
        return f"{self.label(key)} {self.number(table, key, number)}"

    def weight(self, lb: float) -> str:
        """A weight in the unit the book prints weights in."""
        return f"{units.to_unit(units.from_unit(lb, 'lb'), self.airplane.book.mass):,.0f} {self.airplane.book.mass}"

    def arm(self, inches: float) -> str:
        """An arm in the unit the book prints arms in."""
        return self.number("weight_and_balance", "empty_arm_in", inches)

    def label(self, key: str) -> str:
        """A column in words, its unit left off."""
        if key in _WORDS:
            return _WORDS[key]
        end = f"_{key.rpartition('_')[2]}"
        return (
            key.removeprefix("gph_")
            .removesuffix(end if unit_of(key) and not key.startswith("gph") else "")
            .replace("_", " ")
        )

    def step(self, table: str, key: str, values: Array) -> float:
        """The step a column is rounded to in print, in the model's unit."""
        unit = self.unit(table, key)
        if unit == unit_of(key):
            return step_of(values)
        shown = np.array([as_printed(float(v), key, unit) for v in values])
        return step_of(shown) * float(np.median(values) / np.median(shown))

    def calibration(self, notch: int) -> CalibrationCurve:
        """The airspeed calibration of a notch; of one the flaps don't have that of the last: it is told elsewhere."""
        curves = self.airplane.calibration
        return curves[min(notch, len(curves) - 1)]

    def cas_kt(self, row: SpeedRow, notch: int) -> float | None:
        """Calibrated airspeed of a row; None outside the calibration. [kt]"""
        if row.kcas is not None:
            return row.kcas
        cas = float(self.calibration(notch).cas(knots_mps(row.kias) or 0.0))
        return None if cas != cas else cas * KT_PER_MPS

    def dial_low_kt(self, notch: int) -> float:
        """By how much the dial may read low at the stall, where stalls are printed indicated and no calibration is."""
        return UNCALIBRATED_KT if self.calibration(notch).assumed and not self.dial_unknown_at_stall(notch) else 0.0

    def dial_unknown_at_stall(self, notch: int) -> bool:
        """Stalls are printed calibrated and no calibration is: what the dial shows there stands nowhere."""
        table = self.file.performance.stall
        calibrated = table is not None and any(r.kcas for r in table.rows)
        return calibrated and self.calibration(notch).assumed

    def stalls(self) -> str:
        """The table the stall speeds are from."""
        curve = self.airplane.stall_curves.get(0)
        return "v_speeds" if curve is not None and "V-speeds" in curve.source else "performance.stall"

    def marked_stall_mps(self, notch: int) -> float | None:
        """Calibrated stall speed at maximum weight; None where only a color arc tells of it."""
        curve = self.airplane.stall_curves.get(notch)
        if curve is None or "arc" in curve.source:
            return None
        return float(curve.cas(self.airplane.max_takeoff_mass_kg, 1.0))

    def landing_approach_kt(self) -> float | None:
        """The landing table's approach speed, with full flaps, indicated. [kt]"""
        landing = self.file.performance.landing
        if landing is None or landing.flap_notch not in {None, self.airplane.flaps_full}:
            return None
        return landing.approach_kias

    def stall_kt(self, weight_lb: float, notch: int) -> float | None:
        """Calibrated stall speed at a weight; None if the file has none for the notch. [kt]"""
        curve = self.airplane.stall_curves.get(notch)
        return None if curve is None else float(curve.cas(weight_lb * units.LB_KG, 1.0)) * KT_PER_MPS


def each(book: Book, *checks: Callable[[Book], Iterator[Complaint]]) -> Iterator[Complaint]:
    """What the checks find; what is missing or impossible has a complaint of its own."""
    for check in checks:
        try:
            yield from check(book)
        except (AirworkError, ValueError, ZeroDivisionError):
            continue


def steps(rows: Sequence[Any], fixed: Iterable[str], along: str, value: str) -> Iterator[tuple[int, int]]:
    """Neighboring rows along one column, the `fixed` columns equal: pairs of row indices, `along` rising.

    Rows lacking `along` or `value` are passed over.
    """
    keys = tuple(fixed)
    groups: dict[tuple[Any, ...], list[int]] = {}
    for i, row in enumerate(rows):
        if getattr(row, along) is not None and getattr(row, value) is not None:
            groups.setdefault(tuple(getattr(row, k) for k in keys), []).append(i)
    for members in groups.values():
        ordered = sorted(members, key=lambda i: getattr(rows[i], along))
        for a, b in pairwise(ordered):
            if getattr(rows[a], along) < getattr(rows[b], along):
                yield a, b


def wrong_way(
    book: Book, table: str, rows: Sequence[Any], inputs: Sequence[str], key: str, *, along: Sequence[str] = (),
    falls: bool = False, least: Callable[[Any, Any, str], float] = lambda *_: 0.0, name: str = "rows",
) -> Iterator[Complaint]:  # fmt: skip
    """Neighbors along an input, the others equal, between which a column goes the wrong way; no row twice.

    Parameters
    ----------
    along : of the inputs; all if not given.
    falls : it falls with more of them; else it grows.
    least : by how much at the very least from one row to the other along an input.
    """
    bent: set[int] = set()
    for one in along or inputs:
        for a, b in steps(rows, [k for k in inputs if k != one], one, key):
            before, here = getattr(rows[a], key), getattr(rows[b], key)
            change = before - here if falls else here - before
            if change >= max(0.0, least(rows[a], rows[b], one)) or bent & {a, b}:
                continue
            bent |= {a, b} if change < 0.0 else set()
            after = f"{book.number(table, key, before)} (row {book.number_of(table, name, a) + 1})"
            yield book.doubt(
                table,
                f"{book.named(table, key, here)} after {after}",
                f"The {book.label(key)} {'falls' if falls else 'grows'}{'' if change < 0.0 else ' more'} with more "
                f"{INPUTS[one]}, the rest equal.",
                row=b,
                of=name,
                rows=(b, a),
            )


def cruise_inputs(rows: Sequence[Any]) -> tuple[str, ...]:
    """The columns that say where a row of the cruise table stands: percent power where one lever sets it alone."""
    setting = ("percent_power",) if all(r.rpm is None for r in rows) else ("rpm", "manifold_pressure_inhg")
    return ("pressure_altitude_ft", "isa_deviation_c", *setting)


def air_inputs(rows: Sequence[Any]) -> tuple[str, ...]:
    """Weight, altitude and how a table counts temperature; none where it prints one for each altitude."""
    if any(r.isa_deviation_c is not None for r in rows):
        return ("weight_lb", "pressure_altitude_ft", "isa_deviation_c")
    places = {(r.weight_lb, r.pressure_altitude_ft) for r in rows}
    return ("weight_lb", "pressure_altitude_ft", *(("oat_c",) if len(places) < len(rows) else ()))


def duplicates(rows: Sequence[Any], keys: Iterable[str]) -> Iterator[tuple[int, int]]:
    """(first, later) rows with the same inputs."""
    names, seen = tuple(keys), dict[tuple[Any, ...], int]()
    for i, row in enumerate(rows):
        inputs = tuple(getattr(row, k) for k in names)
        if inputs in seen:
            yield seen[inputs], i
        seen.setdefault(inputs, i)


# Factors between units people exchange: (found over expected, what was typed as what), by the kind of key.
_FACTORS: tuple[tuple[str, tuple[tuple[float, str], ...]], ...] = (
    (
        "speed",
        (
            (MPH_PER_KT, "mph typed as knots"),
            (1 / MPH_PER_KT, "knots typed as mph"),
            (1.852, "km/h typed as knots"),
            (1 / 1.852, "knots typed as km/h"),
        ),
    ),
    ("length", ((units.FT_M, "meters typed as feet"), (1 / units.FT_M, "feet typed as meters"))),
    ("weight", ((units.LB_KG, "kg typed as lb"), (1 / units.LB_KG, "lb typed as kg"))),
    (
        "fuel",
        (
            (units.USGAL_M3 / units.LITRE_M3, "liters typed as gallons"),
            (units.LITRE_M3 / units.USGAL_M3, "gallons typed as liters"),
            (units.IMPGAL_M3 / units.USGAL_M3, "US gallons typed as imperial"),
            (units.USGAL_M3 / units.IMPGAL_M3, "imperial gallons typed as US"),
        ),
    ),
    ("climb", ((units.FPM_MPS, "m/s typed as ft/min"), (1 / units.FPM_MPS, "ft/min typed as m/s"))),
)


def _kind(key: str) -> str:
    if key.endswith(("kias", "kcas", "ktas", "_kt")):
        return "speed"
    if key.endswith("_fpm"):
        return "climb"
    if "gal" in key or key.startswith("gph"):
        return "fuel"
    return {"ft": "length", "lb": "weight"}.get(key.rpartition("_")[2], "")


def guess(found: float, expected: float, key: str, tolerance: float = 0.05) -> str:
    """ " Meters typed as feet?" where a factor between units or of ten fits, else nothing."""
    if not expected or not found or (found < 0) != (expected < 0):
        return ""
    ratio = found / expected
    factors = next((f for kind, f in _FACTORS if kind == _kind(key)), ())
    for factor, words in (*factors, (10.0, "a zero too many"), (0.1, "a zero too few")):
        if abs(ratio / factor - 1.0) < tolerance:
            first = words.partition(" ")[0]
            return (
                f" {words if first in {'mph', 'km/h', 'kg', 'lb', 'm/s', 'ft/min'} else words[0].upper() + words[1:]}?"
            )
    return ""
