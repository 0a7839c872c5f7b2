"""Take-off: from the start of the run to 300 ft above the runway, straight ahead at the climb speed.

In the data: the wheels leave the ground for a flight. The run begins where the speed began to rise.
Judged by the task `takeoff`: climb speed +10/−5 kt.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.contacts import departed, roll_from
from airwork.maneuvers.propose_tools import episode
from airwork.maneuvers.runway_grade import climb_speed
from airwork.maneuvers.sheet import Sheet
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
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


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Climb speed after the lift-off, length of the run."""
    sheet = Sheet(episode, evidence)
    off, flight = episode.facts["off_s"], evidence.flight
    climb_speed(sheet, off)
    sheet.number("lift_off_ias_kt", to_unit(evidence.mean(evidence.ias_mps, off - 0.5, off + 0.5), "kt"))
    east, north = flight.get("east_m"), flight.get("north_m")
    if east is not None and north is not None:
        a, b = flight.index_at(episode.start_s), flight.index_at(off)
        sheet.number("ground_roll_ft", to_unit(float(np.hypot(east[b] - east[a], north[b] - north[a])), "ft"), 0)
    return sheet.grade()
