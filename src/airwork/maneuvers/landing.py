"""Landing: from 200 ft above the runway over the touchdown to the end of the roll.

In the data: the wheels meet the ground and stay there. Not it: a low pass or a go-around (no contact), a touch-and-go.
Judged by the task `landing`: approach speed; touchdown point where the chosen point is known.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from airwork.maneuvers.contacts import final_from, rolled_out
from airwork.maneuvers.propose_tools import episode
from airwork.maneuvers.runway_grade import approach_and_touchdown
from airwork.maneuvers.sheet import Sheet

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.view import View

KIND = "landing"
TITLE = "Landing"


def propose(view: View) -> list[Episode]:
    """Every landing to a full stop or to taxiing."""
    out = []
    for contact in view.contacts:
        if contact.kind != "landing":
            continue
        start, end = final_from(view, contact.index), rolled_out(view, contact.index)
        out.append(episode(KIND, view, start, end, 0.95, evidence=("the wheels met the ground",),
                           phases=(("final", start, contact.index), ("roll", contact.index, end)),
                           facts={"touch_s": float(view.time_s[contact.index])}))  # fmt: skip
    return out


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Approach speed and stability, sink and speed at the touchdown."""
    sheet = Sheet(episode, evidence)
    approach_and_touchdown(sheet, episode.facts["touch_s"])
    return sheet.grade()
