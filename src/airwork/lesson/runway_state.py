"""The runway's state as a report gives it: deposit, extent, depth, braking. ICAO Annex 3, from memory."""

from __future__ import annotations

import re
from dataclasses import dataclass

from airwork.lesson.places import Runway, tidy_runway_name

_STATE = re.compile(r"\bR(\d\d[LCR]?)/([\d/])([\d/])([\d/]{2})([\d/]{2})(?= |$)")
_DEPOSIT = {
    "1": "damp", "2": "wet", "3": "rime or frost", "4": "dry snow", "5": "wet snow", "6": "slush", "7": "ice",
    "8": "rolled snow", "9": "frozen ruts",
}  # fmt: skip
_EXTENT = {"1": "a tenth", "2": "up to a quarter", "5": "up to half", "9": "more than half"}
_ALL = {"88", "99"}  # all runways; as in the last report
_POOR_FRICTION = 25  # a coefficient in hundredths, poor up to it
_NEITHER = 91  # from here on a code of braking action: 91 poor, 95 good
_DAMP, _WET, _NO_GRIP = "1", "2", {"7", "9"}


@dataclass(frozen=True, slots=True)
class State:
    """What lies on a runway. runway : as in the group; words : for people, with it as written; poor : braking is."""

    runway: str
    words: str
    deposit: str  # the group's digit
    poor: bool

    @property
    def wet(self) -> bool:
        return self.deposit == _WET

    @property
    def frozen(self) -> bool:
        """Snow, slush, ice or frost: handbooks' distances are for none of it."""
        return self.deposit not in {_DAMP, _WET}

    def lies_on(self, runway: Runway | None) -> bool:
        """It speaks of this runway, or of all; of any where none is chosen."""
        return runway is None or self.runway in _ALL or tidy_runway_name(runway.name) == tidy_runway_name(self.runway)

    @property
    def iced(self) -> bool:
        """Ice or frozen ruts, which no correction covers."""
        return self.deposit in _NO_GRIP


def runway_states(text: str) -> list[State]:
    """What the main part of a report says lies on its runways.

    >>> [s.words for s in runway_states("9999 R88/290595 14/12 Q1009")]
    ['all runways: wet, on more than half of it, 5 mm deep (R88/290595)']
    """
    out = []
    for found in _STATE.finditer(text):
        name, deposit, extent, depth, braking = found.groups()
        if deposit not in _DEPOSIT:
            continue
        parts = [_DEPOSIT[deposit]]
        parts += [f"on {_EXTENT[extent]} of it"] if extent in _EXTENT else []
        parts += [f"{int(depth)} mm deep"] if depth.isdigit() and 0 < int(depth) <= 90 else []
        poor = False
        if braking.isdigit() and int(braking) < _NEITHER:
            poor = int(braking) <= _POOR_FRICTION
            parts = [*parts, f"friction 0.{braking}{', braking poor' if poor else ''}"]
        elif braking in {"91", "92"}:
            parts, poor = [*parts, "braking poor"], braking == "91"
        whose = "all runways" if name in _ALL else f"runway {name}"
        words = f"{whose}: {', '.join(parts)} ({found[0]})"
        out.append(State(name, words, deposit, poor))
    return out
