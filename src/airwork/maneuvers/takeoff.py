"""Take-off: from the start of the run to 300 ft above the runway, straight ahead at the climb speed.

In the data: the wheels leave the ground for a flight. The run begins where the speed began to rise.
Judged by the task `takeoff`: climb speed +10/−5 kt.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from airwork.maneuvers.contacts import departed, roll_from
from airwork.maneuvers.propose_tools import episode

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
    from airwork.maneuvers.view import View

KIND = "takeoff"
TITLE = "Take-off"


def propose(view: View) -> list[Episode]:
    """Every take-off from standing or taxiing."""
    out = []
    for contact in view.contacts:
        if contact.kind != "takeoff":
            continue
        start, end = roll_from(view, contact.off), departed(view, contact.off)
        out.append(episode(KIND, view, start, end, 0.95, evidence=("the wheels left the ground",),
                           phases=(("run", start, contact.off), ("climb", contact.off, end)),
                           facts={"off_s": float(view.time_s[contact.off])}))  # fmt: skip
    return out
