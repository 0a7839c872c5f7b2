"""Tank change: the fuel selector moved to another tank.

In the data: the recorded selector changes; without it, one tank's gauge stops falling and the other's begins. The
episode is five seconds to each side. Near the ground or inside a maneuver it is flown at a bad moment, and said.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.propose_tools import episode
from airwork.maneuvers.sheet import Sheet

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.view import View

KIND = "tank_change"
TITLE = "Tank change"

NAMES = {0: "off", 1: "left", 2: "right", 3: "both"}
HALF_S = 5.0
HELD_S = 8.0  # passing over a position on the way is no change


def propose(view: View) -> list[Episode]:
    """Every change of the recorded selector while the flight goes on."""
    tank = view.flight.get("tank")
    if tank is None:
        return []
    good = np.isfinite(tank)
    code, time = np.round(tank[good]), view.flight.time_s[good]
    out: list[Episode] = []
    held = code[0] if code.size else 0.0
    for k in np.flatnonzero(code[1:] != code[:-1]) + 1:
        rest = code[k : np.searchsorted(time, time[k] + HELD_S)]
        if code[k] == held or rest.size == 0 or (rest != code[k]).any():
            continue
        index = view.at(float(time[k]))
        if view.airborne[index]:
            before, after = (NAMES.get(int(x), f"{x:g}") for x in (held, code[k]))
            half = view.samples(HALF_S)
            facts = {"changed_s": float(time[k]), "from": float(held), "to": float(code[k])}
            made = episode(KIND, view, index - half, index + half, 1.0,
                           evidence=(f"selector from {before} to {after}",), facts=facts)  # fmt: skip
            out.append(made)
        held = code[k]
    return out


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Measured, not judged: standards print no numbers for it."""
    return Sheet(episode, evidence).grade()
