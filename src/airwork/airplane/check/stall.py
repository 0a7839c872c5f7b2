"""Suspicions about stall speeds: more flap lowers them; on the dial they read otherwise than calibrated."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from statistics import median

from airwork.airplane.check.book import KT_PER_MPS, Book, Complaint
from airwork.airplane.file.base import SpeedRow

FEWEST_TWICE, APART_KT = 4, 2.5  # rows; kt between the dial and calibrated, in the middle: more than rounding


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about the stall, from notch to notch of one weight and bank."""
    full, top = book.airplane.flaps_full, book.file.airplane.maximum_takeoff_weight_lb
    table, speeds = book.file.performance.stall, book.file.v_speeds
    found: dict[tuple[str, float, float], dict[int, tuple[int, SpeedRow]]] = {}
    for i, row in enumerate(table.rows if table else []):
        if row.flap_notch > full:
            what = f"flap notch {row.flap_notch}"
            yield book.doubt("performance.stall", what, f"The file's flaps end at notch {full}.", row=i, firm=True)
            continue
        found.setdefault(("performance.stall", row.weight_lb, row.bank_deg), {})[row.flap_notch] = (i, row)
    for i, speed in enumerate(speeds.rows if speeds else []):
        notch = {"stall_flaps_up": 0, "stall_flaps_full": full}.get(speed.name)
        if notch is not None:
            found.setdefault(("v_speeds", speed.weight_lb or top, 0.0), {})[notch] = (i, speed)
    yield from (all_rows := list(_typed_twice(book)))
    yield from () if all_rows else _one_typed_twice(book)
    for (where, weight, bank), by_notch in found.items():
        for less, more in pairwise(sorted(by_notch)):
            (_, lesser), (at, fuller) = by_notch[less], by_notch[more]
            slow, fast = book.cas_kt(fuller, more), book.cas_kt(lesser, less)
            if slow is not None and fast is not None and slow > fast + 0.01:
                what = f"{book.speed(slow)} with notch {more}, {book.speed(fast)} with notch {less}"
                what += f" ({book.weight(weight)}, bank {bank:g}°)"
                why = "More flap lowers the stall speed: Vs0 must not be above Vs. Are the two rows exchanged?"
                label = getattr(fuller, "name", "")  # of a V-speed
                yield book.doubt(where, what, why, row=at, label=label, leans=book.through(fuller), firm=True)


def _typed_twice(book: Book) -> Iterator[Complaint]:
    """Every row the same indicated as calibrated, where the calibration has the dial read otherwise down there."""
    table = book.file.performance.stall
    rows = [r for r in table.rows if r.kias and r.kcas and r.flap_notch <= book.airplane.flaps_full] if table else []
    if len(rows) < FEWEST_TWICE or any(r.kias != r.kcas for r in rows):
        return
    off = []
    for row in sorted(rows, key=lambda r: r.kcas or 0.0)[: len(rows) // 2]:  # the slow half: the dial is farthest off
        curve = book.calibration(row.flap_notch)
        dial = float(curve.ias((row.kcas or 0.0) / KT_PER_MPS)) * KT_PER_MPS
        off += [dial - (row.kcas or 0.0)] if dial == dial and not curve.assumed else []
    if len(off) < FEWEST_TWICE // 2 or abs(median(off)) < APART_KT:
        return
    what = f"all {len(rows)} rows have the same speed indicated as calibrated"
    why = f"By the calibration the dial reads {book.speed(abs(median(off)))} {'less' if median(off) < 0.0 else 'more'} "
    why += "there: was one column typed for both?"
    yield book.doubt("performance.stall", what, why, whole=True, leans=("airspeed_calibration",))


def _one_typed_twice(book: Book) -> Iterator[Complaint]:
    """A row whose indicated speed goes with its calibrated one by the calibration as no other row's does."""
    table = book.file.performance.stall
    off: list[tuple[int, float, float]] = []  # row, what the dial should read, how far off it is typed
    for i, row in enumerate(table.rows if table else []):
        if row.kias is None or row.kcas is None or row.flap_notch > book.airplane.flaps_full:
            continue
        curve = book.calibration(row.flap_notch)
        dial = float(curve.ias(row.kcas / KT_PER_MPS)) * KT_PER_MPS
        off += [(i, dial, row.kias - dial)] if dial == dial and not curve.assumed else []
    if len(off) < FEWEST_TWICE:
        return
    usual = median(x for _, _, x in off)
    for i, dial, far in off:
        if abs(far - usual) > APART_KT and table is not None:
            row = table.rows[i]
            what = f"{book.speed(row.kias or 0.0)} indicated with {book.speed(row.kcas or 0.0)} calibrated"
            why = f"By the calibration the dial reads about {book.speed(dial + usual)} there, as in the other rows."
            yield book.doubt("performance.stall", what, why, row=i, column="kias", leans=("airspeed_calibration",))
