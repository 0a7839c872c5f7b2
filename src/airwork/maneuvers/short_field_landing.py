"""Short-field landing: a steep enough, slow, stable approach over an obstacle to a chosen point, firm brakes.

Judged by the task `short_field_landing`; recorded flights propose it as a landing.
"""

from __future__ import annotations

from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.setting_up import arrival
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import SetUp


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps."""
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


ROOM = Room(
    "short_field_landing", "Short-field landing", Family.ARRIVAL, set_up, arrival.fly,
    Heights(at_field_m=arrival.PATTERN_M), role=Role.RUNWAY, lands=True,
    may_set=("flap_notch", "heading_mag_rad", "ias_mps", "line_rad"),
    facts=BriefFacts(aloud=("touchdown point, and the point to go around from",)),
)  # fmt: skip
