"""Wrong units and signs found out: a speed in mph under the name of knots, feet called metres, a bank turned over."""

from __future__ import annotations

from airwork.recording.recorded import Recorded


def check_units(recorded: Recorded) -> None:
    """Hold columns against each other and put right what is clearly off."""
