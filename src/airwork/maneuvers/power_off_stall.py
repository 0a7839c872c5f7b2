"""Power-off stall: from a stabilized descent, power idle, the nose raised until the wing stalls, then recovered.

In the data: the speed falls to the stall speed while the energy falls (engine idle), then a sink, the nose drops, speed
and height are regained. From the slowing of the entry to level or climbing flight at a safe speed. A mushing stall
without a clear break counts when the sink and the recovery show; one recovered at the first sign (the warning, or slow
enough for the buffet) when it was slowed to it and the nose lowered at once, and it is said which. Not it: the flare
(near the ground), slow flight (held), the slow top of a lazy eight (no break).
Judged by the task `power_off_stall` of the standard. Height lost is reported and never judged: no standard limits it.
"""

from __future__ import annotations

import math

from airwork.maneuvers.brief_facts import SPIN, STALL_RECOVERY, BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.stall_grade import grade_stall
from airwork.maneuvers.paths import laying
from airwork.maneuvers.seeing.stall_tools import Way, stalls
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import power_lines, stall_lines
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Trace


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of a power-off stall: approach to landing, full flaps unless asked otherwise."""
    stall_lines.check_permission(ws)
    clean = ws.word("configuration", "approach", ("approach", "clean")) == "clean"
    notch = ws.notch(0 if clean else ws.airplane.flaps_full)
    bank = ws.wish("bank_rad", 0.0, 0.0, stall_lines.TURNING_RAD, "deg")
    kind, when = stall_lines.stall_words(ws)
    name = "approach_flaps_full" if notch == ws.airplane.flaps_full else ""
    ias = ws.flown_ias(stall_lines.entry_ias(ws, notch, 1.3, name), notch, 1.0 / math.cos(bank))
    cas = ws.cas(ias, notch)
    ws.note_heights()
    ws.note_flap(notch)
    ws.note_speed("approach speed, first", ias, "handbook table", "for today's weight, else 1.3 times the stall")
    stall = ws.note_stall(notch)
    turning = ws.note_stall(notch, stall_lines.TURNING_RAD)
    sink = power_lines.idle_sink_mps(ws, cas, notch)
    if sink is not None:
        ws.note_rate("sink at idle", sink[0], "fitted model", power_lines.SOURCE, sink[1])
    stall_lines.note_loss(ws, notch)
    power_lines.climb(ws, cas, notch, name="climb with this flap, full throttle")
    speed = ws.book_cas("best_angle_of_climb") or 1.25 * ws.stall_cas_mps(0)
    away = ws.on_dial(ws.ias(speed), "up")
    ws.note_speed("climb away", away, "handbook table", "best angle of climb for today's weight, flaps up")
    ws.use_power(60.0, 0.2)
    ws.use_power(45.0, 1.0)
    flaps = "flaps up" if notch == 0 else f"flaps {notch}"
    return ws.finish(
        steps=(
            ws.before(),
            f"Slow, {flaps}, power to idle; steady descent at {ws.mark(ias)}, as on final",
            At(
                "Smoothly raise the nose to the landing attitude and hold it; ball centered, heading held with rudder",
                "leveled",
            ),
            f"Recover {when}; about {ws.mark(stall)} wings level, {ws.mark(turning)} in 20° of bank",
            *stall_lines.RECOVERY,
        ),
        usual_errors=(
            "entry too fast: a zoom instead of a stall",
            "ball off center: a wing drops; aileron against it",
            "recovering with power before unloading, or waiting with the power",
            "nose pushed far down: height and speed for nothing; then pulled into a second stall",
            "all flaps up at once",
        ),
        card_line=f"{flaps} · idle · {ws.mark(ias)} · stall {ws.mark(stall)} · climb {ws.mark(away)}",
        targets={
            "ias_mps": ias,
            "flap_notch": float(notch),
            "bank_rad": bank,
            "stall_ias_mps": stall,
            "impending": float(kind == "impending"),
            "climb_ias_mps": away,
        },
        subjects=("stalls",),
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Steady idle descent, the nose raised to the stall, recovery and climb-away."""
    flown = stall_lines.slowed_down(set_up, order)
    begun = flown.time + 12.0
    entry = flown.thrust(idle=True)
    flown.climb(entry, lambda f: f.time > begun)
    return stall_lines.stalled(set_up, order, flown, entry, rise_deg=3.0)


def propose(view: View) -> list[Episode]:
    """Every such stall."""
    return stalls(view, ROOM.kind, Way.IDLE)


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """As any stall, and out of a descent."""
    return grade_stall(episode, evidence, from_descent=True)


ROOM = Room(
    "power_off_stall", "Power-off stall", Family.STALL, set_up, ideal, stall_lines.HEIGHTS, propose, grade,
    idle_power=True, plots=("pitch",), wants_clear_sky=True,
    seen_every_s=4.0, lay=laying.at_the_break,
    may_set=("bank_rad", "configuration", "direction", "flap_notch", "ias_mps", "stall"),
    facts=BriefFacts("think", "ask", "stalls", (SPIN,), STALL_RECOVERY),
    slow_on_purpose=True,
    extent="slowing, or the nose up out of slow flight → climbing at 1.2 times the clean stall speed "
    "(descending on: at 1.4 times)",
)  # fmt: skip
