"""Forward slip: one wing low, opposite rudder, straight path over the ground, to lose height without gaining speed.

In the data: bank without the turn that belongs to it, or the nose held well beside the path through the air, for some
seconds while sinking. Needs a recorded bank or heading; from position alone it can't be seen. Not it: the wing-low
correction of a crosswind landing (small, near the ground).
Judged by the task `forward_slip`: touchdown point; no airspeed number is printed.
"""

from __future__ import annotations

import math

import numpy as np

from airwork import units
from airwork.airdata.angles import unwrap_rad, wrap_signed_rad
from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.paths.flown_ideal import FlownIdeal
from airwork.maneuvers.paths.flown_trace import Simulated, make_trace
from airwork.maneuvers.seeing.propose_tools import episode, side, throttled
from airwork.maneuvers.seeing.signal import SOFT, Array, bridged, first_true, mean_over, over, percentile, smooth, under
from airwork.maneuvers.seeing.view import STEP_S, View
from airwork.maneuvers.setting_up import arrival, power_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Trace
from airwork.masks import runs
from airwork.units import to_unit

SLIPPING_RAD, TURNING_RAD = np.radians(7.0), np.radians(10.0)
LASTS_S, SINK_MPS = 6.0, 1.9  # 370 fpm
TOGETHER = 0.75
SLIP_SMOOTH_S = 2.5
EDGE_S = 2.0  # slipping in and out
SLOWLY_S = 180.0
FINAL_M = 300 * units.FT_M  # from here on down it is the landing


BANK_RAD = math.radians(15.0)  # as much as the rudder can hold straight: common practice, no source
SLIP_RAD = math.radians(12.0)  # nose beside the path in it: our own choice
SLIP_SHARE = 1.6  # sink in the slip over the sink without, roughly; seen, not computed: common practice, no source


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of a forward slip to a landing."""
    notch = ws.notch(0)
    default, source = arrival.approach_ias(ws, notch)
    ias = ws.flown_ias(default, notch)
    cas = ws.cas(ias, notch)
    side = ws.word("direction", "left", ("left", "right"))
    ws.note_height(
        "begin, high on final, at or above", ws.conditions.ground_elevation_m + 150.0, "assumed", "room to recover"
    )
    ws.note_flap(notch)
    ws.note_speed("speed", ias, "handbook table", f"approach speed: {source}")
    ws.note_stall(notch)
    sink = power_lines.idle_sink_mps(ws, cas, notch)
    rate = 4.0 if sink is None else sink[0]
    if sink is not None:
        slipped = ws.airplane.book.rate(SLIP_SHARE * rate, 10)
        ws.note_rate("sink at idle without slip", rate, "fitted model", power_lines.SOURCE,
                     also=f"in the slip about {slipped}: from common practice, see it on yours")  # fmt: skip
    ws.use_power(60.0, 0.1)
    return ws.finish(
        steps=(
            "High on final, idle; wind side down if there is a crosswind",
            At(
                "Lower the wing, opposite rudder at once; nose off to the side, track straight on to the runway", "bank"
            ),
            f"Hold {ws.mark(ias)} by attitude: the indicator may be wrong in a slip; more bank, more rudder, more sink",
            "Level the wings and center the rudder together, in time for a normal flare and landing",
        ),
        usual_errors=(
            "speed too high or too low: nose position not kept",
            "rudder and bank not matched: the track turns",
            "released abruptly: nose drops or swings",
            "begun too late; too fast at the threshold",
        ),
        card_line=f"{'flaps up' if notch == 0 else f'flaps {notch}'} · idle · {ws.mark(ias)} · wing low {side}, "
        f"opposite rudder · out for the flare",
        targets={"ias_mps": ias, "flap_notch": float(notch), "bank_rad": BANK_RAD, "sink_mps": SLIP_SHARE * rate},
        cautions=(
            "Slips with flaps and slips with low fuel on the low side: as the handbook says.",
            "The airspeed indicator can read wrong in a slip; stay away from the stall.",
        ),
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """On final with the wing low and the nose aside, sinking faster, straight over the ground; out for the flare."""
    t = set_up.targets
    side = order.side
    field = order.conditions.ground_elevation_m
    flown = FlownIdeal(order, field + 150.0, t["ias_mps"], int(t["flap_notch"]))
    path = -math.asin(min(t["sink_mps"] / flown.tas, 0.5))
    flown.path = 0.6 * path
    shares = []
    while flown.altitude > field + 20.0:
        share = min(flown.time / 3.0, max((flown.altitude - field - 20.0) / 12.0, 0.0), 1.0)
        flown.step(0.0, (0.6 + 0.4 * share) * path)
        shares.append(share)
    time, heading, tas, altitude, _, load, notch = np.array(flown.rows).T
    slip = np.concatenate([[0.0], shares])
    # wing low to one side, nose to the other: the bank is held by rudder and does not turn the path
    return make_trace(
        order.airplane,
        order.conditions,
        Simulated(
            time, heading, tas, altitude, side * t["bank_rad"] * slip, load, notch, slip_rad=-side * SLIP_RAD * slip
        ),
    )


def propose(view: View) -> list[Episode]:
    """Every stretch of slip while sinking."""
    out = []
    seen = slip_rad(view)
    for sign in (1.0, -1.0):
        slip = sign * seen
        slipping = (slip > (1.0 - SOFT) * SLIPPING_RAD) & (view.climb_mps < -0.5) & view.airborne
        for first, end in runs(bridged(slipping, view.samples(2.0))):
            part = slice(first, end)
            size, sink = percentile(slip[part], 75.0), -float(view.climb_mps[part].mean())
            turning = abs(float(view.turn_bank_rad[part].mean()))
            score = over(size, SLIPPING_RAD) * over((end - first) * STEP_S, LASTS_S) * over(sink, SINK_MPS)
            score *= under(turning, TURNING_RAD) * throttled(view, first, end - 1)  # with power on it is a crab
            a, b = max(first - view.samples(EDGE_S / 2), 0), min(end - 1 + view.samples(EDGE_S / 2), view.n - 1)
            high = first_true(view.agl_m[a : b + 1] < FINAL_M, b - a)  # lower it is the landing's, slipped or not
            b = a + high if high * STEP_S > LASTS_S else b
            evidence = (
                f"{np.degrees(size):.0f}° of slip, {side(sign)} wing low or nose to the {side(-sign)}",
                f"sinking {to_unit(sink, 'fpm'):,.0f} fpm",
            )
            out.append(episode(ROOM.kind, view, a, b, score, evidence=evidence, facts={"sign": sign, "slipped": 1.0}))
    return out


def slip_rad(view: View) -> Array:
    """Slip as seen, positive with the right wing low: bank without its turn, and the nose beside the path in the air.

    The nose's offset needs a recorded heading and a known wind; what is constant in it (variation, a compass's error,
    a wind a little off) is taken out with a slow mean. Either may show it alone; weak ones add up. [rad]
    """
    nothing = np.zeros(view.n)
    lean = smooth(view.bank_rad - view.turn_bank_rad, view.samples(SLIP_SMOOTH_S)) if view.bank_measured else nothing
    offset = nothing
    if view.air_track_rad is not None and view.heading_from == "heading":
        raw = unwrap_rad(wrap_signed_rad(view.air_track_rad - view.heading_rad))
        flown = view.airborne.astype(float)  # standing, the path through the air is none
        slowly = view.samples(SLOWLY_S)
        usual = mean_over(flown * np.nan_to_num(raw), slowly) / np.maximum(mean_over(flown, slowly), 1e-9)
        offset = smooth(flown * (raw - usual), view.samples(SLIP_SMOOTH_S))
    largest = lean
    for other in (offset, TOGETHER * (lean + offset)):
        largest = np.where(np.abs(other) > np.abs(largest), other, largest)
    return largest


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Height lost and speed kept, for information; the touchdown point where it is known."""
    return Sheet(episode, evidence).grade()


ROOM = Room(
    "forward_slip", "Forward slip", Family.SLIP, set_up, ideal, Heights(at_field_m=arrival.PATTERN_M), propose, grade,
    idle_power=True, worth=0.5, seen_every_s=2.0,
    may_set=("direction", "flap_notch", "ias_mps"),
    facts=BriefFacts(aloud=("flap limits of the handbook in a slip",)),
    extent="wing down against the rudder → uncrossed",
)  # fmt: skip
