"""What is said aloud: few things, the most urgent first, none twice within a minute, each can be silenced.

In a stall and its recovery, and below 500 ft, only what is urgent is said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

AGAIN_S = 60.0  # the same call not again before
LONGER_S = {"area": 300.0, "glide": 600.0, "floor": 120.0, "tank": 300.0}  # things that stay so for a while
APART_S = 8.0  # between any two that aren't urgent
OLD_S = 30.0  # a call that had to wait so long isn't said any more
URGENT = 0

# key -> (rank, what it is for); rank 0 is urgent and breaks the silence
CALLS: dict[str, tuple[int, str]] = {
    "speed": (URGENT, "margin to the stall under 5 kt, where no slow flight, stall or landing is in hand"),
    "fuel": (URGENT, "time to turn for home by fuel or daylight"),
    "data": (URGENT, "position, altitude or airspeed gone or back, absurd, or two sources that disagree"),
    "floor": (1, "below the floor, or within 300 ft above it and going down, from working above it on"),
    "area": (1, "outside the area, or a minute from its edge on this track"),
    "tank": (2, "change of tank due in two minutes, and due"),
    "home": (2, "ten and two minutes before the turn for home"),
    "mixture": (3, "leaned above the handbook's limit"),
    "glide": (3, "no landing place within glide for 20 s, while working in the area"),
    "graded": (4, "a maneuver has ended: held, or what was not"),
    "next": (5, "the next exercise of the lesson and the numbers it is flown by"),
}


@dataclass(frozen=True, slots=True)
class Call:
    """Something to say."""

    key: str
    text: str
    at_s: float

    @property
    def rank(self) -> int:
        """0 is urgent."""
        return CALLS[self.key][0]


@dataclass
class Calls:
    """Chooses what is said when. silenced : keys somebody turned off (an urgent one too: it is the crew's choice)."""

    silenced: set[str] = field(default_factory=set)
    said: list[Call] = field(default_factory=list)
    _last: dict[str, float] = field(default_factory=dict)
    _waiting: list[Call] = field(default_factory=list)
    _spoke_s: float = -math.inf

    def want(self, key: str, text: str, now_s: float) -> None:
        """Wish for a call; the newest of one key counts."""
        if key in self.silenced or key not in CALLS:
            return
        self._waiting = [w for w in self._waiting if w.key != key]
        self._waiting.append(Call(key, text, now_s))

    def next(self, now_s: float, *, quiet: bool = False) -> Call | None:
        """The one thing to say now, if any. quiet : only what is urgent."""
        self._waiting = [w for w in self._waiting if now_s - w.at_s <= OLD_S and w.key not in self.silenced]
        fit = [w for w in self._waiting if self._may(w, now_s, quiet=quiet)]
        if not fit:
            return None
        best = min(fit, key=lambda w: (w.rank, w.at_s))
        self._waiting.remove(best)
        self._last[_subject(best)] = self._spoke_s = now_s
        self.said.append(Call(best.key, best.text, now_s))
        return self.said[-1]

    def _may(self, call: Call, now_s: float, *, quiet: bool) -> bool:
        if now_s - self._last.get(_subject(call), -math.inf) < LONGER_S.get(call.key, AGAIN_S):
            return False
        if call.rank == URGENT:
            return True
        return not quiet and now_s - self._spoke_s >= APART_S


def _subject(call: Call) -> str:
    """What may not be repeated: grades and data differ by what they are about, the rest by the kind of call."""
    return f"{call.key} {call.text}" if call.key in {"graded", "data", "next"} else call.key
