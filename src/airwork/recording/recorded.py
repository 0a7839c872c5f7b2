"""What a reader hands to the cleaner: house quantities in SI on the file's own rows, before anything is mended."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from airwork.recording.flight import Mend

Array = NDArray[np.float64]
FLYING_MPS = 18.0  # slower an airplane is on the ground: 35 kt
FROM_NOUGHT = "told by a height of 0"  # note of on_ground
FROM_START = "none, or less, where it flies on: counted from elsewhere than the ground"  # note of agl_m
Clock = Literal["utc", "time of day", "elapsed"]


@dataclass(slots=True)
class Recorded:
    """One file as read. Mutable: the cleaner works on it in place and then lets it go.

    time_s : seconds since 1970-01-01 UTC, since some midnight, or since some start, as `clock` says; NaN unreadable.
    columns : house name → SI values, NaN where empty.
    extra : helping quantities (names of `QUANTITIES`) that become house columns only after a look at the data.
    notes : house name → remark for the user.
    """

    format: str
    time_s: Array
    clock: Clock
    columns: dict[str, Array]
    extra: dict[str, Array] = field(default_factory=dict)
    notes: dict[str, str] = field(default_factory=dict)
    mends: list[Mend] = field(default_factory=list)
    facts: dict[str, Any] = field(default_factory=dict)

    def first(self, *names: str) -> Array | None:
        """The first of some columns that is there."""
        return next((self.columns[n] for n in names if n in self.columns), None)

    def say(self, what: str, rows: int | NDArray[Any], column: str = "", *, count: int = 0) -> None:
        """Note what was found: in how many rows, or in which of them (by a mask or their numbers; in none nothing)."""
        if isinstance(rows, int):
            self.mends.append(Mend(what, rows, column=column))
            return
        at = np.flatnonzero(rows) if rows.dtype == bool else np.minimum(rows, self.time_s.size - 1)
        if at.size:
            first, last = (float(self.time_s[k] - np.min(self.time_s)) for k in (at[0], at[-1]))
            self.mends.append(Mend(what, count or int(at.size), first, last, column))

    def keep(self, rows: NDArray[np.bool_] | NDArray[np.intp]) -> None:
        """Keep some rows, in the order given."""
        self.time_s = self.time_s[rows]
        self.columns = {name: values[rows] for name, values in self.columns.items()}
        self.extra = {name: values[rows] for name, values in self.extra.items()}
