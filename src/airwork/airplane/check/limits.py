"""Suspicions about the flap speeds: against the limit, the structural cruise and the stall."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from airwork.airplane.check.book import KT_PER_MPS, Book, Complaint, each, guess
from airwork.airplane.check.physics import LIMITS, STALL, off

NOTCH_STALL = (1.6, 3.2)  # of a single notch over the stall, full flaps: 1.8 by 14 CFR 23.345 (from memory), rounding
SAME_KT = 0.7  # the same number printed twice, by its place in two tables
CALIBRATED_KT = 2.0  # once indicated, once calibrated
OTHER_UNIT = 0.11  # ln: mph and knots are 0.14 apart
FLAPS_DESIGN, CRUISE_DESIGN = 1.93, 1.04  # usual flap speed over stall, structural cruise over its least


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about limits."""
    yield from each(book, _limits)


def _limits(book: Book) -> Iterator[Complaint]:
    a, limits = book.airplane, book.airplane.limits
    cruise, top = limits.max_structural_cruise_ias_mps, limits.max_flaps_extended_ias_mps
    full = book.marked_stall_mps(a.flaps_full)
    notches = [(i, n.max_ias_mps) for i, n in enumerate(a.flap_notches) if n.max_ias_mps is not None]
    of_notch, printed = partial(book.doubt, "flaps", of="notches"), book.file.limitations
    given = printed is not None and (printed.maximum_flaps_extended_kias or printed.maximum_flaps_extended_kcas)
    same = SAME_KT if printed is None or printed.maximum_flaps_extended_kcas is None else CALIBRATED_KT
    if (
        notches
        and top is not None
        and given
        and min(abs(end(v for _, v in notches) - top) for end in (min, max)) * KT_PER_MPS > same
    ):
        i, nearest = min(notches, key=lambda n: abs(n[1] - top))
        if flap_limit_at_fault(book, nearest, top) == LIMITS:
            said = f"flaps extended {book.speed(top * KT_PER_MPS)}, [flaps] has {book.speed(nearest * KT_PER_MPS)}"
            why = f"The limit and the speeds of the notches disagree.{guess(top, nearest, 'kias')}"
            yield book.doubt(LIMITS, said, why, column="maximum_flaps_extended", leans=("flaps",), whole=True)
            return
        yield of_notch(
            f"{book.speed(nearest * KT_PER_MPS)}, [limitations] has {book.speed(top * KT_PER_MPS)} for flaps extended",
            f"The limit and the speeds of the notches disagree.{guess(nearest, top, 'kias')}",
            row=i, leans=(LIMITS,), whole=len(notches) > 1,
        )  # fmt: skip
    for i, speed in notches:
        if cruise and speed > 1.03 * cruise:
            yield of_notch(
                f"{book.speed(speed * KT_PER_MPS)}, structural cruise is {book.speed(cruise * KT_PER_MPS)}",
                "Flaps are never allowed faster than the structural cruising speed; a digit is wrong.", row=i,
            )  # fmt: skip
    for i, speed in notches:
        if full and off(speed / full, NOTCH_STALL):
            yield of_notch(
                f"{book.speed(speed * KT_PER_MPS)} is {speed / full:.1f} times the stall",
                "Flaps are allowed to about twice the stall with full flaps; a digit or the unit is wrong.",
                row=i, leans=(STALL, "airplane"),
            )  # fmt: skip


def flap_limit_at_fault(book: Book, notch_mps: float, top_mps: float) -> str:
    """Which of two flap limits that disagree is likelier wrong: "flaps", or "limitations" with its other speeds,
    or "" where they are no unit apart.

    Flaps are designed for 1.8 times the stall with full flaps and little more, the structural cruise for 33 √(lb/ft²)
    kt (14 CFR 23.345, 23.335 as they long stood; from memory): what is typed in another unit is off in both.
    """
    stall = book.marked_stall_mps(book.airplane.flaps_full)
    area, cruise = book.file.airplane.wing_area_ft2, book.airplane.limits.max_structural_cruise_ias_mps
    off_by = [] if stall is None else [math.log(top_mps / (FLAPS_DESIGN * stall))]
    if area and cruise:
        least = 33.0 * math.sqrt(book.file.airplane.maximum_takeoff_weight_lb / area) / KT_PER_MPS
        off_by.append(math.log(cruise / (CRUISE_DESIGN * least)))
    apart = math.log(top_mps / notch_mps)
    if not off_by or abs(apart) < OTHER_UNIT:
        return ""
    return LIMITS if sum(off_by) / (apart * len(off_by)) > 0.5 else "flaps"
