"""What a recorded flight says of its airplane: an energy balance over short windows of all usable flight.

`flown_of(flight, airplane, …)` gives what the performance fit takes (`airplane.performance.flown`). The method, what
it reaches and what it can't are in `docs/performance.md`.
"""

from __future__ import annotations

from airwork.recording.flown.by_path import by_path
from airwork.recording.flown.flown_of import flown_of
from airwork.recording.flown.windows import missing_for_rows, rows_of

__all__ = ["by_path", "flown_of", "missing_for_rows", "rows_of"]
