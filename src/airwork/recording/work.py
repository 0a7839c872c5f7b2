"""The bench the derivations work on: columns so far, shared windows, one way to add what was worked out."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from airwork.recording.flight import Array, Column, Known, Mend
from airwork.recording.smooth import Window, least_around
from airwork.recording.time_base import typical_step_s

TAXI_MPS = 13.0  # slower over the ground, low and level: on the ground
_SLOW_CRAFT_MPS, _SLOW_TAXI_MPS, _HELD_S = 25.0, 4.0, 4.0  # a hop of the fixes is fast for a second or two


@dataclass(slots=True)
class Work:
    """Columns of one flight while they are being completed; mutable, private to `derive`.

    extra : helping quantities of the reader (SI), see `recorded.py`.
    scratch : intermediate arrays shared between derivations (ground velocity ...).
    """

    time_s: Array
    columns: dict[str, Column]
    extra: dict[str, Array] = field(default_factory=dict)
    scratch: dict[str, Array] = field(default_factory=dict)
    facts: dict[str, object] = field(default_factory=dict)
    mends: list[Mend] = field(default_factory=list)
    start_utc_s: float = float("nan")
    windows: dict[float, Window] = field(default_factory=dict)

    step_s: float = 0.0  # usual time between samples

    def __post_init__(self) -> None:
        self.step_s = typical_step_s(self.time_s)

    def seconds_apart(self, every_s: float = 1.0) -> NDArray[np.intp]:
        """Indices of samples about a second apart, the last included: enough for what changes slowly."""
        every = max(round(every_s / self.step_s), 1)
        n = self.time_s.size
        at = np.arange(0, n, every)
        return at if at[-1] == n - 1 else np.append(at, n - 1)

    def taxi_mps(self) -> float:
        """Slower over the ground is taxiing; slower still for who never flies as fast as an airplane (paragliders)."""
        speed = self.get("groundspeed_mps", "ias_mps", "cas_mps", "tas_mps")
        if speed is None:
            return TAXI_MPS
        held = least_around(speed, round(_HELD_S / self.step_s))
        return _SLOW_TAXI_MPS if float(np.nanpercentile(held, 99)) < _SLOW_CRAFT_MPS else TAXI_MPS

    def window(self, half_s: float) -> Window:
        """The sliding window of this half width, made once."""
        if half_s not in self.windows:
            spacing = next((other.spacing for other in self.windows.values()), None)
            self.windows[half_s] = Window(self.time_s, half_s, spacing)
        return self.windows[half_s]

    def get(self, *names: str) -> Array | None:
        """The first of these columns that is there."""
        return next((self.columns[n].values for n in names if n in self.columns), None)

    def measured(self, name: str) -> Array | None:
        """A column, if it came from the file."""
        column = self.columns.get(name)
        return column.values if column is not None and column.known == "measured" else None

    def error(self, name: str, otherwise: float) -> float:
        """One standard error of a column, or a stand-in."""
        column = self.columns.get(name)
        return otherwise if column is None or column.error is None else column.error

    def put(
        self,
        name: str,
        values: Array,
        error: float | None,
        note: str,
        known: Known = "derived",
        *,
        replace: bool = False,
    ) -> None:
        """Add a column that isn't there yet; one that is all unknown is not added."""
        if (name in self.columns and not replace) or not np.isfinite(values).any():
            return
        self.columns[name] = Column(values, known, error, note)
