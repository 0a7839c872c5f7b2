"""What the rooms and the arbiter make of one built flight, and whether it is what was flown."""

from __future__ import annotations

import pytest

from airwork.debrief import recognize
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording.flight import Flight
from flightbuilder import Builder, True_

PLAIN = ("climb", "descent", "straight_and_level")
BOTH = pytest.mark.parametrize("position", [False, True], ids=["full", "position"])


def story(b: Builder, *, position: bool = False, rate_hz: float | None = None) -> list[Episode]:
    """What the rooms and the arbiter make of it."""
    flight: Flight = b.flight(gps_only=position, rate_hz=rate_hz or (1.0 if position else 5.0))
    view = build_view(flight)
    assert view is not None
    return recognize(view)


def in_air(ft: float = 4500.0, kt: float = 100.0, **more: float) -> Builder:
    """Already in the air and level; a minute of it."""
    b = Builder(altitude_ft=ft, speed_kt=kt * 1.07, **more)
    b.level_ft = ft
    b.hold(60.0, kt=kt)
    return b


def is_found(flown: True_, found: list[Episode], share: float = 0.5) -> bool:
    """An episode of its kind lies over it."""

    def over(e: Episode) -> float:
        both = min(flown.end_s, e.end_s) - max(flown.start_s, e.start_s)
        return both / (max(flown.end_s, e.end_s) - min(flown.start_s, e.start_s))

    return any(e.kind == flown.kind and over(e) >= share for e in found)


def kinds(found: list[Episode]) -> list[str]:
    """Kinds of the maneuvers, in order; the plain flying between left out."""
    return [e.kind for e in found if e.kind not in PLAIN]
