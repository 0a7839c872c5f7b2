"""Clearing turn: 90° one way and 90° back (or 180° one way) to look for traffic before a maneuver.

In the data: two level turns of about 90° to opposite sides shortly after each other, or one of 180° (or twice 90° to
one side), at altitude, with ordinary bank. The whole pattern is one episode. Not it: S-turns (low, 180° each), a lazy
eight, turns on a route. A single 180° counts only when a maneuver that wants clearing follows, or is begun and given
up: the arbiter knows.
Standards print no numbers for it; whether one was made before each maneuver is in the record of the flight.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.paths import laying
from airwork.maneuvers.paths.flown_ideal import FlownIdeal
from airwork.maneuvers.paths.laying import Flown
from airwork.maneuvers.seeing.propose_tools import (
    LEVEL_MPS,
    MEDIUM_DEG,
    about,
    aloft,
    among_its_like,
    episode,
    kept,
    level,
    no_slower,
    side,
    swings,
)
from airwork.maneuvers.seeing.signal import SHARP, over, under
from airwork.maneuvers.seeing.turns import HALF_DEG, QUARTER_DEG, Turn, find_turns, straight_between
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import power_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Trace

BETWEEN_S = 22.0
LESS_USUAL = 0.7  # than 90° and back
EXACT_DEG = QUARTER_DEG / 3.0  # off in both together: by less hardly by chance, whatever came after
# Half a circle, straight, and half a circle back in the same bank are a pair that was practiced; what was cleared for
# begins sooner (common practice, no source).
ONE_OF_TWO, RESTED_S, AGAIN_S, SAME_DEG = 0.4, 10.0, 60.0, 5.0
ALONE = 0.5  # a single 180° may just be a turn back
# So soon after it so much bank, this share of the speed, twice a level turn's climb: more than on the way, or a gust.
BEGUN_S, BEGUN_RAD, BEGUN_SLOWER = 40.0, np.radians(27.0), 0.83


BANK_RAD = math.radians(30.0)  # enough to lift the wing and see, little enough to look: common practice, no source


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of clearing turns: 90° one way and 90° back."""
    bank = ws.wish("bank_rad", BANK_RAD, math.radians(10.0), math.radians(44.0), "deg")
    turn = ws.wish("turn_rad", 0.5 * math.pi, math.radians(30.0), math.pi, "deg")
    cruise = power_lines.cruise_cas_mps(ws, 0.5) or 1.7 * ws.stall_cas_mps(0)
    slow = min(ws.on_dial(ws.ias(cruise), "down", 5.0), ws.maneuvering_ias())
    ias = ws.flown_ias(slow, load=1.0 / math.cos(bank))
    cas = ws.cas(ias)
    ws.note_heights()
    ws.note_speed(
        "speed", ias, "given" if "ias_mps" in ws.target else "assumed", "lesson; else below maneuvering speed"
    )
    power = power_lines.level(ws, cas, bank_rad=bank, pitch=False)
    turn_lines.note_turn(ws, cas, bank, turn_rad=turn, bank_source="lesson or common practice, no source")
    ws.use_power(
        2.0 * turn / (G0_MPS2 * math.tan(bank) / ws.tas_mps(cas)) + 15.0, None if power is None else power.ratio
    )
    degrees = math.degrees(turn)
    return ws.finish(
        steps=(
            "Look both ways before the first turn; lift the high wing and look under it",
            At(f"{degrees:.0f}° one way, look the whole time, also above and below", "bank"),
            f"{degrees:.0f}° the other way; say what you see",
            At("Begin the maneuver at once: a cleared area stays clear for a minute or two", "end"),
        ),
        usual_errors=(
            "turning without looking: the turn done, the area not seen",
            "altitude wandering while looking out",
            "a long pause between clearing and the maneuver",
        ),
        card_line=f"{ws.mark(ias)} · {degrees:.0f}° each way · bank {math.degrees(bank):.0f}° · look",
        targets={"ias_mps": ias, "bank_rad": bank, "turn_rad": turn},
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """90° one way and 90° back, a moment to look before, between and after."""
    flown = FlownIdeal(order, set_up.entry_altitude_m, set_up.targets["ias_mps"])
    t = set_up.targets
    first = order.side
    for sign in (first, -first):
        flown.hold(5.0)
        flown.turn(sign * t["turn_rad"], t["bank_rad"])
    flown.hold(5.0)
    return flown.trace()


def propose(view: View) -> list[Episode]:
    """Every pair of turns (opposite, or adding up to 180°) and every lone 180°."""
    out = []
    turns = view.once(find_turns)
    plain = [_plain(view, turn) for turn in turns]
    for k, ((one, two), both) in enumerate(zip(pairwise(turns), map(min, plain, plain[1:]), strict=True)):
        back = one.sign != two.sign
        quarters = about(one.change_deg, QUARTER_DEG) * about(two.change_deg, QUARTER_DEG)
        halves = about(one.change_deg, HALF_DEG) * about(two.change_deg, HALF_DEG)
        on = quarters * about(one.change_deg + two.change_deg, HALF_DEG)
        fit = max(quarters, LESS_USUAL * halves) if back else LESS_USUAL * on
        # Level on the whole: height lost in the one is often won back in the other.
        score = (
            both
            * fit
            * level(0.5 * (one.climb_mps + two.climb_mps))
            * under(straight_between(view, one, two), BETWEEN_S)
            * (ONE_OF_TWO if back and halves > quarters and _third(view, turns, k) else 1.0)
        )
        evidence = (f"{one.change_deg:.0f}° {side(one.sign)}, then {two.change_deg:.0f}° {'back' if back else 'on'}",)
        phases = (("first turn", one.first, one.last), ("second turn", two.first, two.last))
        off_deg = abs(one.change_deg - QUARTER_DEG) + abs(two.change_deg - QUARTER_DEG)
        exact = back * under(off_deg, EXACT_DEG)
        facts = {
            "turns": 2.0,
            "back": float(back),
            "exact": exact,
            "begun": max(_begun(view, two.last), _dived(view, two.last)),
        }
        out.append(episode(ROOM.kind, view, one.first, two.last, score, evidence=evidence, phases=phases, facts=facts))
    for k, (turn, score) in enumerate(zip(turns, plain, strict=True)):
        score *= ALONE * level(turn.climb_mps) * about(turn.change_deg, HALF_DEG)
        score *= swings(view, turns, k) < 2  # amid half circles to alternate sides it is one of them
        score *= ONE_OF_TWO if _one_of_two(view, turns, plain, k) else 1.0
        evidence, facts = (
            (f"{turn.change_deg:.0f}° {side(turn.sign)}",),
            {"turns": 1.0, "begun": _begun(view, turn.last, by_bank=not among_its_like(view, turn))},
        )
        out.append(episode(ROOM.kind, view, turn.first, turn.last, score, evidence=evidence, facts=facts))
    return out


def _third(view: View, turns: list[Turn], k: int) -> bool:
    """A third half circle in the same bank beside a pair of them, the other way again: turns practiced one by one."""
    return any(
        0 <= j < len(turns)
        and turns[j].sign != turns[beside].sign
        and about(turns[j].change_deg, HALF_DEG) > 0.5
        and abs(turns[j].bank_deg - turns[beside].bank_deg) < SAME_DEG
        and straight_between(view, *sorted((turns[j], turns[beside]), key=lambda t: t.first)) < AGAIN_S
        for j, beside in ((k - 1, k), (k + 2, k + 1))
    )


def _one_of_two(view: View, turns: list[Turn], plain: list[float], k: int) -> bool:
    """Another ordinary half circle, the other way in the same bank, soon before or after."""
    return any(
        a >= 0
        and b < len(turns)
        and turns[a].sign != turns[b].sign
        and min(plain[a], plain[b]) > 0.5
        and about(min(turns[a].change_deg, turns[b].change_deg), HALF_DEG) > 0.0
        and about(max(turns[a].change_deg, turns[b].change_deg), HALF_DEG) > 0.0
        and abs(turns[a].bank_deg - turns[b].bank_deg) < SAME_DEG
        and RESTED_S < straight_between(view, turns[a], turns[b]) < AGAIN_S
        for a, b in ((k - 1, k), (k, k + 1))
    )


def _begun(view: View, last: int, *, by_bank: bool = True) -> float:
    """1 where the airplane was slowed or banked well soon after: an exercise was begun, even if it was given up.

    by_bank : without, where turns in one bank are practiced, bank alone is none: going well up or down beside it.
    """
    after = slice(last, last + view.samples(BEGUN_S))
    slower = float(view.speed_mps[after].min()) / max(float(view.speed_mps[last]), 1.0)
    bank = float(np.abs(view.turn_bank_rad[after]).max())
    banked = over(bank, BEGUN_RAD, SHARP) * (1.0 if by_bank else _dived(view, last))
    return max(banked, under(slower, BEGUN_SLOWER, SHARP))


def _dived(view: View, last: int) -> float:
    """1 where it was pushed or pulled well soon after; who turned back half round may just go up or down."""
    return over(float(np.abs(view.climb_mps[last : last + view.samples(BEGUN_S)]).max()), 2.0 * LEVEL_MPS, SHARP)


def _plain(view: View, turn: Turn) -> float:
    """An ordinary turn at altitude, at an ordinary speed."""
    return (
        under(turn.bank_deg, MEDIUM_DEG, SHARP)
        * kept(view, turn.first, turn.last)
        * no_slower(view, turn)
        * aloft(view, turn.first, turn.last)
    )


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Measured, not judged: standards print no numbers for it."""
    return Sheet(episode, evidence).grade()


def _asked(flown: Flown) -> dict[str, Any] | None:
    """There and back, first to the side flown first."""
    if flown.first_side == 0.0 or not flown.episode.facts.get("back"):
        return None
    side = "right" if flown.first_side > 0 else "left"
    return {**laying.as_settled(flown, "entry_ias_kt"), "direction": side}


ROOM = Room(
    "clearing_turn", "Clearing turn", Family.COCKPIT, set_up, ideal, Heights(300.0), propose, grade, plain=True,
    is_task=False, by_chance=True, clears=True, lay=laying.from_the_roll_in, asks=_asked,
    may_set=("bank_rad", "direction", "ias_mps", "turn_rad"),
    extent="first roll-in → wings level after the last turn",
)  # fmt: skip
