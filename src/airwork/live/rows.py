"""The last minutes of a followed flight as columns, in memory that does not grow."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Rows:
    """Rows in the order of time; those older than `window_s` are let go. Fed by one thread.

    step_s : what comes within it joins the row before.
    """

    def __init__(self, window_s: float, step_s: float) -> None:
        self.window_s, self.step_s = window_s, step_s
        self.begun_s = float("nan")  # time of the very first row
        self._names: dict[str, int] = {}
        self._time = np.empty(1024)
        self._data = np.empty((1024, 8))
        self._first, self._end = 0, 0

    def __len__(self) -> int:
        return self._end - self._first

    @property
    def last_s(self) -> float:
        """Time of the newest row; NaN without one."""
        return float(self._time[self._end - 1]) if len(self) else float("nan")

    def add(self, time_s: float, values: Mapping[str, float]) -> None:
        """A moment's values; one older than the newest row is left out."""
        if len(self) and time_s < self.last_s:
            return
        if not len(self) or time_s - self.last_s >= self.step_s:
            self._new(time_s)
        for name, value in values.items():
            at = self._names.get(name)
            if at is None:
                at = self._names[name] = len(self._names)
                if at >= self._data.shape[1]:
                    self._data = np.pad(self._data, ((0, 0), (0, 8)), constant_values=np.nan)
                self._data[: self._end, at] = np.nan
            self._data[self._end - 1, at] = value

    def _new(self, time_s: float) -> None:
        if not np.isfinite(self.begun_s):
            self.begun_s = time_s
        if self._end == self._time.size:
            self._make_room()
        self._time[self._end] = time_s
        self._data[self._end] = np.nan
        self._end += 1
        while self._time[self._first] < time_s - self.window_s:
            self._first += 1

    def _make_room(self) -> None:
        kept = slice(self._first, self._end)
        size = max(1024, 2 * len(self))
        time, data = np.empty(size), np.empty((size, self._data.shape[1]))
        time[: len(self)], data[: len(self)] = self._time[kept], self._data[kept]
        self._time, self._data, self._end, self._first = time, data, len(self), 0

    def snapshot(self) -> tuple[Array, dict[str, Array]]:
        """Times and columns as they are now, copied."""
        kept = slice(self._first, self._end)
        return self._time[kept].copy(), {name: self._data[kept, at].copy() for name, at in self._names.items()}
