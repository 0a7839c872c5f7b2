"""Soft-field landing: touchdown as soft and slow as it can be, nosewheel held off, kept moving.

Judged by the task `soft_field_landing`; recorded flights propose it as a landing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from airwork.maneuvers.setting_up import arrival
from airwork.maneuvers.setting_up.worksheet import Worksheet

if TYPE_CHECKING:
    from airwork.airplane import Airplane
    from airwork.airplane.performance import Performance
    from airwork.maneuvers.setup import Conditions, SetUp, Trace
    from airwork.standards import Standard

KIND = "soft_field_landing"
TITLE = "Soft-field landing"


def set_up(
    airplane: Airplane,
    performance: Performance | None,
    conditions: Conditions,
    standard: Standard,
    target: Mapping[str, Any],
) -> SetUp:
    """Numbers and steps."""
    ws = Worksheet(airplane, performance, conditions, standard, KIND, TITLE, target, at_field=arrival.PATTERN_M)
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


def ideal(
    set_up: SetUp,
    airplane: Airplane,
    performance: Performance | None,
    conditions: Conditions,
    target: Mapping[str, Any],
) -> Trace:
    """From 500 ft above the field to the end of the roll."""
    return arrival.fly(set_up, airplane, performance, conditions)
