"""What a briefing must know of a kind of exercise, declared by its room: power, people, category, words said aloud."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class BriefFacts:
    """Facts of a kind of exercise for the verdict and the briefing.

    at_idle : the throttle comes back to idle in it: carburetor heat before.
    passengers : "welcome"; "think" is better without one; "none" is flown with the crew alone (our own caution).
    alone : what a student does alone "as trained"; "ask" wants the endorsement to name it; "never" needs an
        instructor; "view" needs somebody who looks out.
    handbook : the name of the handbook's entry for it in `[[maneuvers]]`, where it is not the kind's own.
    aloud : what is said aloud before it, in the order it is said.
    recovery : the words of its recovery, for the card.
    """

    at_idle: bool = False
    passengers: Literal["welcome", "think", "none"] = "welcome"
    alone: Literal["as trained", "ask", "never", "view"] = "as trained"
    handbook: str = ""
    aloud: tuple[str, ...] = ()
    recovery: str = ""
