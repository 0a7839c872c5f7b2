"""Short-field landing: a steep enough, slow, stable approach over an obstacle to a chosen point, firm brakes.

Judged by the task `short_field_landing`; recorded flights propose it as a landing.
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

KIND = "short_field_landing"
TITLE = "Short-field landing"


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
    a = arrival.work_out(ws, name="short_field_approach")
    ws.use_power(90.0, a.power.ratio)
    flaps = "flaps up" if a.notch == 0 else f"flaps {a.notch}"
    return ws.finish(
        steps=(
            "Long enough final; point chosen, beyond the obstacle; before-landing checks",
            f"Full flaps early on final, {ws.mark(a.approach_mps)} exactly, {a.power.words}, trim; path by power",
            arrival.STABLE,
            "Little flare, power off, touch down at the point near the stall; nose down, flaps up if the handbook "
            "says, brake",
        ),
        usual_errors=(
            "too fast over the fence: it floats past the point",
            "power off high: sink that the flare can't stop",
            "diving at the point; brakes with weight still on the wing",
            "landing short to make the point",
        ),
        card_line=f"{flaps} · {ws.mark(a.approach_mps)} exactly + half gust · {a.power.words} · touch at the point, "
        f"0 to +",
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
