"""How far the typing has come: what a briefing needs, what is there, and what will be refused without it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

# What a briefing reads, in the order of a handbook: the table, its name, and what is refused without it.
NEEDED: tuple[tuple[str, str, str], ...] = (
    ("fuel", "tanks", "fuel on board"),
    ("airspeed_calibration", "airspeed calibration", "calibrated speeds (taken as indicated)"),
    ("v_speeds", "V-speeds", "speeds to fly"),
    ("limitations", "limits", "limits on the card"),
    ("weight_and_balance", "loading", "weight and balance"),
    ("performance.stall", "stall speeds", "stall speeds by weight and flaps"),
    ("performance.cruise", "cruise", "fuel flow and cruise speed"),
    ("performance.climb", "climb", "rate of climb"),
    ("performance.takeoff", "takeoff", "takeoff distance"),
    ("performance.landing", "landing", "landing distance"),
    ("performance.glide", "glide", "glide distance"),
)


@dataclass(frozen=True, slots=True)
class Progress:
    """What a briefing needs. given, missing : names; refused : what is not answered without the missing ones."""

    given: tuple[str, ...]
    missing: tuple[str, ...]
    refused: tuple[str, ...]

    def __str__(self) -> str:
        whole = len(self.given) + len(self.missing)
        if not self.missing:
            return f"A briefing has all {whole} tables it asks."
        return (
            f"A briefing has {len(self.given)} of {whole} tables; missing: {', '.join(self.missing)}. "
            f"Refused without them: {', '.join(self.refused)}."
        )


def progress(data: Mapping[str, Any]) -> Progress:
    """How far a file's data has come.

    data : the file as plain data, its own keys.
    """
    found = [(name, refused, bool(at(data, path))) for path, name, refused in NEEDED]
    missing = [(name, refused) for name, refused, there in found if not there]
    return Progress(
        tuple(name for name, _, there in found if there), tuple(n for n, _ in missing), tuple(r for _, r in missing)
    )


def at(data: Mapping[str, Any], path: str) -> Any:
    """What stands at a dotted path; None where nothing does."""
    node: Any = data
    for part in path.split("."):
        node = node.get(part) if isinstance(node, Mapping) else None
    return node
