"""Straight legs and turns inside a maneuver: heading held on the one, bank held in the other."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from airwork.maneuvers.grading.sheet import NO_BANK, NO_HEADING, SETTLED, Sheet
from airwork.maneuvers.seeing.signal import Array, bridged, median
from airwork.masks import runs
from airwork.units import write

STRAIGHT_BANK_RAD = np.radians(7.0)
TURN_BANK_RAD = np.radians(9.0)
SHORTEST_S = 6.0
PAUSE_S = 1.5
ROLLED_IN = 0.85  # of the settled bank
LEAST_HEADING_ERROR_RAD = np.radians(1.5)  # of a heading worked out from positions a second apart
CLOSE_S = 1.5  # between positions
EDGE_S = 2.0  # rolling in and out of a turn is neither
LEAST_TURN_S = 4.0
RARE_S, BENT_RAD = 4.0, np.radians(45.0)  # from fix to fix, a turn through it shows half its bank (no source)
BEGUN_S, BEGUN_RAD = 10.0, np.radians(5.0)  # half the tolerance: rolled out short and put right, it takes longer
TO_AND_FRO, A_TURN_RAD = 3, np.radians(70.0)  # swings to alternating sides; so far it is a turn (common practice)
WALLOWED, SWING_S = 4, 20.0  # a look to both sides and back is three; each over within so long (no source)

SHALLOW_RAD, SHALLOW_TURN_RAD, SHALLOW_S, ALIKE = np.radians(4.0), np.radians(30.0), 8.0, 0.3  # no source
AROUND_S = 20.0
ONE_HEADING = 0.5


def straight_legs(sheet: Sheet, window: tuple[float, float]) -> list[slice]:
    """Stretches of wings-level flight inside a window, as slices of the flight's samples."""
    return _parts(sheet, window, turning=False)


def turning_parts(sheet: Sheet, window: tuple[float, float]) -> list[slice]:
    """Turns inside a window, without the rolls in and out; what wallows to and fro is none."""
    aside = wallows(sheet, window)
    parts = _parts(sheet, window, turning=True)
    return [p for p in parts if not any(a.start < p.stop and p.start < a.stop for a in aside)]


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


def turning_points(heading_rad: Array, least_rad: float) -> list[int]:
    """Where a heading turned back, its first and last sample with them, in swings wider than the least.

    heading_rad : shape (n,), unwrapped. Of fewer than three known samples none.
    """
    known = np.flatnonzero(np.isfinite(heading_rad))
    points: list[int] = []
    for k, value in zip(known.tolist(), heading_rad[known].tolist(), strict=True):
        if len(points) < 2:
            points.append(k)
        elif (value - heading_rad[points[-1]]) * (heading_rad[points[-1]] - heading_rad[points[-2]]) >= 0.0:
            points[-1] = k  # farther to the same side
        elif abs(value - heading_rad[points[-1]]) > least_rad:
            points.append(k)
    return points


def _swings(sheet: Sheet, window: tuple[float, float]) -> list[tuple[float, slice]]:
    """How far the heading went to alternating sides, by more than both of its limits, and where."""
    heading, span = sheet.evidence.heading_rad, sheet.evidence.flight.span(*window)
    if heading is None:
        return []
    least = 2.0 * sheet.tolerance("heading", np.pi)
    points = turning_points(heading[span], least)
    sizes = [(abs(float(heading[span][b] - heading[span][a])), a, b) for a, b in pairwise(points)]
    return [(size, slice(span.start + a, span.start + b)) for size, a, b in sizes if size > least]


def wallows(sheet: Sheet, window: tuple[float, float]) -> list[slice]:
    """Where the heading went to and fro without a leg held between: no turn anybody meant, a heading not held."""
    out: list[slice] = []
    row: list[slice] = []
    for size, part in [*_swings(sheet, window), (np.inf, slice(0, 0))]:
        one_of_them = size < A_TURN_RAD and (part.stop - part.start) * sheet.evidence.step_s < SWING_S
        if one_of_them and (not row or (part.start == row[-1].stop and _about_one(sheet, [*row, part]))):
            row.append(part)
            continue
        if len(row) >= WALLOWED:
            out.append(slice(row[0].start, row[-1].stop))
        row = [part] if one_of_them else []
    return out


def out_and_back(sheet: Sheet, window: tuple[float, float]) -> list[slice]:
    """Shallow turns away and back again: as far, at one bank each way. A wing held low goes at no steady bank, and is
    put right with more of it.
    """
    around = (window[0] - AROUND_S, window[1] + AROUND_S)  # the way back may go on into the recovery
    turns, out = [(size, part, *_turned(sheet, size, part)) for size, part in _swings(sheet, around)], []
    for (size, away, bank, long_s), (other, back, bank_back, back_s) in pairwise(turns):
        alike = abs(size - other) < ALIKE * max(size, other) and abs(bank - bank_back) < ALIKE * max(bank, bank_back)
        enough = min(size, other) > SHALLOW_TURN_RAD and min(bank, bank_back) > SHALLOW_RAD
        if away.stop == back.start and alike and enough and min(long_s, back_s) > SHALLOW_S:
            out += [away, back]
    return out


def _turned(sheet: Sheet, size_rad: float, part: slice) -> tuple[float, float]:
    """Middle bank and length of the four fifths in the middle of a swing. [rad], [s]"""
    heading = sheet.evidence.heading_rad
    assert heading is not None
    done = np.abs(heading[part] - heading[part.start]) / size_rad
    core = (done > 0.1) & (done < 0.9)
    return median(np.abs(sheet.evidence.turn_bank_rad[part][core])), core.sum() * sheet.evidence.step_s


def _about_one(sheet: Sheet, row: list[slice]) -> bool:
    """The swings are about one heading: their middles lie closer than half the widest; else a turn is among them."""
    heading = sheet.evidence.heading_rad
    assert heading is not None
    ends = np.array([[heading[part.start], heading[part.stop - 1]] for part in row])
    return float(np.ptp(ends.mean(axis=1))) < ONE_HEADING * float(np.ptp(ends, axis=1).max())


def held_heading(sheet: Sheet, window: tuple[float, float], *, begun: bool = False) -> None:
    """Judge the heading of each straight leg against what that leg settled on; begun : against what it was begun on."""
    heading = sheet.evidence.heading_rad
    if heading is None:
        sheet.cannot("heading", NO_HEADING)
        return
    swings = [size for size, _ in _swings(sheet, window)]
    if not begun and len(swings) >= TO_AND_FRO and max(swings) < A_TURN_RAD:
        sheet.not_asked(
            "heading",
            f"it went to and fro over {write(float(np.median(swings)), 'deg')}, {len(swings)} times: turns to look "
            "about, or a heading not held; the data can't tell which",
        )
        return
    deviation, use = np.full(heading.size, np.nan), np.zeros(heading.size, dtype=bool)
    for part in straight_legs(sheet, window):
        if _bends_unseen(sheet, heading[part]):
            continue
        if np.isfinite(heading[part]).any():
            target = leg_heading_rad(sheet, part) if begun else np.nanmedian(heading[part])
            deviation[part] = heading[part] - target
        use[part] = True
    for part in out_and_back(sheet, window) if begun else ():
        use[part] = False
    for part in wallows(sheet, window) if begun else ():
        deviation[part], use[part] = heading[part] - np.nanmedian(heading[part]), True
    sheet.over("heading", deviation, window, use=use, error=heading_error_rad(sheet), note=heading_note(sheet))


def _bends_unseen(sheet: Sheet, heading_rad: Array) -> bool:
    """One heading into another at so little bank as rare fixes leave of a turn: no leg."""
    rare = sheet.evidence.step_s > RARE_S and sheet.evidence.view.heading_from != "heading"
    known = heading_rad[np.isfinite(heading_rad)]
    return rare and known.size > 1 and bool(abs(known[-1] - known[0]) > BENT_RAD)


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


def roll_out_error_rad(sheet: Sheet) -> float:
    """The same of a turn's end: out of positions it is known no better than it turned between two of them. [rad]"""
    return float(np.hypot(heading_error_rad(sheet), between_fixes_rad(sheet) / np.sqrt(12.0)))


def between_fixes_rad(sheet: Sheet) -> float:
    """How far it mostly turned from one position to the next; 0 where the heading was recorded, and of positions so
    close that the track between them is known: at one a second 74 of 74 roll-outs were judged right. [rad]"""
    view = sheet.evidence.view
    if view.heading_from == "heading" or sheet.evidence.step_s <= CLOSE_S:
        return 0.0
    rate = view.turn_rate_radps[view.at(sheet.start_s) : view.at(sheet.end_s) + 1]
    return float(np.median(np.abs(rate))) * sheet.evidence.step_s


def heading_note(sheet: Sheet) -> str:
    """How the heading is known, when it wasn't recorded."""
    how = sheet.evidence.view.heading_from
    return "" if how == "heading" else f"heading taken from the {how}"
