"""Short-field takeoff: the whole length used, best angle of climb until the obstacle is cleared.

Judged by the task `short_field_takeoff`; recorded flights propose it as a take-off.
"""

from __future__ import annotations

from functools import partial

from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.setting_up import departure
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, SetUp


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps."""
    d = departure.work_out(ws, steep=True)
    flaps = "flaps up" if d.notch == 0 else f"flaps {d.notch}"
    return ws.finish(
        steps=(
            f"{flaps}, use the whole length; brakes, full throttle, static RPM and gauges good, release",
            f"Least drag in the roll, {ws.mark(d.lift_off_mps)} lift off positively",
            At(f"Hold {ws.mark(d.obstacle_mps)} until the obstacle is cleared, at least 50 ft", "climbing"),
            f"Then {ws.mark(d.climb_mps)}, flaps up slowly with a positive climb",
        ),
        usual_errors=(
            "not the whole length used; power not checked before brake release",
            "early lift-off: drag, no climb; or a speed well above best angle",
            "flaps up before the obstacle, or all at once",
            "pitch chased after lift-off",
        ),
        card_line=f"{flaps} · lift off {ws.mark(d.lift_off_mps)} · {ws.mark(d.obstacle_mps)} to 50 ft · then "
        f"{ws.mark(d.climb_mps)}",
        targets=departure.targets(d),
    )


ROOM = Room(
    "short_field_takeoff", "Short-field takeoff", Family.DEPARTURE, set_up, partial(departure.fly, steep=True),
    Heights(at_field_m=0.0), role=Role.RUNWAY, takes_off=True,
    may_set=("flap_notch", "ias_mps"),
    facts=BriefFacts(aloud=("abort point, and the speed there",)),
)  # fmt: skip
