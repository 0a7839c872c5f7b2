"""Forward slip: one wing low, opposite rudder, straight path over the ground, to lose height without gaining speed.

In the data: bank without the turn that belongs to it, held for some seconds while sinking. Needs a recorded bank; from
position alone it can't be seen. Not it: the wing-low correction of a crosswind landing (small, near the ground).
Judged by the task `forward_slip`: touchdown point; no airspeed number is printed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.propose_tools import LEAST_SCORE, episode, side
from airwork.maneuvers.signal import bridged, ramp, runs, smooth
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
    from airwork.maneuvers.view import View

KIND = "forward_slip"
TITLE = "Forward slip"

LEANING_RAD = np.radians(5.0)
LITTLE_RAD, SURE_RAD = np.radians(6.0), np.radians(10.0)
SHORT_S, SURE_S = 4.0, 8.0
SINK_MPS = 1.5
EDGE_S = 2.0  # slipping in and out


def propose(view: View) -> list[Episode]:
    """Every stretch of bank without its turn while sinking."""
    if not view.bank_measured:
        return []
    lean = smooth(view.bank_rad - view.turn_bank_rad, view.samples(2.0))
    out = []
    for sign in (1.0, -1.0):
        slipping = (sign * lean > LEANING_RAD) & (view.climb_mps < -0.5) & view.airborne
        for first, end in runs(bridged(slipping, view.samples(2.0))):
            part = slice(first, end)
            size = float(np.percentile(sign * lean[part], 75))
            sink = -float(view.climb_mps[part].mean())
            turning = float(np.degrees(abs(view.turn_bank_rad[part].mean())))
            score = (
                ramp(size, LITTLE_RAD, SURE_RAD) * ramp((end - first) * 0.25, SHORT_S, SURE_S)
                * ramp(sink, 0.8, 2.0 * SINK_MPS) * ramp(turning, 14.0, 6.0)
            )  # fmt: skip
            if score < LEAST_SCORE:
                continue
            a, b = max(first - view.samples(EDGE_S / 2), 0), min(end - 1 + view.samples(EDGE_S / 2), view.n - 1)
            evidence = (
                f"{np.degrees(size):.0f}° of bank to the {side(sign)} without its turn",
                f"sinking {to_unit(sink, 'fpm'):.0f} fpm",
            )
            out.append(episode(KIND, view, a, b, score, evidence=evidence, facts={"sign": sign}))
    return out
