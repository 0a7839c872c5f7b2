"""What many people ask alike is worked out once: fifty who open the same page wait for one answer, not for fifty."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from threading import Lock
from typing import Any, Generic, TypeVar

T = TypeVar("T")


class Kept(Generic[T]):
    """The newest answers, each with the facts it came from. Safe for several threads.

    Facts are compared, not hashed: a lesson or an airplane read anew from an unchanged file is the same.
    """

    def __init__(self, most: int) -> None:
        self._kept: deque[tuple[tuple[Any, ...], T]] = deque(maxlen=most)
        self._lock, self._making = Lock(), Lock()

    def of(self, facts: tuple[Any, ...], make: Callable[[], T]) -> T:
        """The answer to these facts. One is made at a time: it takes a whole core, and the others may want the same."""
        found = self._find(facts)
        if found is not None:
            return found[1]
        with self._making:
            found = self._find(facts)
            if found is not None:
                return found[1]
            made = make()
            with self._lock:
                self._kept.append((facts, made))
        return made

    def forget(self) -> None:
        """Nothing is kept: an answer was not a whole one."""
        with self._lock:
            self._kept.clear()

    def _find(self, facts: tuple[Any, ...]) -> tuple[tuple[Any, ...], T] | None:
        with self._lock:
            there = list(self._kept)
        return next((one for one in there if one[0] == facts), None)
