"""Eights on pylons: a figure eight round two pylons at the pivotal altitude, the line of sight staying on the pylon.

In the data: turns to alternate sides, each well over 180° of track, with a short straight leg between, low, the height
following the square of the ground speed. One episode however many turns. Not it: S-turns (180° each, no legs), turns
around a point (one side only).
Judged by the task `eights_on_pylons`: bank at most 40°; the distance from the pivotal altitude is reported.
"""

from __future__ import annotations

import math

import numpy as np

from airwork import units
from airwork.airdata.turn import pivotal_altitude_m
from airwork.errors import NotPossible
from airwork.maneuvers.brief_facts import ALONG_GROUND, BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import NO_AGL, NO_BANK, Sheet
from airwork.maneuvers.paths import flown_pylons
from airwork.maneuvers.seeing.propose_tools import (
    alternating,
    centers_apart_m,
    episode,
    weaves,
)
from airwork.maneuvers.seeing.signal import SHARP, over, under
from airwork.maneuvers.seeing.turns import Turn, find_turns
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import power_lines, turn_lines, wind_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Trace
from airwork.units import to_unit

LARGE_DEG, MOST_DEG = 201.0, 345.0  # more than S-turns, less than a circle
RANGE_M = 200.0  # the pivotal altitude changes by 300 to 500 ft in a wind
LEAST_DEG = 120.0  # the first and the last turn of a chain may be only half of one
SAME_PYLON = 1.0  # of the radius: each turn lies where the last but one lay, or it is no eight
BETWEEN_S, USUALLY_S = 50.0, 20.0  # 3 to 5 s straight are taught (AFH ch. 7); pylons far apart need more


STEEPEST_RAD = math.radians(35.0)  # at most 40° (commercial standard): planned with a little room
STRAIGHT_S = 4.0  # 3 to 5 s between the pylons ([AFH] ch. 7)


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of eights on pylons: the pivotal altitude for today's wind, heading by heading."""
    va = ws.maneuvering_ias()
    steepest = ws.wish("bank_rad", STEEPEST_RAD, math.radians(20.0), math.radians(40.0), "deg")
    cruise = power_lines.cruise_cas_mps(ws, 0.55) or 1.7 * ws.stall_cas_mps(0)
    ias = ws.flown_ias(
        min(ws.on_dial(ws.ias(cruise), "down", 5.0), ws.on_dial(va, "down", 5.0), ws.fastest_ias()),
        load=1.0 / math.cos(steepest),
    )
    given = "altitude_m" in ws.target or "height_agl_m" in ws.target or ws.conditions.altitude_m is not None
    if not given:
        ws.entry_m = ws.conditions.ground_elevation_m + 270.0
    wind = ws.wind()[1]
    tas = ws.tas_mps(ws.cas(ias))
    wind_lines.check_wind(ws, tas, wind)
    entry = float(pivotal_altitude_m(tas)) + ws.conditions.ground_elevation_m
    if not given:
        ws.entry_m = entry
    low, high = (float(pivotal_altitude_m(tas + w)) + ws.conditions.ground_elevation_m for w in (-wind, wind))
    if low < ws.floor_m - 0.5:
        raise NotPossible(
            f"{ROOM.title}: the pivotal altitude upwind, {units.write(low, 'ft')}, is below "
            f"{units.write(ws.floor_m, 'ft')} ({ws.floor_why}); fly faster or another day."
        )
    if ws.conditions.ceiling_m is not None and high > ws.conditions.ceiling_m:
        raise NotPossible(
            f"{ROOM.title}: the pivotal altitude downwind, {units.write(high, 'ft')}, is above the area's ceiling "
            f"{units.write(ws.conditions.ceiling_m, 'ft')}; fly slower."
        )
    ws.note_speed("speed", ias, "given" if "ias_mps" in ws.target else "assumed", "lesson or the level speed at 55 %")
    power = power_lines.level(ws, ws.cas(ias))
    wind_lines.note_wind(ws)
    source = "GS²/g, [AFH] ch. 7; above the pylon's ground"
    ws.note_height("pivotal altitude, wind abeam", entry, "formula", source)
    ws.note_height("highest, downwind", high, "formula", source)
    ws.note_height("lowest, upwind", low, "formula", source)
    distance = (entry - ws.conditions.ground_elevation_m) / math.tan(steepest) * (tas + wind) / tas
    ws.note(
        "from the pylon, abeam",
        round(distance / units.FT_M / 10) * 10.0,
        "ft",
        "formula",
        f"for at most {math.degrees(steepest):.0f}° of bank",
    )
    turn_lines.note_turn(ws, ws.cas(ias), steepest, bank_source="steepest planned; the standard allows 40°")
    ws.note_stall(0)
    lap = 2.0 * (1.4 * math.pi * distance / tas + 2.0 * STRAIGHT_S)
    ws.use_power(lap, None if power is None else power.ratio)
    words = "power by eye" if power is None else power.words
    feet = [round((h - ws.conditions.ground_elevation_m) / units.FT_M, -1) for h in (low, entry, high)]
    return ws.finish(
        steps=(
            "Two pylons of equal height on a line across the wind; emergency landing place in reach",
            f"{ws.mark(ias)}, {words}, near {units.write(entry, 'ft')}; enter between them, diagonally downwind",
            "Pylon abeam: roll in, put the reference line of the wing tip on it; the first turn is into the wind",
            "Pylon moves ahead of the reference: climb; moves behind it: descend. Not with rudder",
            At("Higher on the downwind side, lower upwind; 3 to 5 s straight between the pylons, crabbed", "level"),
        ),
        usual_errors=(
            "holding the pylon with rudder: skid or slip",
            "altitude held constant instead of following the pylon",
            "pylons too close or too far: bank too steep or too shallow",
            "crab forgotten on the straight; no look for traffic",
        ),
        card_line=f"{ws.mark(ias)} · {words} · AGL {feet[0]:,.0f} upwind – {feet[1]:,.0f} – {feet[2]:,.0f} ft "
        f"downwind · bank ≤ {math.degrees(steepest):.0f}°",
        targets={"ias_mps": ias, "bank_rad": steepest, "distance_m": distance, "pivotal_m": entry},
        cautions=(
            "Low flying: minimum safe altitudes, obstacles and people below.",
            "The pylon decides, not the altimeter: in a wind the sight line asks for about half of the handbook's "
            "change of height, and less where the speed changes with it.",
        ),
        tables={"Pivotal altitude by heading (magnetic)": wind_lines.pivotal(ws, tas, entry)},
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """One eight: the wing tip on each pylon in turn, crabbed straight between; see `flown_pylons`."""
    t = set_up.targets
    return flown_pylons.eight(order.airplane, order.conditions, set_up.entry_altitude_m, t["ias_mps"], t["distance_m"])


def propose(view: View) -> list[Episode]:
    """Every low chain of large turns to alternate sides."""
    out = []
    good = [turn for turn in view.once(find_turns) if LEAST_DEG < turn.track_change_deg < MOST_DEG]
    for chain in [*weaves(good, view, BETWEEN_S), *weaves(good, view, USUALLY_S)]:
        changes = [turn.track_change_deg for turn in chain]
        # The first and the last may be half of one; of two alone that is half a turn back and the way on.
        large = float(np.mean(changes[1:-1])) if len(chain) > 2 else min(changes)
        score = alternating(view, chain, RANGE_M) * over(large, LARGE_DEG, SHARP) * _round_two_pylons(chain)
        evidence = (f"{len(chain)} turns of {large:.0f}° to alternate sides, low, with legs between",)
        phases = tuple((f"pylon {k + 1}", turn.first, turn.last) for k, turn in enumerate(chain))
        out.append(episode(ROOM.kind, view, chain[0].first, chain[-1].last, score, evidence=evidence, phases=phases,
                           facts={"turns": len(chain)}))  # fmt: skip
    return out


def _round_two_pylons(chain: list[Turn]) -> float:
    """1 where each turn was flown round the place of the last but one; also where no position is known."""
    apart = [centers_apart_m(a, b) / (0.5 * (a.radius_m + b.radius_m)) for a, b in zip(chain, chain[2:], strict=False)]
    return min((under(share, SAME_PYLON) for share in apart if math.isfinite(share)), default=1.0)


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Bank limit; distance from the pivotal altitude for the ground speed flown, for information."""
    sheet = Sheet(episode, evidence)
    if evidence.bank_rad is None:
        sheet.cannot("bank_limit", NO_BANK)
    else:
        sheet.over("bank_limit", evidence.bank_size_rad, error=evidence.bank_error_rad)
    ground = evidence.flight.get("groundspeed_mps")
    if evidence.agl_m is None or ground is None:
        sheet.cannot("pivotal_altitude", NO_AGL)
    else:
        off = evidence.mean(evidence.agl_m - pivotal_altitude_m(ground), episode.start_s, episode.end_s)
        sheet.number("mean_pivotal_altitude_error_ft", to_unit(off, "ft"), 0)
        sheet.once("pivotal_altitude", [off], note="mean over the maneuver, pylons at field elevation")
    return sheet.grade()


ROOM = Room(
    "eights_on_pylons", "Eights on pylons", Family.GROUND, set_up, ideal, Heights(0.0), propose, grade,
    tied_to_ground=True, needs_engine=True, over_ground=flown_pylons.round_pylons,
    times=True, may_set=("bank_rad", "ias_mps"),
    facts=BriefFacts(aloud=(ALONG_GROUND,)),
    extent="first roll-in → wings level after the last pylon",
)  # fmt: skip
