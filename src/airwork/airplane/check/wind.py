"""Suspicions about what a distance table says of wind: its correction, or its columns for each wind."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator

import numpy as np

from airwork.airplane.check.book import Book, Complaint, guess
from airwork.airplane.check.physics import sigma
from airwork.airplane.file.performance import DistanceRow, DistanceTable
from airwork.airplane.runway import wind_factor

ALIKE = 0.07  # the share a wind takes changes little with altitude and weight


def complaints(book: Book, table: DistanceTable, kind: str) -> Iterator[Complaint]:
    """Every suspicion about a table's wind."""
    count = Counter(row.headwind_kt for row in table.wind_rows)
    usual = max(count.values(), default=0)
    if alone := [r for r in table.wind_rows if count[r.headwind_kt] == 1 and usual >= 3]:
        where, row = f"performance.{kind}", alone[0]
        what = f"headwind {book.number(where, 'headwind_kt', row.headwind_kt or 0.0)}, {_place(book, where, row)}"
        yield book.doubt(where, what, "No other row has this wind, the others come back; a digit is wrong.")
        return
    yield from _wind_rows(book, table, kind)


def _wind_rows(book: Book, table: DistanceTable, kind: str) -> Iterator[Complaint]:
    """Rows at a headwind: shorter than the calm one, alike from row to row, no shorter than wind can make them."""
    where = f"performance.{kind}"
    calm = {(r.weight_lb, r.pressure_altitude_ft, r.oat_c): r for r in table.rows}
    name = "liftoff" if kind == "takeoff" else "approach"
    speed: float | None = getattr(table, f"{name}_kias")
    shares: dict[tuple[float, str], list[tuple[DistanceRow, float]]] = {}
    for row in table.wind_rows:
        still = calm[row.weight_lb, row.pressure_altitude_ft, row.oat_c]
        for key in ("ground_roll_ft", "total_over_50_ft"):
            here, there = getattr(row, key), getattr(still, key)
            if here is not None and there is not None:
                shares.setdefault((row.headwind_kt or 0.0, key), []).append((row, here / there))
    for (wind, key), found in sorted(shares.items()):
        # what is left of the true airspeed, which grows as 1/√σ: squared in the roll, by itself in the whole
        power = 2.0 if key == "ground_roll_ft" else 1.0
        taken = float(np.median([(1.0 - s ** (1.0 / power)) / math.sqrt(sigma(row)) for row, s in found]))
        usual = (1.0 - taken) ** power
        at = f"with {book.number(where, 'headwind_kt', wind)} of headwind"
        least = wind_factor(wind / speed) - 0.05 if speed and wind < speed else 0.2
        if not least < usual < 1.0:
            what = f"{book.label(key)} {at} is {100 * usual:.0f} % of the calm one"
            yield book.doubt(where, what, "A headwind shortens it, but not so much; exchanged columns?", whole=True)
            return
        step = book.step(where, key, np.array([getattr(r, key) for r, _ in found]))
        for row, share in found:
            still = calm[row.weight_lb, row.pressure_altitude_ft, row.oat_c]
            here = max(1.0 - taken * math.sqrt(sigma(row)), 0.0) ** power
            expected = here * getattr(still, key)
            if len(found) >= 3 and abs(share / here - 1.0) > ALIKE + 1.5 * step / expected:
                what = f"{book.named(where, key, getattr(row, key))} {at}, {_place(book, where, row)}"
                why = f"The wind's share elsewhere makes it about {book.number(where, key, expected)}."
                yield book.doubt(where, what, why + guess(getattr(row, key), expected, key), column=key)


def _place(book: Book, where: str, row: DistanceRow) -> str:
    """Which row, by what stands at its left."""
    heat = "oat_c" if row.isa_deviation_c is None else "isa_deviation_c"
    keys = ("weight_lb", "pressure_altitude_ft", heat)
    return ", ".join(book.number(where, key, getattr(row, key)) for key in keys)
