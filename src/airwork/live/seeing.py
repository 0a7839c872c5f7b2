"""Maneuvers as they happen: the debrief, asked every few seconds about the last hour, knowing only what came so far.

A maneuver is in hand while what is seen reaches up to now; it has ended when the same one was seen at two looks with
its end a while ago. What comes later may show it otherwise (a turn was the first of a clearing turn; the wind is known
better): the list is put right as long as the maneuver lies within the hour looked back on.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from airwork.airplane import Airplane
from airwork.debrief import Graded, LessonPlan, debrief
from airwork.debrief.weighing import is_practiced
from airwork.errors import AirworkError
from airwork.maneuvers import room
from airwork.recording.clean import clean
from airwork.recording.derive import derive
from airwork.recording.flight import Flight
from airwork.recording.recorded import Recorded
from airwork.standards import Standard

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


WINDOW_S = 3600.0  # looked back on: a lesson, mostly; what is older stands as it was seen
STEP_S = 0.25  # rows closer than this add nothing a room can see
EVERY_S = 5.0
HAND_S = 9.0  # an end this near to now is no end yet
SETTLED_S = 15.0  # an end this old, seen so twice, stands
SAME_S = 12.0  # starts this near are one maneuver's
LEAST_S = 30.0  # nothing is looked at before
KEPT_S = 30.0  # an exercise begun stays in hand for so long where a look sees it, the next doesn't, and no end either
EDGE_S = 45.0  # what begins so near to the edge of what is looked back on stays as it was


@dataclass(frozen=True, slots=True)
class Seen:
    """A maneuver that has ended. known_s : when that was known, on the flight's clock; delay is known_s − end_s."""

    graded: Graded
    start_s: float
    end_s: float
    known_s: float

    @property
    def kind(self) -> str:
        return self.graded.episode.kind


@dataclass(frozen=True, slots=True)
class InHand:
    """What seems to be flown now. sure : the rooms' own confidence; seen_s : when last, on the flight's clock."""

    kind: str
    sure: float
    start_s: float
    seen_s: float

    @property
    def title(self) -> str:
        return room(self.kind).title


@dataclass
class Seeing:
    """The rows of the last minutes and what was seen in them. Times in seconds since 1970 UTC."""

    standard: Standard
    airplane: Airplane | None = None
    mass_kg: float | None = None
    plan: LessonPlan = field(default_factory=LessonPlan)
    ended: list[Seen] = field(default_factory=list)
    in_hand: InHand | None = None
    flight: Flight | None = None  # of the window, as last looked at
    rows: Rows = field(default_factory=lambda: Rows(WINDOW_S, STEP_S))
    _before: list[tuple[str, float, float]] = field(default_factory=list)

    def take(self, utc_s: float, values: Mapping[str, float]) -> None:
        self.rows.add(utc_s, values)

    def look(self, snapshot: tuple[Array, dict[str, Array]] | None = None, *, over: bool = False) -> list[Seen]:
        """Debrief what came. Returns what has ended since; `over`: nothing more comes, so everything has ended.

        snapshot : of the rows, for a look on another thread than the one that takes.
        """
        times, columns = self.rows.snapshot() if snapshot is None else snapshot
        if times.size < 8 or times[-1] - times[0] < LEAST_S:
            return []
        flight = flight_of(times, columns, self.airplane)
        if flight is None:
            return []
        found = debrief(
            flight, standard=self.standard, airplane=self.airplane, briefing=self.plan, mass_kg=self.mass_kg
        ).episodes
        self.flight, zero, now = flight, float(times[0]), float(times[-1])
        spans = [(g.episode.kind, zero + g.episode.start_s, zero + g.episode.end_s) for g in found]
        frozen = [one for one in self.ended if one.start_s < zero + EDGE_S and zero > self.rows.begun_s + 1.0]
        since = frozen[-1].end_s if frozen else -math.inf
        standing, new = [], []
        for graded, (kind, start, end) in zip(found, spans, strict=True):
            stands = over or (now - end >= SETTLED_S and self._was_seen(kind, start, end))
            if not stands or 0.5 * (start + end) < since:
                continue
            known = self._known(kind, start, end)
            seen = Seen(graded, start, end, now if known is None else known.known_s)
            standing.append(seen)
            if known is None:
                new.append(seen)
        self._before, self.in_hand = spans, self._now(found, spans, now)
        self.ended = [*frozen, *standing]
        return new

    def _was_seen(self, kind: str, start: float, end: float) -> bool:
        return any(k == kind and abs(s - start) < SAME_S and abs(e - end) < 3.0 for k, s, e in self._before)

    def _known(self, kind: str, start: float, end: float) -> Seen | None:
        """The same as it stood at the last look."""
        for one in self.ended:
            common = min(end, one.end_s) - max(start, one.start_s)
            if one.kind == kind and common > 0.5 * max(end - start, one.end_s - one.start_s):
                return one
        return None

    def _now(self, found: Sequence[Graded], spans: Sequence[tuple[str, float, float]], now: float) -> InHand | None:
        near = [(g.episode.score, *span) for g, span in zip(found, spans, strict=True) if now - span[2] < HAND_S]
        if near:
            sure, kind, start, _ = max(near, key=lambda one: (one[0], one[2]))
            if is_practiced(room(kind)) or not self._goes_on(spans, now):
                return InHand(kind, sure, start, now)
        return self.in_hand if self._goes_on(spans, now) else None

    def _goes_on(self, spans: Sequence[tuple[str, float, float]], now: float) -> bool:
        """The exercise in hand at the last look is not seen now, and its end neither: half of one is seen badly."""
        hand = self.in_hand
        if hand is None or not is_practiced(room(hand.kind)) or now - hand.seen_s > KEPT_S:
            return False
        return not any(k == hand.kind and abs(s - hand.start_s) < SAME_S for k, s, _ in spans)


def flight_of(times: Array, columns: Mapping[str, Array], airplane: Airplane | None) -> Flight | None:
    """The rows as a clean Flight, by the same steps as a recording; None when they can't be one."""
    recorded = Recorded("live", times, "utc", dict(columns))
    try:
        with np.errstate(all="ignore"):
            clean(recorded, "live")
            return derive(recorded, airplane=airplane)
    except (AirworkError, ValueError, IndexError):
        return None
