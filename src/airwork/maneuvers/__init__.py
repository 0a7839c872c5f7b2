"""One room per maneuver: set-up, ideal trace, propose, grade. This list is the only place that names them.

`ROOMS` names the kinds, in the order a lesson is usually flown; a module is loaded when it is first asked for.
"""

from __future__ import annotations

import importlib
from functools import cache

from airwork.maneuvers.declared import Family, Room

ROOMS: tuple[str, ...] = (
    "takeoff", "short_field_takeoff", "soft_field_takeoff", "climb", "straight_and_level", "level_turn", "descent",
    "tank_change", "leaning", "instrument_basics", "clearing_turn", "slow_flight", "power_off_stall",
    "power_on_stall", "accelerated_stall", "unusual_attitude", "steep_turn", "steep_spiral", "chandelle",
    "lazy_eight", "eights_on_pylons", "rectangular_course", "s_turns", "turns_around_point", "eights_along_road",
    "emergency_descent", "glide", "forward_slip", "power_off_180", "traffic_pattern", "go_around", "touch_and_go",
    "landing", "short_field_landing", "soft_field_landing",
)  # fmt: skip


@cache
def room(kind: str) -> Room:
    """The room of a kind. KeyError for a kind without a room."""
    if kind not in ROOMS:
        raise KeyError(kind)
    found: Room = importlib.import_module(f"airwork.maneuvers.{kind}").ROOM
    return found


def rooms(family: Family | None = None) -> tuple[Room, ...]:
    """All rooms in order, or those of a family."""
    return tuple(one for one in map(room, ROOMS) if family is None or one.family is family)
