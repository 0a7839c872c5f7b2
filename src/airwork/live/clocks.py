"""One time for all sources: the first that dates its samples leads, the others follow by when they are received."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from airwork.live.reading import Sample

UTC_FROM_S = 5e8  # a time above is since 1970 (1985 and later), below since some start
RESTART_S = 5.0  # a step back so far is a late line, and, where three follow one another, a new start
BELIEVED = 3


@dataclass
class Clocks:
    """Seconds since 1970 UTC of every sample. start_utc_s : the receiver's own clock at received_s 0."""

    start_utc_s: float
    leader: str = ""
    _ahead_s: float = math.nan  # leader's time less reception
    _starts_s: dict[str, float] = field(default_factory=dict)
    _last_s: dict[str, float] = field(default_factory=dict)
    _back: dict[str, int] = field(default_factory=dict)

    def utc_s(self, sample: Sample) -> float:
        """When a sample was taken. [s]"""
        if math.isfinite(sample.time_s) and self.leader in {"", sample.source}:
            dated = self._dated(sample)
            if not self._back.get(sample.source):
                self.leader, self._ahead_s = sample.source, dated - sample.received_s
            return dated
        return self.now_s(sample.received_s)

    def now_s(self, received_s: float) -> float:
        """The flight's time at a moment of reception. [s]"""
        ahead = self._ahead_s if math.isfinite(self._ahead_s) else self.start_utc_s
        return received_s + ahead

    def _dated(self, sample: Sample) -> float:
        time, source = sample.time_s, sample.source
        if time >= UTC_FROM_S:
            return time
        start, last = self._starts_s.get(source), self._last_s.get(source, -math.inf)
        back = self._back.get(source, 0) + 1 if time < last - RESTART_S else 0
        self._back[source] = back
        if start is None or back >= BELIEVED:
            start = self._starts_s[source] = self.now_s(sample.received_s) - time
            back = 0
        if not back:
            self._last_s[source] = time
        return start + time
