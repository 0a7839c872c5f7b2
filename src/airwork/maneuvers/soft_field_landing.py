"""Soft-field landing: touchdown as soft and slow as it can be, nosewheel held off, kept moving.

Judged by the task `soft_field_landing`; recorded flights propose it as a landing.
"""

from __future__ import annotations

from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.setting_up import arrival
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import SetUp


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps."""
    ws.note_height("pattern altitude", ws.entry_m, "assumed", "1,000 ft above the field, [AFH] ch. 8; or as published")
    a = arrival.work_out(ws, name="soft_field_approach")
    ws.use_power(90.0, a.power.ratio)
    flaps = "flaps up" if a.notch == 0 else f"flaps {a.notch}"
    return ws.finish(
        steps=(
            "Before-landing checks; look at the surface first if you can",
            f"{flaps}, {ws.mark(a.approach_mps)}, {a.power.words}, trim; stable",
            arrival.STABLE,
            "Flare, a little power kept to let it down slowly; touch as slow as it flies; nosewheel held off",
            "No brakes; keep moving with power, stick back, off the runway",
        ),
        usual_errors=(
            "power off too early: a hard touchdown",
            "too fast, long float in ground effect",
            "nosewheel dropped; brakes on soft ground; stopping",
        ),
        card_line=f"{flaps} · {ws.mark(a.approach_mps)} + half gust · power in the flare · nosewheel off · no brakes",
        targets=arrival.targets(a),
    )


ROOM = Room(
    "soft_field_landing", "Soft-field landing", Family.ARRIVAL, set_up, arrival.fly,
    Heights(at_field_m=arrival.PATTERN_M),
    role=Role.RUNWAY, lands=True,
    may_set=("flap_notch", "heading_mag_rad", "ias_mps", "line_rad"),
)  # fmt: skip
