"""Power-on stall: slowed to the lift-off speed, much power, the nose raised high until the wing stalls, then recovered.

In the data: a climb that gets slower and slower with the energy held or rising (engine at work), then climb turns to
sink and the nose drops. From the slowing of the entry (or the raising of the nose) to level or climbing flight at a
safe speed. Not it: a zoom (speed turned into height at once; aerobatics), a chandelle (turns 180°, no break).
Judged by the task `power_on_stall` of the standard. Height lost is reported and never judged: no standard limits it.
"""

from __future__ import annotations

import math

from airwork.maneuvers.brief_facts import SPIN, STALL_RECOVERY, BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.grading.stall_grade import grade_stall
from airwork.maneuvers.paths import laying
from airwork.maneuvers.seeing.stall_tools import Way, stalls
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import power_lines, stall_lines
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace

CLIMB_SHARE = 0.65  # the least the standard allows


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of a power-on stall: takeoff or departure, as soon as it would fly."""
    stall_lines.check_permission(ws)
    table = ws.airplane.file.performance.takeoff
    set_for_takeoff = 0 if table is None or table.flap_notch is None else table.flap_notch
    clean = ws.word("configuration", "takeoff", ("takeoff", "clean")) == "clean"
    notch = ws.notch(0 if clean else set_for_takeoff)
    bank = ws.wish("bank_rad", 0.0, 0.0, stall_lines.TURNING_RAD, "deg")
    share = ws.wish("power_ratio", CLIMB_SHARE, 0.5, 1.0)
    kind, when = stall_lines.stall_words(ws)
    lift_off = ws.on_dial(ws.ias(1.15 * ws.stall_cas_mps(notch), notch), "up")
    ias = ws.flown_ias(lift_off, notch, 1.0 / math.cos(bank))
    cas = ws.cas(ias, notch)
    ws.note_heights()
    ws.note_flap(notch)
    ws.note_speed("slow to, lift-off", ias, "formula", "1.15 times the stall for today's weight")
    stall = ws.note_stall(notch)
    ws.note_stall(notch, stall_lines.TURNING_RAD)
    power = power_lines.share(ws, share, cas, notch, name=f"power, {100 * share:.0f} %")
    full = power_lines.full_throttle(ws, cas, notch)
    if full.ratio < share - 0.005:
        ws.cautions.append(
            f"Full throttle gives only {100 * full.ratio:.0f} % here today: less than {100 * share:.0f} %; "
            "choose a lower altitude or agree on full throttle."
        )
    power_lines.climb(ws, cas, notch, name="climb at lift-off speed, full throttle")
    stall_lines.note_loss(ws, notch)
    speed = ws.book_cas("best_angle_of_climb") or 1.25 * ws.stall_cas_mps(0)
    away = ws.on_dial(ws.ias(speed), "up")
    ws.note_speed("climb away", away, "handbook table", "best angle of climb for today's weight, flaps up")
    ws.use_power(30.0, 0.3)
    ws.use_power(45.0, max(share, 0.9))
    flaps = "flaps up" if notch == 0 else f"flaps {notch}"
    return ws.finish(
        steps=(
            ws.before(),
            f"Slow to {ws.mark(ias)}, {flaps}, altitude held",
            f"Then power: {power.words} or more, and raise the nose smoothly, higher than in a climb; right rudder",
            "Hold heading with rudder, ball centered; let the speed bleed off slowly",
            f"Recover {when}; with power it comes below {ws.mark(stall)}, the idle stall speed",
            *stall_lines.RECOVERY,
        ),
        usual_errors=(
            "too little right rudder: the left wing drops",
            "nose raised in a jerk, or not high enough: it climbs and never stalls",
            "starting too fast: very high nose attitude",
            "aileron against the dropping wing instead of unloading",
            "nose pushed far down in the recovery, then a second stall",
        ),
        card_line=f"{flaps} · slow to {ws.mark(ias)} · {power.words} · idle stall {ws.mark(stall)} "
        f"· climb {ws.mark(away)}",
        targets={
            "ias_mps": ias,
            "flap_notch": float(notch),
            "bank_rad": bank,
            "stall_ias_mps": stall,
            "power_ratio": share,
            "impending": float(kind == "impending"),
            "climb_ias_mps": away,
        },
        cautions=("The stall speed is the handbook's with power idle; with power it is lower.",),
        subjects=("stalls",),
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Level at lift-off speed, the power and the nose up to the stall, recovery and climb-away."""
    flown = stall_lines.slowed_down(set_up, order)
    entry = flown.thrust(power_ratio=set_up.targets["power_ratio"])
    return stall_lines.stalled(set_up, order, flown, entry, rise_deg=14.0)


def propose(view: View) -> list[Episode]:
    """Every such stall."""
    return stalls(view, ROOM.kind, Way.WITH_POWER)


ROOM = Room(
    "power_on_stall", "Power-on stall", Family.STALL, set_up, ideal, stall_lines.HEIGHTS, propose, grade_stall,
    needs_engine=True, plots=("pitch",), wants_clear_sky=True,
    seen_every_s=4.0, lay=laying.at_the_break,
    may_set=("bank_rad", "configuration", "direction", "flap_notch", "ias_mps", "power_ratio", "stall"),
    facts=BriefFacts("think", "ask", "stalls", (SPIN,), STALL_RECOVERY),
    slow_on_purpose=True,
    extent="slowing, or the nose up out of slow flight → climbing at 1.2 times the clean stall speed "
    "(descending on: at 1.4 times)",
)  # fmt: skip
