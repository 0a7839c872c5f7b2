"""Suspicions about stall speeds: flaps and bank."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from airwork.airplane.check.book import Book, Complaint, guess
from airwork.airplane.file.performance import StallRow

ROUNDING_KT = 1.6  # rows are rounded to 1 kt, and so is the row they are held against


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about the stall."""
    yield from _full_above_up(book)
    table = book.file.performance.stall
    rows = table.rows if table else []
    yield from _notches(book, rows)
    yield from _banks(book, rows)


def _full_above_up(book: Book) -> Iterator[Complaint]:
    """Vs0 above Vs among the V-speeds."""
    rows = book.file.v_speeds.rows if book.file.v_speeds else []
    heavy = book.file.airplane.maximum_takeoff_weight_lb
    up = {r.weight_lb or heavy: book.cas_kt(r, 0) for r in rows if r.name == "stall_flaps_up"}
    for i, row in enumerate(rows):
        if row.name != "stall_flaps_full":
            continue
        full, clean = book.cas_kt(row, book.airplane.flaps_full), up.get(row.weight_lb or heavy)
        if full is not None and clean is not None and full > clean:
            yield Complaint(
                book.place("v_speeds", i, label="stall_flaps_full"),
                f"{book.speed(full)} with full flaps, {book.speed(clean)} flaps up",
                "Flaps lower the stall speed: Vs0 must not be above Vs. Are the two rows exchanged?",
                leans=book.through(row),
            )


def _notches(book: Book, rows: list[StallRow]) -> Iterator[Complaint]:
    full = book.airplane.flaps_full
    found: dict[tuple[float, float], dict[int, int]] = {}
    for i, row in enumerate(rows):
        if row.flap_notch > full:
            what = f"flap notch {row.flap_notch}"
            yield Complaint(book.place("performance.stall", i), what, f"The file's flaps end at notch {full}.")
            continue
        found.setdefault((row.weight_lb, row.bank_deg), {})[row.flap_notch] = i
    for (weight, bank), by_notch in found.items():
        ordered = sorted(by_notch)
        for less, more in pairwise(ordered):
            slow, fast = book.cas_kt(rows[by_notch[more]], more), book.cas_kt(rows[by_notch[less]], less)
            if slow is not None and fast is not None and slow > fast + 0.01:
                what = f"{book.speed(slow)} with notch {more}, {book.speed(fast)} with notch {less}"
                what += f" ({book.weight(weight)}, bank {bank:g}°)"
                why = "More flap lowers the stall speed: Vs0 must not be above Vs."
                at = by_notch[more]
                yield book.doubt("performance.stall", what, why, row=at, leans=book.through(rows[at]))


def _banks(book: Book, rows: list[StallRow]) -> Iterator[Complaint]:
    """Rows in a bank against their level row."""
    level = {
        (r.weight_lb, r.flap_notch): r for r in rows if r.bank_deg == 0 and r.flap_notch <= book.airplane.flaps_full
    }
    for key, flat in list(level.items()):  # rows in a bank that agree among themselves doubt their level row
        turned = [r for r in rows if (r.weight_lb, r.flap_notch) == key and 0 < r.bank_deg < 80]
        implied = [c * math.sqrt(math.cos(math.radians(r.bank_deg))) for r in turned if (c := book.cas_kt(r, key[1]))]
        still, i = book.cas_kt(flat, key[1]), rows.index(flat)
        if still is None or len(implied) < 2 or max(implied) - min(implied) > 2 * ROUNDING_KT:
            continue
        expected = sum(implied) / len(implied)
        if abs(still - expected) > 2 * ROUNDING_KT:
            del level[key]
            yield book.doubt(
                "performance.stall",
                f"{book.speed(still, 1)} calibrated; its rows in a bank give {book.speed(expected, 1)}",
                f"In a bank the stall speed grows by 1/√cos(bank).{guess(still, expected, 'kias')}",
                row=i,
                leans=book.through(flat),
            )
    for i, row in enumerate(rows):
        base = level.get((row.weight_lb, row.flap_notch))
        if row.bank_deg == 0 or base is None or row.flap_notch > book.airplane.flaps_full or row.bank_deg > 80:
            continue
        cas, still = book.cas_kt(row, row.flap_notch), book.cas_kt(base, row.flap_notch)
        if cas is None or still is None:
            continue
        expected = still / math.sqrt(math.cos(math.radians(row.bank_deg)))
        # the level row's rounding grows with the load factor
        if abs(cas - expected) > ROUNDING_KT * 0.5 * (1.0 + expected / still):
            yield Complaint(
                book.place("performance.stall", i),
                f"{book.speed(cas, 1)} calibrated at {row.bank_deg:g}° of bank, "
                f"{book.speed(expected, 1)} from the level row",
                f"In a bank the stall speed grows by 1/√cos(bank).{guess(cas, expected, 'kias')}",
                alone=True,
                leans=book.through(row),
            )
