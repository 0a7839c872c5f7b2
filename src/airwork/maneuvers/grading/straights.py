"""Straight legs and turns inside a maneuver: heading held on the one, bank held in the other."""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.grading.sheet import NO_BANK, NO_HEADING, SETTLED, Sheet
from airwork.maneuvers.seeing.signal import Array, bridged, median, runs
from airwork.units import write

STRAIGHT_BANK_RAD = np.radians(7.0)
TURN_BANK_RAD = np.radians(9.0)
SHORTEST_S = 6.0
PAUSE_S = 1.5
ROLLED_IN = 0.85  # of the settled bank
LEAST_HEADING_ERROR_RAD = np.radians(1.5)  # of a heading worked out from positions a second apart
EDGE_S = 2.0  # rolling in and out of a turn is neither
LEAST_TURN_S = 4.0
BEGUN_S, BEGUN_RAD = 10.0, np.radians(5.0)  # half the tolerance: rolled out short and put right, it takes longer
TO_AND_FRO, A_TURN_RAD = 3, np.radians(70.0)  # swings to alternating sides; so far it is a turn (common practice)


def straight_legs(sheet: Sheet, window: tuple[float, float]) -> list[slice]:
    """Stretches of wings-level flight inside a window, as slices of the flight's samples."""
    return _parts(sheet, window, turning=False)


def turning_parts(sheet: Sheet, window: tuple[float, float]) -> list[slice]:
    """Stretches of turning flight inside a window, without the rolls in and out."""
    return _parts(sheet, window, turning=True)


def _parts(sheet: Sheet, window: tuple[float, float], *, turning: bool) -> list[slice]:
    step = sheet.evidence.step_s
    span = sheet.evidence.flight.span(*window)
    bank = sheet.evidence.turn_bank_rad[span]
    pause = round(PAUSE_S / step)
    if turning:  # each side by itself: from one turn straight into the other the wings pass through level
        found = sorted(r for side in (1.0, -1.0) for r in runs(bridged(side * bank > TURN_BANK_RAD, pause)))
    else:
        found = runs(bridged(np.abs(bank) < STRAIGHT_BANK_RAD, pause))
    edge = round(EDGE_S / step)
    least = LEAST_TURN_S if turning else SHORTEST_S
    out = []
    for first, last in found:
        a = first + edge if first > 0 or turning else first
        b = last - edge if last < bank.size or turning else last
        if turning and b > a:
            a, b = _banked(np.abs(bank), a, b)
        if (b - a) * step >= least:
            out.append(slice(span.start + a, span.start + b))
    return out


def _banked(bank_rad: Array, first: int, last: int) -> tuple[int, int]:
    """The part of a turn from the first to the last time its bank was near the settled one: rolled in, not yet out."""
    near = np.flatnonzero(bank_rad[first:last] > ROLLED_IN * median(bank_rad[first:last]))
    return (first + int(near[0]), first + int(near[-1]) + 1) if near.size else (first, first)


def leg_heading_rad(sheet: Sheet, part: slice) -> float:
    """The heading a straight leg was begun on, where one was held there for some seconds; else its settled one. [rad]

    What a nose that wanders off ends on is no heading anybody chose.
    """
    heading = sheet.evidence.heading_rad
    if heading is None or not np.isfinite(heading[part]).any():
        return float("nan")
    first = heading[part][: round(BEGUN_S / sheet.evidence.step_s)]
    begun = np.isfinite(first).all() and float(np.ptp(first)) < BEGUN_RAD
    return float(np.median(first) if begun else np.nanmedian(heading[part]))


def swings_rad(heading_rad: Array, least_rad: float) -> list[float]:
    """How far a heading swung each time, to alternating sides, in swings wider than the least.

    heading_rad : shape (n,), unwrapped. The way to the first turning point and from the last is counted too.
    """
    known = heading_rad[np.isfinite(heading_rad)]
    turned: list[float] = []  # the headings at which it turned back
    for value in known.tolist():
        if not turned:
            turned = [value, value]
        elif (value - turned[-1]) * (turned[-1] - turned[-2]) >= 0.0:
            turned[-1] = value  # farther to the same side
        elif abs(value - turned[-1]) > least_rad:
            turned.append(value)
    return [size for size in np.abs(np.diff(turned)).tolist() if size > least_rad]


def held_heading(sheet: Sheet, window: tuple[float, float], *, begun: bool = False) -> None:
    """Judge the heading of each straight leg against what that leg settled on; begun : against what it was begun on."""
    heading = sheet.evidence.heading_rad
    if heading is None:
        sheet.cannot("heading", NO_HEADING)
        return
    swings = swings_rad(heading[sheet.evidence.flight.span(*window)], 2.0 * sheet.tolerance("heading", np.pi))
    if not begun and len(swings) >= TO_AND_FRO and max(swings) < A_TURN_RAD:
        sheet.not_asked(
            "heading",
            f"it went to and fro over {write(float(np.median(swings)), 'deg')}, {len(swings)} times: turns to look "
            "about, or a heading not held; the data can't tell which",
        )
        return
    deviation, use = np.full(heading.size, np.nan), np.zeros(heading.size, dtype=bool)
    for part in straight_legs(sheet, window):
        if np.isfinite(heading[part]).any():
            target = leg_heading_rad(sheet, part) if begun else np.nanmedian(heading[part])
            deviation[part] = heading[part] - target
        use[part] = True
    sheet.over("heading", deviation, window, use=use, error=heading_error_rad(sheet), note=heading_note(sheet))


def held_bank(sheet: Sheet, window: tuple[float, float]) -> None:
    """Judge the bank of each turn against the lesson's, else against what that turn settled on."""
    bank = sheet.evidence.bank_rad
    if bank is None:
        sheet.cannot("bank", NO_BANK)
        return
    lesson = sheet.evidence.lesson_target(sheet.kind, "bank_rad")
    deviation, use = np.full(bank.size, np.nan), np.zeros(bank.size, dtype=bool)
    settled = []
    for part in turning_parts(sheet, window):
        size: Array = np.abs(bank[part])
        if np.isfinite(size).any():
            target = float(np.nanmedian(size)) if lesson is None else lesson
            settled.append(target)
            deviation[part] = size - target
        use[part] = True
    if settled:
        sheet.set_target(
            "bank",
            float(np.mean(settled)),
            "deg",
            sheet.evidence.target_from("bank_rad") if lesson is not None else SETTLED,
        )
    note = "" if sheet.evidence.bank_measured else "bank worked out from the turn rate"
    sheet.over("bank", deviation, window, use=use, error=sheet.evidence.bank_error_rad, note=note)


def heading_error_rad(sheet: Sheet) -> float:
    """One standard error of a change of heading; 0 when it was recorded. [rad]"""
    how = sheet.evidence.view.heading_from
    if how == "heading":
        return 0.0
    name = "heading_rad" if how == "track and wind" else "track_rad"
    return float(np.sqrt(2.0)) * max(sheet.evidence.error(name), LEAST_HEADING_ERROR_RAD)


def heading_note(sheet: Sheet) -> str:
    """How the heading is known, when it wasn't recorded."""
    how = sheet.evidence.view.heading_from
    return "" if how == "heading" else f"heading taken from the {how}"
