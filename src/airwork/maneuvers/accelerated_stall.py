"""Accelerated stall: in a turn of about 45° of bank, back pressure to the stall above the 1 g stall speed, recovery.

In the data: much bank, the speed falling to the stall speed for the load, then the turn ends, the nose drops, speed is
regained. Recovered at the first sign, so the break may be small. Not it: a steep turn (speed held), a turning stall
(20° of bank).
Judged by the task `accelerated_stall` of the standard. Height lost is reported and never judged: no standard limits it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from airwork.maneuvers.handbook import handbook_ias_mps
from airwork.maneuvers.sheet import NO_AIRSPEED, NO_BANK, Sheet
from airwork.maneuvers.stall_tools import stall_numbers, stalls

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.view import View

KIND = "accelerated_stall"
TITLE = "Accelerated stall"


def propose(view: View) -> list[Episode]:
    """Every such stall."""
    return stalls(view, KIND)


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Entry speed against the maneuvering speed, bank, recovery and what it cost."""
    sheet = Sheet(episode, evidence)
    broke = episode.facts["break_s"]
    limit = handbook_ias_mps(evidence, "maneuvering")
    if not evidence.has_airspeed:
        sheet.cannot("entry_ias", NO_AIRSPEED)
    elif limit is None:
        sheet.cannot("entry_ias", "the maneuvering speed is not known; give the airplane")
    else:
        sheet.once("entry_ias", [evidence.mean(evidence.ias_mps, broke - 6.0, broke - 3.0) - limit])
    bank, criterion = evidence.bank_rad, sheet.task.criterion("bank")
    if bank is None or criterion is None or criterion.nominal is None:
        sheet.cannot("bank", NO_BANK)
    else:
        sheet.once("bank", [evidence.mean(abs(bank), broke - 3.0, broke) - criterion.nominal])
    sheet.floor_kept()
    stall_numbers(sheet, broke)
    return sheet.grade()
