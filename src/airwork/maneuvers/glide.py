"""Glide: engine idle at the best glide speed, as after an engine failure; usually ended by power or a landing.

In the data: a steady sink at 1.2 to 1.8 times the stall speed on a path of some 1 in 7 to 1 in 12 through the air, the
engine idle where it is recorded. Not it: a descent with power (flatter), a steep spiral (three turns), the last minute
of an ordinary approach.
Judged by the task `glide`: best glide speed ±10 kt.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.handbook import handbook_ias_mps
from airwork.maneuvers.legs import legs
from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode, speed_trust
from airwork.maneuvers.sheet import Sheet
from airwork.maneuvers.signal import ramp
from airwork.maneuvers.slow import slowing_began
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.view import View

KIND = "glide"
TITLE = "Glide"

LITTLE_LOSS_M, SURE_LOSS_M = 70.0, 150.0
SHORT_S, SURE_S = 20.0, 40.0
IDLE, POWERED = 0.15, 0.28  # share of full power
FLAT, TOO_FLAT = 11.5, 14.5  # distance over height; light singles glide 1 in 8 to 1 in 11 (common practice, no source)
STEEP, TOO_STEEP = 7.0, 5.0  # steeper: flaps, a slip, a dive
FAST, TOO_FAST = 1.85, 2.1
APPROACH_M, BROKEN_OFF_M = 100.0, 145.0  # ended lower, it was an approach; a simulated failure ends at some 500 ft


def propose(view: View) -> list[Episode]:
    """Every idle descent at a gliding speed."""
    out = []
    for state, first, end in legs(view):
        if state != -1:
            continue
        last = end - 1
        part = slice(first, end)
        loss = float(view.altitude_m[first] - view.altitude_m[last])
        seconds = (end - first) * 0.25
        sink = -view.climb_mps[part]
        steady = sink > 0.5 * float(np.median(sink))
        ratio = float(np.median(view.tas_mps[part][steady] / np.maximum(sink[steady], 0.1)))
        speed = float(np.median(view.one_g_speed_mps[part])) / view.clean_stall_mps
        score = (
            ramp(loss, LITTLE_LOSS_M, SURE_LOSS_M)
            * ramp(seconds, SHORT_S, SURE_S)
            * ramp(ratio, TOO_STEEP, STEEP)
            * (ramp(speed, TOO_FAST, FAST) * ramp(speed, 1.02, 1.14) if np.isfinite(speed) else 0.7)
            * (ramp(float(view.agl_m[last]), APPROACH_M, BROKEN_OFF_M) if np.isfinite(view.agl_m[last]) else 1.0)
            * all_known(view, first, last)
            * speed_trust(view)
        )
        if view.power is not None:
            score *= ramp(float(np.median(view.power[part])), POWERED, IDLE) * ramp(ratio, TOO_FLAT + 0.5, FLAT + 1.0)
        else:
            score *= ramp(ratio, TOO_FLAT, FLAT) * 0.85
        if score < LEAST_SCORE:
            continue
        start = first
        if np.isfinite(view.clean_stall_mps):
            start = max(slowing_began(view, first, view.clean_stall_mps), first - view.samples(40.0))
        evidence = (
            f"{to_unit(loss, 'ft'):,.0f} ft lost, gliding about 1 in {ratio:.0f} through the air",
            *(("engine idle",) if view.power is not None else ("engine not recorded",)),
        )
        out.append(episode(KIND, view, start, last, score, evidence=evidence,
                           phases=(("entry", start, first), ("established", first, last)),
                           facts={"ratio": ratio}))  # fmt: skip
    return out


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Best glide speed once established: the lesson's, the airplane file's, or what was settled on."""
    sheet = Sheet(episode, evidence)
    start, end = sheet.window("established")
    window = (min(start + 8.0, end - 1.0), max(end - 4.0, start + 9.0))
    settled = evidence.median(evidence.ias_mps, *window)
    sheet.speed_held(settled, window, handbook_mps=handbook_ias_mps(evidence, "best_glide"))
    sheet.number("glide_ratio_through_air", episode.facts["ratio"])
    return sheet.grade()
