"""Each ideal path, flown between two straight stretches, is seen by its own room: two halves written apart agree."""

from __future__ import annotations

import numpy as np
import pytest

from airwork.maneuvers import room, rooms
from airwork.maneuvers.declared import Role
from airwork.maneuvers.seeing.view_building import build_view
from airwork.maneuvers.setup import Trace
from airwork.recording.flight import Column, Flight
from maneuvers.days import AIRPLANES, ideal

STEP_S, AROUND_S = 0.5, 60.0
LEVEL_OUT = {
    "bank_rad": 0.0,
    "turn_rate_radps": 0.0,
    "vertical_speed_mps": 0.0,
    "flight_path_rad": 0.0,
    "load_factor": 1.0,
}
# Work at the field needs a runway; the ideal of an accelerated stall breaks at the 1 g speed of the table.
SEEN = [
    one.kind for one in rooms()
    if one.propose is not None and one.role in (Role.EXERCISE, Role.PASSAGE) and one.kind != "accelerated_stall"
]  # fmt: skip


def as_flight(trace: Trace) -> Flight:
    """A recording of the ideal with a minute of straight and level flight before and after."""
    time = np.arange(0.0, trace.time_s[-1], STEP_S)
    count = round(AROUND_S / STEP_S)
    columns: dict[str, np.ndarray] = {}
    for name, values in trace.columns.items():
        turning = name in {"heading_rad", "heading_mag_rad", "track_rad"}
        inner = np.interp(time, trace.time_s, np.unwrap(values) if turning else values)
        before, after = (np.full(count, LEVEL_OUT.get(name, inner[k])) for k in (0, -1))
        columns[name] = np.concatenate([before, inner, after])
    for name, part in (("east_m", np.sin), ("north_m", np.cos)):
        v = columns["groundspeed_mps"] * part(columns["track_rad"])
        columns[name] = np.concatenate([[0.0], np.cumsum(0.5 * (v[1:] + v[:-1]) * STEP_S)])
    columns["indicated_altitude_m"] = columns["altitude_m"]
    whole = np.arange(columns["tas_mps"].size) * STEP_S
    return Flight(float("nan"), whole, {name: Column(values, "measured") for name, values in columns.items()})


@pytest.mark.parametrize("kind", SEEN)
def test_the_ideal_of_a_room_is_seen_by_the_room(kind: str) -> None:
    """In 15 kt of wind, three airplanes: sure proposals of the same kind, over most of the path's time. An ideal may
    hold two of it: a nose-high attitude and a nose-low one.
    """
    for name in AIRPLANES:
        _, trace = ideal(kind, name, "standard, 15 kt")
        view = build_view(as_flight(trace))
        assert view is not None
        found = room(kind).seen(view)
        assert found, name
        times = AROUND_S + np.asarray(trace.time_s)
        within = np.any([(times >= e.start_s) & (times <= e.end_s) for e in found if e.score > 0.6], axis=0)
        assert np.mean(within) > 0.3, (name, [(e.score, e.start_s, e.end_s) for e in found])
