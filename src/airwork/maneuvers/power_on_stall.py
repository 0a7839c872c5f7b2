"""Power-on stall: slowed to the lift-off speed, much power, the nose raised high until the wing stalls, then recovered.

In the data: a climb that gets slower and slower with the energy held or rising (engine at work), then climb turns to
sink and the nose drops. From the slowing of the entry (or the raising of the nose) to level or climbing flight at a
safe speed. Not it: a zoom (speed turned into height at once; aerobatics), a chandelle (turns 180°, no break).
Judged by the task `power_on_stall` of the standard. Height lost is reported and never judged: no standard limits it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from airwork.maneuvers.stall_tools import grade_stall, stalls

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.view import View

KIND = "power_on_stall"
TITLE = "Power-on stall"


def propose(view: View) -> list[Episode]:
    """Every such stall."""
    return stalls(view, KIND)


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Entry, recovery and what it cost; height lost is reported, not judged."""
    return grade_stall(episode, evidence)
