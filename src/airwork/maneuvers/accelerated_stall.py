"""Accelerated stall: in a turn of about 45° of bank, back pressure to the stall above the 1 g stall speed, recovery.

In the data: much bank, the speed falling to the stall speed for the load, then the turn ends, the nose drops, speed is
regained. Recovered at the first sign, so the break may be small. Not it: a steep turn (speed held), a turning stall
(20° of bank).
Judged by the task `accelerated_stall` of the standard. Height lost is reported and never judged: no standard limits it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from airwork.maneuvers.stall_tools import stalls

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
    from airwork.maneuvers.view import View

KIND = "accelerated_stall"
TITLE = "Accelerated stall"


def propose(view: View) -> list[Episode]:
    """Every such stall."""
    return stalls(view, KIND)
