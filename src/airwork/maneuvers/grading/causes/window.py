"""What every detector needs: a stretch of the flight's samples with its times, and plain words for numbers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.signal import Array, Mask, bridged, filled, known_share
from airwork.masks import runs
from airwork.units import to_unit


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of samples of one flight: `time_s[part]`, and slices of any series by `of`."""

    sheet: Sheet
    part: slice

    @property
    def time_s(self) -> Array:
        """Times of the stretch. [s]"""
        return self.sheet.time_s[self.part]

    def of(self, values: Array | None) -> Array | None:
        """The stretch of a series, a few unknown samples bridged; None when it isn't known nearly throughout."""
        if values is None:
            return None
        inside = values[self.part]
        return filled(inside) if inside.size > 3 and known_share(inside) > 0.95 else None

    def spells(self, mask: Mask, least_s: float, gap_s: float = 0.6) -> list[tuple[int, int]]:
        """Stretches of True of at least so many seconds, as (first, last) within the window."""
        step = self.sheet.evidence.step_s
        found = runs(bridged(mask, round(gap_s / step)))
        return [(a, b - 1) for a, b in found if (b - a) * step >= least_s]

    def seconds(self, first: int, last: int) -> tuple[float, float]:
        """Times of two samples of the window. [s]"""
        t = self.time_s
        return float(t[first]), float(t[min(last, t.size - 1)])

    def after(self, index: int, seconds: float) -> int:
        """Index so many seconds later, within the window."""
        return min(index + round(seconds / self.sheet.evidence.step_s), self.time_s.size - 1)


def window(sheet: Sheet, start_s: float, end_s: float) -> Window:
    """The samples between two times."""
    return Window(sheet, sheet.evidence.flight.span(start_s, end_s))


def feet(value_m: float) -> str:
    """'120 ft'."""
    return f"{abs(to_unit(value_m, 'ft')):,.0f} ft"


def degrees(value_rad: float) -> str:
    """'47°'."""
    return f"{abs(np.degrees(value_rad)):.0f}°"


def swings(values: Array, size: float) -> list[int]:
    """Indices of the turning points of a series that swings by more than `size`: maxima and minima in turn."""
    points: list[int] = []
    low = high = 0
    rising: bool | None = None
    for k in range(1, values.size):
        if values[k] > values[high]:
            high = k
        if values[k] < values[low]:
            low = k
        if rising is not False and values[high] - values[k] > size:
            points.append(high)
            rising, low = False, k
            high = k
        elif rising is not True and values[k] - values[low] > size:
            points.append(low)
            rising, high = True, k
            low = k
    return points
