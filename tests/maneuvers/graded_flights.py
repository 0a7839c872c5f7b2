"""One maneuver built, flown and graded."""

from __future__ import annotations

from collections.abc import Callable

from airwork.debrief import Graded, debrief
from airwork.recording.flight import Flight
from airwork.standards import load_standard
from flightbuilder import Builder

PRIVATE, COMMERCIAL = load_standard("private"), load_standard("commercial")


def high(**more: float) -> Builder:
    """In level flight at 4,500 ft and 95 kt."""
    b = Builder(altitude_ft=4500.0, speed_kt=100.0, **more)  # type: ignore[arg-type]
    b.level_ft = 4500.0
    b.hold(40.0, kt=95.0)
    return b


def graded(b: Builder, kind: str, standard=PRIVATE, *, change: Callable[[Flight], Flight] | None = None, plan=None,  # type: ignore[no-untyped-def]
           **how: bool) -> Graded:  # fmt: skip
    """The one maneuver of a kind in a flight."""
    flight = b.flight(**how)  # type: ignore[arg-type]
    if change is not None:
        flight = change(flight)
    found = [g for g in debrief(flight, standard=standard, briefing=plan).episodes if g.episode.kind == kind]
    assert len(found) == 1, [g.episode.kind for g in debrief(flight, standard=standard).episodes]
    return found[0]


def verdict(g: Graded, name: str) -> str:
    """Verdict of a criterion by name."""
    return next(f.verdict for f in g.grade.findings if f.name == name)


def one_steep_turn(**more: float) -> Builder:
    """A single right steep turn."""
    b = high(**more)
    b.steep_turn(1.0)
    b.hold(40.0)
    return b
