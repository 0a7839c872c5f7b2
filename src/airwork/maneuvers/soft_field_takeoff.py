"""Soft-field takeoff: weight off the wheels early, acceleration in ground effect, then the climb.

Judged by the task `soft_field_takeoff`; recorded flights propose it as a take-off.
"""

from __future__ import annotations

from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.setting_up import departure
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, SetUp


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps."""
    d = departure.work_out(ws, steep=False)
    flaps = "flaps up" if d.notch == 0 else f"flaps {d.notch}"
    return ws.finish(
        steps=(
            f"{flaps}; keep rolling, turn onto the runway without stopping, stick back, full throttle smoothly",
            At(
                "Weight off the nosewheel early, then off the ground as slow as it flies; lower the nose at once",
                "gaining",
            ),
            f"Stay in ground effect until {ws.mark(d.obstacle_mps)}, then climb",
            f"{ws.mark(d.climb_mps)}, flaps up with a positive climb",
        ),
        usual_errors=(
            "stopping on the soft ground",
            "climbing out of ground effect too slow: it settles back",
            "nose too high after lift-off, or forced down again",
            "too little rudder in the nose-high roll",
        ),
        card_line=f"{flaps} · off slow, in ground effect to {ws.mark(d.obstacle_mps)} · then {ws.mark(d.climb_mps)}",
        targets=departure.targets(d),
        cautions=(
            "The handbook's lift-off speed is for a firm runway: soft ground, grass and slope lengthen the roll.",
        ),
    )


ROOM = Room(
    "soft_field_takeoff", "Soft-field takeoff", Family.DEPARTURE, set_up, departure.fly, Heights(at_field_m=0.0),
    role=Role.RUNWAY, takes_off=True,
    may_set=("flap_notch", "ias_mps"),
)  # fmt: skip
