"""Power-off 180° accuracy approach: throttle closed abeam the point at pattern altitude, glide to touch down at it.

Judged by the task `power_off_180`; recorded flights propose it as pattern and landing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from airwork import units
from airwork.airdata.turn import gliding_turn_height_loss_m
from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.gate import idled_down
from airwork.maneuvers.paths.flown_over_ground import Arc, fly_over_ground, straight
from airwork.maneuvers.setting_up import arrival, power_lines, turn_lines, wind_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace

GLIDE_SHARE = 1.4  # of VSO where no glide speed is published ([AFH] ch. 9)
DOWNWIND_M = 0.5 * units.NM_M  # distance abeam: our own choice
BANK_RAD = math.radians(30.0)


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps: speed, height to lose, how far the glide reaches in today's wind."""
    full = ws.notch(ws.airplane.flaps_full)
    side = ws.word("direction", "left", ("left", "right"))
    best = ws.book_cas("best_glide")
    cas = GLIDE_SHARE * ws.stall_cas_mps(ws.airplane.flaps_full) if best is None else best
    ias = ws.flown_ias(ws.on_dial(ws.ias(cas), "up"))
    cas = ws.cas(ias)
    tas = ws.tas_mps(cas)
    final, source = arrival.approach_ias(ws, full)
    ws.note_height("abeam the point, at most", ws.entry_m, "assumed", "1,000 ft above the field, [AFH] ch. 9")
    ws.note_speed(
        "glide",
        ias,
        "formula" if best is None else "handbook table",
        "1.4 VSO, [AFH] ch. 9" if best is None else "best glide for today's weight",
    )
    ws.note_speed("final, full flaps", final, "handbook table", source)
    ws.note_flap(full)
    ws.note_stall(0)
    ws.note_stall(full)
    turn_lines.note_turn(ws, cas, BANK_RAD, turn_rad=math.pi, bank_source="30° at most: common practice, no source")
    sink = power_lines.idle_sink_mps(ws, cas)
    ratio = ws.airplane.glide_ratio if sink is None else tas / sink[0]
    turn_loss = float(gliding_turn_height_loss_m(tas, ratio, BANK_RAD, math.pi))
    ws.note("height for the 180°", round(turn_loss / units.FT_M / 10) * 10.0, "ft", "formula", "gliding turn at 30°")
    _, wind = wind_lines.note_wind(ws, ws.conditions.ground_elevation_m)
    left = arrival.PATTERN_M - turn_loss
    reach = left * ratio * max(1.0 - wind / tas, 0.1)
    ws.note(
        "glide left for the straight parts",
        round(reach / units.NM_M, 2),
        "NM",
        "formula",
        "height left · glide ratio, flaps up, wind on the nose",
    )
    flapped = power_lines.idle_sink_mps(ws, ws.cas(final, full), full)
    if flapped is not None and sink is not None:
        ws.note_rate("sink, flaps up", sink[0], "fitted model", power_lines.SOURCE,
                     also=f"full flaps {ws.airplane.book.rate(flapped[0], 10)}")  # fmt: skip
    rate = 3.5 if sink is None else sink[0]
    ws.use_power(60.0, 0.5)
    ws.use_power(arrival.PATTERN_M / rate, 0.1)
    return ws.finish(
        steps=(
            f"Downwind at pattern altitude; abeam the point throttle closed, {ws.mark(ias)}, trim",
            "Fly the wind: strong headwind on final, turn base sooner; keep the point in sight",
            "Key position on base: high, delay or widen and flaps; low, turn in, keep the flaps",
            f"Flaps in steps when the point is made; full flaps {ws.mark(final)}; slip if still high",
            "Touch down at the point or up to the standard's distance beyond it; go around if it doesn't work out",
        ),
        usual_errors=(
            "downwind too wide or too far; base too late for the wind",
            "flaps too early: short; stretching the glide with pitch",
            "speed too high on final: floats past the point",
            "steep turn low down to save a bad plan",
        ),
        card_line=f"{ws.mark(ias)} · idle abeam · 180° costs {round(turn_loss / units.FT_M, -1):,.0f} ft · flaps "
        f"when made · "
        f"{ws.mark(final)}",
        targets={
            "ias_mps": ias,
            "approach_ias_mps": final,
            "flap_notch": float(full),
            "bank_rad": BANK_RAD,
            "glide_ratio": ratio,
            "sink_mps": rate,
            "sign": -1.0 if side == "left" else 1.0,
        },
        cautions=("Anything not stable at 300 ft above the field: go around.", arrival.GUST),
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Downwind from abeam the point, half circle, final, throttle closed; over the ground in the day's wind."""
    t = set_up.targets
    field = order.conditions.ground_elevation_m
    runway = arrival.runway_rad(order.conditions, order.target)
    from_rad, _ = order.conditions.air.wind_at(field)
    course = float(from_rad) if runway is None else runway
    radius = DOWNWIND_M / 2.0
    down, track = t["altitude_m"] - field, course + math.pi
    # straight parts so long that the glide comes down to the field at the point abeam the start
    low, high = 0.0, 3000.0
    pieces: tuple[Arc, ...] = ()
    for _ in range(18):
        out = 0.5 * (low + high)
        pieces = (straight(out), Arc(t["sign"] * math.pi, radius), straight(out))
        trace = fly_over_ground(
            order.airplane,
            order.conditions,
            pieces,
            track_rad=track,
            altitude_m=t["altitude_m"],
            ias_mps=t["ias_mps"],
            climb_mps=lambda s, bank, h: -_sink(t, bank),
        )
        if t["altitude_m"] - float(trace.columns["altitude_m"][-1]) < down:
            low = out
        else:
            high = out
    return trace


def _sink(targets: Mapping[str, float], bank_rad: float) -> float:
    """Rate of descent of the glide in a bank: sink at one load factor times n^1.5. [m/s]"""
    return targets["sink_mps"] / math.cos(bank_rad) ** 1.5


def flown_as(episode: Episode, evidence: Evidence) -> bool:
    """The throttle closed from abeam on, where power is known."""
    return idled_down(evidence, episode.facts["touch_s"]) is not False


ROOM = Room(
    "power_off_180", "Power-off 180°", Family.ARRIVAL, set_up, ideal, Heights(at_field_m=arrival.PATTERN_M),
    role=Role.RUNWAY, idle_power=True, lands=True, flown_as=flown_as,
    may_set=("direction", "flap_notch", "heading_mag_rad", "ias_mps", "line_rad"),
    facts=BriefFacts(alone="ask", aloud=("practice only; go around when the point is missed",)),
)  # fmt: skip
