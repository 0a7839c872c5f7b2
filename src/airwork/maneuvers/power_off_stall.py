"""Power-off stall: from a stabilized descent, power idle, the nose raised until the wing stalls, then recovered.

In the data: the speed falls to the stall speed while the energy falls (engine idle), then a sink, the nose drops, speed
and height are regained. From the slowing of the entry to level or climbing flight at a safe speed. A mushing stall
without a clear break counts when the sink and the recovery show. Not it: the flare (near the ground), slow flight
(held), the slow top of a lazy eight (no break).
Judged by the task `power_off_stall` of the standard. Height lost is reported and never judged: no standard limits it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from airwork.maneuvers.stall_tools import grade_stall, stalls

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.view import View

KIND = "power_off_stall"
TITLE = "Power-off stall"


def propose(view: View) -> list[Episode]:
    """Every such stall."""
    return stalls(view, KIND)


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Entry, recovery and what it cost; height lost is reported, not judged."""
    return grade_stall(episode, evidence)
