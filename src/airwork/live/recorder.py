"""The recording of a followed flight: one row a moment, appended, on the disk about every second.

Killed at any moment it is readable but for what came in the last second; a torn last line is left out by the reader.
The columns are those of `COLUMNS`, under names the recordings' own reader understands.
"""

from __future__ import annotations

import math
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO

from airwork.recording.quantities import QUANTITIES
from airwork.recording.unit_words import named
from airwork.units import DEG_RAD

SYNC_S = 1.0
APART_S = 0.02  # what comes closer together is one moment
CODES = ("tank", "flap_notch", "gear_down", "stall_warning", "on_ground")


def _columns() -> dict[str, tuple[str, float, float, int]]:
    """House column -> (name in the file, factor and offset to SI, digits)."""
    out: dict[str, tuple[str, float, float, int]] = {}
    for quantity in QUANTITIES.values():
        if not quantity.house or quantity.house in out:
            continue
        words = quantity.name.replace("_", " ")
        unit = named(quantity.units[0]) if quantity.units else None
        if quantity.house in CODES or unit is None:
            out[quantity.house] = (words, 1.0, 0.0, 0)
            continue
        factor = unit.factor / DEG_RAD if quantity.house == "flap_deg" else unit.factor
        digits = 7 if quantity.house in {"latitude_rad", "longitude_rad"} else 3
        out[quantity.house] = (f"{words} ({quantity.units[0]})", factor, unit.offset, digits)
    return out


COLUMNS = _columns()


@dataclass
class Recorder:
    """Writes one recording. rows : written so far. Times must come in seconds since 1970 UTC."""

    path: Path
    sync_s: float = SYNC_S  # longer for a replay as fast as can be: its seconds are not the disk's
    rows: int = 0
    late: int = 0  # samples older than the row being written: doubled or out of order
    _out: BinaryIO | None = None
    _row: dict[str, float] = field(default_factory=dict)
    _row_s: float = math.nan
    _synced_s: float = -math.inf

    def take(self, utc_s: float, values: Mapping[str, float], now_s: float) -> None:
        """Add what was believed of a sample; rows are written when the next moment begins."""
        if not values:
            return
        if math.isfinite(self._row_s) and utc_s < self._row_s - APART_S:
            self.late += 1
            return
        if math.isfinite(self._row_s) and utc_s > self._row_s + APART_S:
            self._write()
        if not self._row:
            self._row_s = utc_s
        self._row.update(values)
        self.sync_if_due(now_s)

    def sync_if_due(self, now_s: float) -> None:
        """Everything onto the disk, about every second."""
        if now_s - self._synced_s >= self.sync_s:
            self.sync(now_s)

    def sync(self, now_s: float) -> None:
        """Everything written so far onto the disk."""
        if self._out is not None:
            self._out.flush()
            os.fsync(self._out.fileno())
        self._synced_s = now_s

    def close(self) -> None:
        """The last row, and the end."""
        self._write()
        if self._out is not None:
            self.sync(self._synced_s)
            self._out.close()
            self._out = None

    def _write(self) -> None:
        if not self._row:
            return
        if self._out is None:
            self._out = self.path.open("xb")
            head = ["UTC time", *(name for name, *_ in COLUMNS.values())]
            self._out.write((",".join(head) + "\n").encode())
        when = datetime.fromtimestamp(self._row_s, UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-3] + "Z"
        cells = [when]
        for house, (_, factor, offset, digits) in COLUMNS.items():
            value = self._row.get(house)
            cells.append("" if value is None else f"{(value - offset) / factor:.{digits}f}")
        self._out.write((",".join(cells) + "\n").encode())
        self.rows += 1
        self._row = {}
