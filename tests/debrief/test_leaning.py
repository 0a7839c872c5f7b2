"""Leaning seen in a recording, against the flight whose engine was leaned and whose mixture is known."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from airwork.airplane import load_airplane
from airwork.debrief import debrief
from airwork.recording import read_flight
from airwork.standards import load_standard

DEMO = Path(str(resources.files("airwork"))) / "demo_files"


def test_leaned_in_cruise_and_rich_in_the_climb() -> None:
    """Source: JSBSim with the engine of `bench/flying/invented_flight.py`, which burns the handbook's best-power flow
    above 1,500 m of density altitude when the throttle is not full, and full rich else."""
    airplane = load_airplane(DEMO / "airplanes/larkmoor_155.toml")
    flight = read_flight(DEMO / "recordings/2025-09-20_stalls_over_the_lake.csv.gz", airplane=airplane)
    found = debrief(flight, standard=load_standard("private"), airplane=airplane).fuel["leaning"]
    assert found
    seconds = np.zeros(int(flight.time_s[-1]) + 1, dtype=bool)
    for stretch in found:
        seconds[int(stretch["start_s"]) : int(stretch["end_s"])] = True
        assert stretch["flow_share_of_full_rich"] == pytest.approx(0.90, abs=0.015)  # its table: 7.2 of 8.0 gal/h
        assert not stretch["above_limit"]
    assert not seconds[60:370].any()  # full throttle from the takeoff to the level-off
    assert seconds[2790:3340].mean() > 0.95  # nine minutes of level flight


def test_leaned_too_high_several_times_is_one_line_with_the_highest_power() -> None:
    """The same flight with four fifths of every flow but in half a minute of the climb: leaned before and after it."""
    airplane = load_airplane(DEMO / "airplanes/larkmoor_155.toml")
    flight = read_flight(DEMO / "recordings/2025-09-20_stalls_over_the_lake.csv.gz", airplane=airplane)
    flow, rich = flight.columns["fuel_flow_m3ps"], (flight.time_s > 80.0) & (flight.time_s < 110.0)
    flight = flight.with_columns({"fuel_flow_m3ps": replace(flow, values=np.where(rich, 1.0, 0.8) * flow.values)})
    found = debrief(flight, standard=load_standard("private"), airplane=airplane)
    above = [row for row in found.fuel["leaning"] if row.get("above_limit")]
    (line,) = [note for note in found.notes if note.startswith("Leaned at")]
    assert len(above) > 1
    most = max(row["power_pct"] for row in above)
    assert line.startswith(f"Leaned at {most} % power ({len(above)} times); the airplane file allows leaning up to ")
