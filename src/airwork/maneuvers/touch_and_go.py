"""Touch-and-go: from 200 ft above the runway over the touchdown and the new take-off to 300 ft.

In the data: the wheels meet the ground for some seconds, the speed stays well above taxiing, and it flies again.
Judged by the task `touch_and_go`: approach speed; touchdown point where the chosen point is known.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from airwork.maneuvers.contacts import departed, final_from
from airwork.maneuvers.propose_tools import episode
from airwork.maneuvers.runway_grade import approach_and_touchdown
from airwork.maneuvers.sheet import Sheet

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.view import View

KIND = "touch_and_go"
TITLE = "Touch-and-go"


def propose(view: View) -> list[Episode]:
    """Every touch-and-go."""
    out = []
    for contact in view.contacts:
        if contact.kind != "touch_and_go":
            continue
        start, end = final_from(view, contact.index), departed(view, contact.off)
        out.append(episode(KIND, view, start, end, 0.95, evidence=("touched the ground and flew on",),
                           phases=(("final", start, contact.index), ("roll", contact.index, contact.off),
                                   ("climb", contact.off, end)),
                           facts={"touch_s": float(view.time_s[contact.index]),
                                  "off_s": float(view.time_s[contact.off])}))  # fmt: skip
    return out


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Approach speed and stability, sink and speed at the touchdown."""
    sheet = Sheet(episode, evidence)
    approach_and_touchdown(sheet, episode.facts["touch_s"])
    return sheet.grade()
