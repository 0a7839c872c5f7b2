"""Where a maneuver begins and ends in the exact state, by the words of its room (docs/maneuvers.md).

A mark says when the simulated pilot decided or thought himself done; what an observer could see of it is found here.
Kinds not named keep their marks: there the pilot's act is the event itself (brakes, roll-in, throttle, wings level).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from airwork.units import FT_M, KT_MPS
from flying.truth import Mark

Array = NDArray[np.float64]
Columns = dict[str, Array]

SPED_UP, SINKING_ON_S = 1.4, 12.0  # times the clean stall speed so long before it climbs: recovered there
BACK, BACK_S = 0.9, 40.0  # of the speed before the slowing, within so long: recovered
SAFE = 1.2  # times the clean stall speed, and sinking no more: recovered from a stall
NEAR_ABEAM_RAD = math.radians(35.0)  # along the downwind leg
LOOKED_S = 60.0  # past the mark for what ends it
NEXT_S = 180.0  # between a take-off and the pattern turned out of it, between the last turn and the runway


def _first(columns: Columns, from_s: float, is_so: NDArray[np.bool_], to_s: float) -> float | None:
    """Time of the first sample from a time on at which it is so."""
    time_s = columns["time_s"]
    at = np.flatnonzero(is_so & (time_s >= from_s) & (time_s <= to_s))
    return float(time_s[at[0]]) if at.size else None


def _speed_back(columns: Columns, mark: Mark) -> Mark:
    """Ends where nine tenths of the speed at its beginning are back, or where it gains no more."""
    time_s, ias = columns["time_s"], columns["ias_mps"]
    recovery = mark.phases["recovery"]
    before = float(ias[np.searchsorted(time_s, mark.start_s)])
    back = _first(columns, recovery, ias >= BACK * before, recovery + BACK_S)
    if back is None:
        part = np.flatnonzero((time_s >= recovery) & (time_s <= recovery + BACK_S))
        back = float(time_s[part[np.argmax(ias[part] > ias[part].max() - KT_MPS)]])
    return replace(mark, end_s=back)


def _climbing_safely(columns: Columns, mark: Mark) -> Mark:
    """Ends where it climbs, be it ever so little, at 1.2 times the clean stall speed; sinking on, at 1.4 times."""
    stall = mark.notes.get("stall_ias_kt")
    if not isinstance(stall, float):
        return mark
    climb, ias = columns["vertical_speed_mps"], columns["ias_mps"]
    safe = (climb > 0.0) & (ias > SAFE * stall * KT_MPS)
    end = _first(columns, mark.phases["recovery"], safe, mark.end_s + LOOKED_S)
    fast = _first(columns, mark.phases["recovery"], ias > SPED_UP * stall * KT_MPS, mark.end_s + LOOKED_S)
    if fast is not None and (end is None or end - fast > SINKING_ON_S):
        end = fast
    late = end is None or end > mark.end_s + SINKING_ON_S  # flown on level, never faster: then the pilot's word stands
    return mark if late or end is None else replace(mark, end_s=end)


def _broken_off(columns: Columns, mark: Mark) -> Mark:
    """Begins where half of the approach's sink is gone, ends 400 ft above the lowest point."""
    time_s, climb, height = columns["time_s"], columns["vertical_speed_mps"], columns["agl_m"]
    approach = (time_s >= mark.start_s - 12.0) & (time_s <= mark.start_s)
    here = np.flatnonzero((time_s >= mark.start_s) & (time_s <= mark.end_s + LOOKED_S))
    low = here[int(np.argmin(height[here]))]
    sinking = np.flatnonzero(climb[:low] < 0.5 * float(climb[approach].mean()))
    end = _first(columns, float(time_s[low]), height > height[low] + 400.0 * FT_M, mark.end_s + LOOKED_S)
    return replace(mark, start_s=float(time_s[sinking[-1]]), end_s=mark.end_s if end is None else end)


def _patterns(columns: Columns, marks: list[Mark]) -> list[Mark]:
    """From the take-off's end, or where the downwind leg is joined, to where the landing begins."""
    runway = [m for m in marks if m.kind in ("takeoff", "touch_and_go", "go_around", "landing")]
    out = []
    for mark in marks:
        if mark.kind == "traffic_pattern":
            after = min((m for m in runway if m.start_s >= mark.end_s - 1.0), key=lambda m: m.start_s, default=None)
            before = max((m for m in runway if m.end_s <= mark.start_s + 1.0), key=lambda m: m.end_s, default=None)
            if after is not None and after.start_s - mark.end_s < NEXT_S:
                start = _joined_s(columns, mark, float(after.notes.get("touchdown_s", after.start_s)))  # type: ignore[arg-type]
                if before and before.kind != "landing" and mark.start_s - before.end_s < NEXT_S:
                    start = before.end_s if _round(columns, mark) else start
                mark = replace(mark, start_s=start, end_s=after.start_s)
        out.append(mark)
    return out


def _round(columns: Columns, mark: Mark) -> bool:
    """Turned through all of a circuit's corners, not only from downwind to final."""
    time_s, heading = columns["time_s"], np.unwrap(columns["heading_rad"])
    a, b = np.searchsorted(time_s, [mark.start_s, mark.phases["abeam"]])
    return bool(abs(heading[b] - heading[a]) > math.pi - NEAR_ABEAM_RAD)


def _joined_s(columns: Columns, mark: Mark, over_runway_s: float) -> float:
    """Where the heading came within 35° of the opposite of the runway's."""
    time_s, heading = columns["time_s"], np.unwrap(columns["heading_rad"])
    abeam, runway = np.searchsorted(time_s, [mark.phases["abeam"], over_runway_s])
    off = np.abs(np.abs(heading[runway] - heading[:abeam]) - math.pi)
    apart = np.flatnonzero(off > NEAR_ABEAM_RAD)
    return float(time_s[apart[-1] + 1]) if apart.size else mark.start_s


RULES: dict[str, Callable[[Columns, Mark], Mark]] = {
    "slow_flight": _speed_back, "chandelle": _speed_back, "go_around": _broken_off,
    "power_off_stall": _climbing_safely, "power_on_stall": _climbing_safely, "accelerated_stall": _climbing_safely,
}  # fmt: skip


def exact(columns: Columns, marks: list[Mark]) -> list[Mark]:
    """The marks with their extents as their rooms put them; never into the next exercise."""
    out = [RULES[m.kind](columns, m) if m.kind in RULES and m.intended else m for m in marks]
    out = _patterns(columns, out)
    moved = sorted((m for m in out if m.intended and m.kind in RULES), key=lambda m: m.start_s)
    cut = {id(a): replace(a, end_s=b.start_s) for a, b in pairwise(moved) if a.start_s < b.start_s < a.end_s}
    return [cut.get(id(m), m) for m in out]
