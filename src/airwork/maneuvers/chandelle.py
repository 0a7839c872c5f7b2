"""Chandelle: a 180° climbing turn, most height for the speed, rolled out just above the stall on the opposite heading.

In the data: one turn through about 180° in which the height only rises, the speed only falls, the bank is greatest in
the first half. Not it: half a lazy eight (comes down again to the entry height and speed), a climbing turn (speed
held), a power-on stall (a break, little turn).
Judged by the task `chandelle`: roll-out at 180°, altitude kept after it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode, high_score, mean_agl_m, side, speed_trust
from airwork.maneuvers.sheet import ENTRY, NO_HEADING, Sheet
from airwork.maneuvers.signal import ramp
from airwork.maneuvers.slow import recovered
from airwork.maneuvers.straights import heading_note
from airwork.maneuvers.turns import wings_level
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.turns import Turn
    from airwork.maneuvers.view import View

KIND = "chandelle"
TITLE = "Chandelle"

TURN_DEG = 180.0
OFF_DEG, GONE_DEG = 25.0, 55.0  # this far from 180° it still is one; this far it is none
LITTLE_GAIN_M, SURE_GAIN_M = 25.0, 80.0
LITTLE_SLOWING, SURE_SLOWING = 0.92, 0.78  # speed at the end over speed at the start
ENTRY_S = 6.0
SLOWLY_S = 30.0  # the last degrees may take this long


def propose(view: View) -> list[Episode]:
    """Every 180° turn that trades speed for height to the end."""
    out = []
    for turn in view.turns:
        score = _score(view, turn)
        if score < LEAST_SCORE:
            continue
        start, turned = _whole(view, turn)
        end = min(recovered(view, turned), turned + view.samples(20.0))
        gained = to_unit(float(view.altitude_m[turned] - view.altitude_m[start]), "ft")
        evidence = (
            f"{turn.change_deg:.0f}° {side(turn.sign)}, {gained:.0f} ft gained",
            f"speed from {to_unit(turn.speed_in_mps, 'kt'):.0f} to {to_unit(turn.speed_out_mps, 'kt'):.0f} kt",
        )
        half = start + int(
            np.argmax(np.abs(view.heading_rad[start : turned + 1] - view.heading_rad[start]) > np.pi / 2)
        )
        out.append(episode(KIND, view, start, end, score, evidence=evidence,
                           phases=(("first 90°", start, half), ("second 90°", half, turned),
                                   ("recovery", turned, end)),
                           facts={"sign": turn.sign, "turned_s": float(view.time_s[turned])}))  # fmt: skip
    return out


def _whole(view: View, turn: Turn) -> tuple[int, int]:
    """First and last sample of the turn with its slow parts: the bank comes off slowly towards 180°."""
    bank = turn.sign * view.turn_bank_rad
    slowly = view.samples(SLOWLY_S)
    return wings_level(bank, turn.first, -1, view.samples(4.0)), wings_level(bank, turn.last, 1, slowly)


def _score(view: View, turn: Turn) -> float:
    first, last = _whole(view, turn)
    off = abs(float(np.degrees(abs(view.heading_rad[last] - view.heading_rad[first]))) - TURN_DEG)
    if off > GONE_DEG:
        return 0.0
    altitude = view.altitude_m[turn.first : turn.last + 1]
    gain = float(altitude[-1] - altitude[0])
    fell_back = float(altitude.max() - altitude[-1]) / max(gain, 1.0)  # a lazy eight comes all the way down
    entry = float(view.speed_mps[max(turn.first - view.samples(ENTRY_S), 0) : turn.first + 1].max())
    seconds = float(view.time_s[turn.last] - view.time_s[turn.first])
    climbing = float(view.climb_mps[max(turn.first - view.samples(ENTRY_S), 0) : turn.first + 1].mean())
    return (
        ramp(off, GONE_DEG, OFF_DEG)
        * ramp(gain, LITTLE_GAIN_M, SURE_GAIN_M)
        * ramp(fell_back, 0.6, 0.25)
        * ramp(turn.speed_out_mps / max(entry, 1.0), LITTLE_SLOWING, SURE_SLOWING)
        * ramp(seconds, 75.0, 55.0)
        * ramp(climbing, 3.5, 2.0)  # entered from level flight, or a little fast and down, never from a climb
        * ramp(float(np.degrees(turn.top_bank_rad)), 10.0, 17.0)
        * high_score(mean_agl_m(view, turn.first, turn.last))
        * all_known(view, turn.first, turn.last)
        * speed_trust(view)
    )


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Heading turned at the roll-out, height gained and kept, speed at the end."""
    sheet = Sheet(episode, evidence)
    turned_s, sign = episode.facts["turned_s"], episode.facts["sign"]
    start, heading = episode.start_s, evidence.heading_rad
    if heading is None:
        sheet.cannot("turn180_heading", NO_HEADING)
    else:
        after = evidence.mean(heading, turned_s, turned_s + 2.0)
        turned = sign * (after - evidence.mean(heading, start - 2.0, start))
        sheet.number("turned_deg", float(np.degrees(turned)))
        sheet.once("turn180_heading", [turned - np.pi], note=heading_note(sheet))
    entry = evidence.mean(evidence.altitude_m, start - 1.0, start + 0.5)
    top = evidence.mean(evidence.altitude_m, turned_s - 0.5, turned_s + 1.0)
    later = evidence.altitude_m[evidence.flight.span(turned_s, episode.end_s + 10.0)]
    lost = max(0.0, top - float(np.nanmin(later))) if np.isfinite(later).any() else float("nan")
    sheet.number("altitude_gained_ft", to_unit(top - entry, "ft"), 0)
    sheet.number("altitude_lost_after_ft", to_unit(lost, "ft"), 0)
    sheet.once("altitude_kept", [-lost])
    if evidence.ias_mps is not None:
        sheet.set_target("entry_ias", evidence.mean(evidence.ias_mps, start - 4.0, start), "kt", ENTRY)
        sheet.number("ias_at_180_kt", to_unit(evidence.mean(evidence.ias_mps, turned_s - 1.0, turned_s + 1.0), "kt"))
    sheet.floor_kept()
    return sheet.grade()
