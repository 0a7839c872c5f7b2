"""Keeps a followed flight going: takes what the sources deliver, ticks once a second, looks when there is time."""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from airwork.live.follower import Follower, Screen
from airwork.live.reading import LineReader, Sample
from airwork.live.seeing import EVERY_S, Seen

TICK_S = 1.0
SHARE = 25.0  # a look may take this part of the time: it waits so many times its own length for the next
MOST_WAITING = 20_000  # lines; a flood beyond is let go and counted
READINGS_S = 0.05  # readings go to the page at most so often

Command = Callable[[Follower, float], None]


@dataclass
class Running:
    """The loop around a follower. `screen` and `readings` may be read from any thread; change via `ask`.

    speed : of the clock, for a replay; everything inside is told the flight's own seconds.
    """

    follower: Follower
    speed: float = 1.0
    stepped: bool = False  # the samples' own time is the clock: a replay as fast as it can be taken
    screen: Screen | None = None
    readings: dict[str, Any] = field(default_factory=dict)
    dropped: int = 0
    changed: threading.Condition = field(default_factory=threading.Condition)
    version: int = 0
    ticks: int = 0
    finished: bool = False
    _lines: queue.Queue[Any] = field(default_factory=lambda: queue.Queue(MOST_WAITING))
    _readers: dict[str, LineReader] = field(default_factory=dict)
    _over: threading.Event = field(default_factory=threading.Event)
    _look: Future[tuple[list[Seen], float]] | None = None
    _next_look_s: float = 0.0
    _next_tick_s: float = 0.0
    _now_s: float = 0.0
    _told_s: float = 0.0

    def __post_init__(self) -> None:
        """The clock starts."""
        self._zero = time.monotonic()
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="look")

    def now_s(self) -> float:
        """The receiver's clock. [s]"""
        return self._now_s if self.stepped else (time.monotonic() - self._zero) * self.speed

    # --- from other threads ---

    def deliver(self, source: str, line: bytes) -> None:
        self._put((source, line, self.now_s()))

    def sample(self, sample: Sample) -> None:
        """A sample that needs no reading (a replay's): waits rather than being let go."""
        self._lines.put(sample)

    def ask(self, command: Command) -> None:
        """Something a person asks for, done between two samples."""
        self._put(command)

    def end(self) -> None:
        """Nothing more comes: take what waits, and finish."""
        self._over.set()

    def _put(self, thing: Any) -> None:
        try:
            self._lines.put_nowait(thing)
        except queue.Full:
            self.dropped += 1

    # --- the loop ---

    def run(self) -> None:
        """Until the end is asked for and everything is taken."""
        try:
            while not (self._over.is_set() and self._lines.empty()):
                wait = 0.0 if self.stepped else max(min(self._next_tick_s - self.now_s(), TICK_S) / self.speed, 0.0)
                with suppress(queue.Empty):
                    self._one(self._lines.get(timeout=wait + 0.001))
                self._clockwork()
        finally:
            self._finish_look(wait=True)
            self._looked(lambda: self.follower.seeing.look(over=True))
            self._tick(self.now_s())
            self.follower.close()
            self._pool.shutdown()
            self.finished = True
            self._wake()

    def _one(self, thing: Any) -> None:
        if callable(thing):
            thing(self.follower, self.now_s())
            return
        if isinstance(thing, Sample):
            self._now_s = max(self._now_s, thing.received_s)
            self.follower.take(
                thing if self.stepped else Sample(thing.source, self.now_s(), thing.time_s, thing.values)
            )
            self._tell()
            return
        source, line, received_s = thing
        reader = self._readers.setdefault(source, LineReader(source))
        for sample in reader.read(line, received_s):
            self.follower.take(sample)
            self._tell(sample)

    def _clockwork(self) -> None:
        now = self.now_s()
        if now >= self._next_tick_s:
            self._next_tick_s = now + TICK_S
            self._tick(now)
        if self._look is not None and self._look.done():
            self._finish_look()
        if self._look is None and now >= self._next_look_s:
            snapshot = self.follower.seeing.rows.snapshot()
            if self.stepped:
                self._looked(lambda: self.follower.seeing.look(snapshot))
                self._next_look_s = now + EVERY_S
            else:
                self._look = self._pool.submit(self._timed_look, snapshot)

    def _timed_look(self, snapshot: Any) -> tuple[list[Seen], float]:
        began = time.thread_time()
        return self.follower.seeing.look(snapshot), time.thread_time() - began

    def _finish_look(self, *, wait: bool = False) -> None:
        if self._look is None or not (wait or self._look.done()):
            return
        look, self._look = self._look, None
        took_s = 1.0
        try:
            new, took_s = look.result()
            self.follower.looked(new, self.now_s())
        except Exception as problem:  # whatever a room trips over in flight, the recording goes on
            self.follower.fault("recognition", problem, self.now_s())
        self._next_look_s = self.now_s() + max(EVERY_S, SHARE * took_s * self.speed)

    def _looked(self, look: Callable[[], list[Seen]]) -> None:
        try:
            self.follower.looked(look(), self.now_s())
        except Exception as problem:
            self.follower.fault("recognition", problem, self.now_s())

    def _tick(self, now_s: float) -> None:
        try:
            self._publish(self.follower.tick(now_s))
        except Exception as problem:
            self.follower.fault("the card", problem, now_s)

    def _tell(self, sample: Sample | None = None) -> None:
        """The newest readings to whoever waits."""
        now = self.now_s()
        if self.stepped or now - self._told_s < READINGS_S * self.speed:
            return
        self._told_s = now
        self.readings = self.follower.readings(now)
        if sample is not None:
            self.readings["sent"] = sample.time_s
        self._wake()

    def _publish(self, screen: Screen) -> None:
        self.screen, self.ticks = screen, self.ticks + 1
        self._wake()

    def _wake(self) -> None:
        with self.changed:
            self.version += 1
            self.changed.notify_all()

    def bad_lines(self) -> dict[str, int]:
        """Lines by source that could not be read."""
        return {name: reader.bad for name, reader in self._readers.items() if reader.bad}
