"""What a briefing must know of a kind of exercise, declared by its room: people, category, words said aloud."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class BriefFacts:
    """Facts of a kind of exercise for the verdict and the briefing. Who may be aboard is our own caution.

    passengers : "welcome"; "think" is better without one; "none" is flown with the crew alone.
    alone : what a student does alone "as trained"; "ask" wants the endorsement to name it; "never" needs an
        instructor; "view" needs somebody who looks out.
    handbook : the name of the handbook's entry for it in `[[maneuvers]]`, where it is not the kind's own.
    aloud : what is said aloud before it, in the order it is said.
    recovery : the words of its recovery, for the card.
    """

    passengers: Literal["welcome", "think", "none"] = "welcome"
    alone: Literal["as trained", "ask", "never", "view"] = "as trained"
    handbook: str = ""
    aloud: tuple[str, ...] = ()
    recovery: str = ""


NO_FACTS = BriefFacts()
SPIN = (
    "spin recovery: throttle idle, ailerons neutral, full rudder against the turn, elevator forward; "
    "rudder neutral when it stops, ease out"
)  # the order most handbooks have ([AFH] ch. 5); the airplane's own goes first
STALL_RECOVERY = "nose down first · wings level · full power · flaps in steps · climb"
SLOW_RECOVERY = "nose down a little · full power · flaps up in steps"
ALONG_GROUND = "low: where is the wind, where the field to land in, where the wires"
