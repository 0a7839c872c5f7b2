"""One room per maneuver: set-up, ideal trace, propose, grade. This list is the only place that names them.

`ROOMS` names the kinds, in the order a lesson is usually flown; a module is loaded when it is first asked for.
"""

from __future__ import annotations

import importlib
from types import ModuleType

ROOMS: tuple[str, ...] = (
    "takeoff", "short_field_takeoff", "soft_field_takeoff", "climb", "straight_and_level", "level_turn", "descent",
    "tank_change", "leaning", "instrument_basics", "clearing_turn", "slow_flight", "power_off_stall", "power_on_stall",
    "accelerated_stall", "unusual_attitude", "steep_turn", "steep_spiral", "chandelle", "lazy_eight",
    "eights_on_pylons", "rectangular_course", "s_turns", "turns_around_point", "emergency_descent", "glide",
    "forward_slip", "power_off_180", "traffic_pattern", "go_around", "touch_and_go", "landing", "short_field_landing",
    "soft_field_landing",
)  # fmt: skip


def room(kind: str) -> ModuleType:
    """The module of a kind. KeyError for a kind without a room."""
    if kind not in ROOMS:
        raise KeyError(kind)
    return importlib.import_module(f"airwork.maneuvers.{kind}")
