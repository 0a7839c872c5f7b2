"""The truth of a flight agrees with its own columns, and its marks look like the maneuvers they name."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from flying.flight import Flown
from flying.plan import HEIGHTS

from airwork.units import FT_M, KT_MPS
from flying import export, kinematic_lessons

TRAINED = {
    *HEIGHTS,
    "takeoff",
    "landing",
    "touch_and_go",
    "go_around",
    "traffic_pattern",
    "clearing_turn",
    "tank_change",
}


def episode(flown: Flown, kind: str) -> dict[str, object]:
    return next(e for e in flown.truth()["episodes"] if e["kind"] == kind and e["intended"])  # type: ignore[union-attr]


def columns_of(flown: Flown, found: dict[str, object]) -> dict[str, np.ndarray]:
    start = flown.columns["time_s"][0]
    t = flown.columns["time_s"] - start
    inside = (t >= found["start_s"]) & (t <= found["end_s"])
    return {name: values[inside] for name, values in flown.columns.items()}


def test_deviations_in_the_truth_are_those_of_the_columns(stall_lesson: Flown) -> None:
    found = episode(stall_lesson, "slow_flight")
    part, truth = columns_of(stall_lesson, found), found["truth"]
    altitude_ft = part["indicated_altitude_m"] / FT_M
    assert truth["max_altitude_error_ft"] == pytest.approx(altitude_ft.max() - altitude_ft[0], abs=1.0)
    assert truth["min_ias_kt"] == pytest.approx(part["ias_mps"].min() / KT_MPS, abs=0.1)
    assert truth["max_bank_deg"] == pytest.approx(np.degrees(np.abs(part["bank_rad"])).max(), abs=0.1)


def test_the_wheels_touch_when_the_truth_file_says(stall_lesson: Flown) -> None:
    """Its times run from the first sample; the simulator's own clock began earlier."""
    found = episode(stall_lesson, "landing")
    t = stall_lesson.columns["time_s"] - stall_lesson.columns["time_s"][0]
    touch_s = found["notes"]["touchdown_s"]  # type: ignore[index]
    high_m, low_m = np.interp([touch_s - 3.0, touch_s + 3.0], t, stall_lesson.columns["agl_m"])
    assert found["start_s"] < touch_s < found["end_s"]  # type: ignore[operator]
    assert high_m > low_m + 0.3
    assert abs(low_m - stall_lesson.columns["agl_m"][-1]) < 0.3


def test_the_recording_differs_from_the_truth_by_no_more_than_its_sensors(stall_lesson: Flown) -> None:
    true, kept = stall_lesson.columns, stall_lesson.recorded
    assert np.abs(kept["indicated_altitude_m"] - true["indicated_altitude_m"]).max() < 5.0
    assert 0.05 < np.std(kept["ias_mps"] - true["ias_mps"]) < 1.0
    north_m = (kept["latitude_rad"] - true["latitude_rad"]) * 6_371_000.0
    assert 0.3 < np.std(north_m) < 5.0


def test_a_stall_slows_to_the_stall_and_recovers(stall_lesson: Flown) -> None:
    found = episode(stall_lesson, "power_off_stall")
    part = columns_of(stall_lesson, found)
    assert part["ias_mps"].min() < 53.0 * KT_MPS  # flaps up in a bank at the most
    assert part["stall_warning"].max() == 1.0
    assert part["ias_mps"][-1] > 60.0 * KT_MPS
    assert part["vertical_speed_mps"][-1] > 0.0


def test_intended_marks_don_t_overlap_but_for_tank_changes(stall_lesson: Flown) -> None:
    spans = [(e["start_s"], e["end_s"]) for e in stall_lesson.truth()["episodes"] if e["kind"] != "tank_change"]  # type: ignore[union-attr]
    spans.sort()
    assert all(a[1] <= b[0] + 0.2 for a, b in pairwise(spans))


@pytest.fixture(scope="module")
def kinematic() -> Flown:
    return kinematic_lessons.fly(kinematic_lessons.draw_kinematic_plan(11, "private_test"))


@pytest.mark.parametrize("lesson", ["stall_lesson", "kinematic"])
def test_a_steep_turn_goes_round_in_the_right_direction(lesson: str, request: pytest.FixtureRequest) -> None:
    """Of the simulated lesson one turn each way; 360° less what is rolled out."""
    flown: Flown = request.getfixturevalue(lesson)
    turns = [e for e in flown.truth()["episodes"] if e["kind"] == "steep_turn"]  # type: ignore[union-attr]
    assert turns
    for turn in turns:
        sign = math.copysign(1.0, turn["targets"]["turn_deg"])
        assert 280.0 < sign * turn["truth"]["heading_change_deg"] < 420.0
        assert 28.0 < turn["truth"]["steady_mean_bank_deg"] < 60.0
    kinds = {e["kind"] for e in flown.truth()["episodes"]}  # type: ignore[union-attr]
    assert kinds <= TRAINED


def test_a_flight_without_training_has_no_exercise_in_it() -> None:
    flown = kinematic_lessons.fly(kinematic_lessons.draw_kinematic_plan(5, "sightseeing"))
    intended = {m.kind for m in flown.marks if m.intended}
    assert intended <= {"takeoff", "landing", "traffic_pattern"}


def test_the_kinematic_climb_rate_is_the_slope_of_its_altitude(kinematic: Flown) -> None:
    c = kinematic.columns
    slope = np.gradient(c["altitude_m"], c["time_s"])
    flying = np.convolve(c["on_ground"], np.ones(5), "same") == 0.0  # not where the wheels leave or touch the ground
    np.testing.assert_allclose(slope[flying], c["vertical_speed_mps"][flying], atol=0.6)


def test_the_same_plan_writes_the_same_files(tmp_path: Path) -> None:
    """The whole flight number for number, and its first five minutes in every format."""
    plan = kinematic_lessons.draw_kinematic_plan(3, "pattern")
    flights = [kinematic_lessons.fly(plan) for _ in range(2)]
    one, other = flights
    for name in ("columns", "recorded"):
        assert getattr(one, name).keys() == getattr(other, name).keys()
        for column, values in getattr(one, name).items():
            np.testing.assert_array_equal(values, getattr(other, name)[column], column)
    assert one.truth() == other.truth()
    for flown, folder in zip(flights, ("a", "b"), strict=True):
        export.write(_begun(flown, 300.0), tmp_path / folder, tuple(export.FORMATS))
    written = sorted((tmp_path / "a").iterdir())
    assert len(written) == len(export.FORMATS)
    for path in written:
        assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes(), path.name
    truth = json.loads((tmp_path / "a" / f"{plan.name}.truth.json").read_text(encoding="utf-8"))
    assert {"wind_profile", "episodes", "setting_inhg", "start_mass_lb"} <= set(truth)


def _begun(flown: Flown, seconds: float) -> Flown:
    rows = round(seconds * flown.rate_hz)
    first = {name: values[:rows] for name, values in flown.columns.items()}
    seen = {name: values[:rows] for name, values in flown.recorded.items()}
    return replace(flown, columns=first, recorded=seen, marks=[m for m in flown.marks if m.end_s < first["time_s"][-1]])
