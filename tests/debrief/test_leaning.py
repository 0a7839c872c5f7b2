"""Fuel, tanks, power of a recording; leaning against the flight whose engine was leaned and whose mixture is known."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from airwork.airplane import Airplane, load_airplane
from airwork.debrief import LessonPlan, debrief
from airwork.debrief.fuel_record import _weights, fuel_record
from airwork.debrief.plan import PlannedChange
from airwork.errors import AirworkError
from airwork.maneuvers.episode import Episode
from airwork.recording import read_flight
from airwork.recording.flight import Column, Flight
from airwork.standards import load_standard
from approaches import desk

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


GAL = 0.003785411784  # m³ in a us gallon, exactly


def flown(seconds: int = 3000, **columns: object) -> Flight:
    """At one sample a second, level; columns as numbers or functions of the time."""
    t = np.arange(float(seconds))
    made = {"altitude_m": 1500.0, "agl_m": 900.0, "ias_mps": 50.0, "groundspeed_mps": 50.0, **columns}
    values = {k: Column(what(t) if callable(what) else 0.0 * t + what, "measured") for k, what in made.items()}  # type: ignore[operator]
    return Flight(1.75e9, t, values, source={"name": "drawn"})


def record(flight: Flight, *episodes: Episode, plan: LessonPlan | None = None) -> tuple[dict[str, Any], list[str]]:
    return fuel_record(desk(flight)[0], episodes, plan or LessonPlan())


def changed(at_s: float, to: float = 2.0) -> Episode:
    return Episode("tank_change", at_s - 5.0, at_s + 5.0, 1.0, facts={"changed_s": at_s, "from": 3.0 - to, "to": to})


def test_fuel_is_added_up_and_held_against_the_plan() -> None:
    """8 gal/h for 2,999 s are 6.66 gal, by hand; 1.5 gal planned less are 5.16 gal under it."""
    out, _ = record(flown(fuel_flow_m3ps=8.0 * GAL / 3600.0), plan=LessonPlan(fuel_m3=1.5 * GAL))
    assert (out["used_gal"], out["planned_gal"], out["over_plan_gal"]) == (6.66, 1.5, 5.16)
    assert out["how"] == "fuel flow added up"
    gauges, _ = record(flown(fuel_total_m3=lambda t: (20.0 - t / 600.0) * GAL))
    assert (gauges["used_gal"], gauges["how"]) == (pytest.approx(5.0, abs=0.02), "from the gauges")
    nothing, _ = record(flown(), plan=LessonPlan(fuel_m3=1.5 * GAL))
    assert ("used_gal" in nothing, nothing["planned_gal"], "over_plan_gal" in nothing) == (False, 1.5, False)


@pytest.mark.parametrize(
    ("agl_m", "told"), [(299.0, ["Tank changed at 981 ft above ground: change with height in hand."]), (301.0, [])]
)
def test_a_tank_changed_low_is_told(agl_m: float, told: list[str]) -> None:
    """Below 300 m."""
    out, notes = record(flown(agl_m=agl_m, tank=1.0), changed(1000.0))
    (row,) = out["tank_changes"]
    assert (row["time_s"], row["from"], row["to"], row["agl_ft"]) == (1000.0, "left", "right", round(agl_m / 0.3048))
    assert [n for n in notes if "above ground" in n] == told


@pytest.mark.parametrize(
    ("kind", "span", "told"),
    [
        ("steep_turn", (990.0, 1010.0), True),
        ("climb", (990.0, 1010.0), False),
        ("steep_turn", (1000.0, 1010.0), False),
        ("steep_turn", (990.0, 1000.0), False),
        ("traffic_pattern", (990.0, 1010.0), False),
    ],
)
def test_a_tank_changed_in_an_exercise_is_told(kind: str, span: tuple[float, float], told: bool) -> None:
    out, notes = record(flown(tank=1.0), changed(1000.0), Episode(kind, *span, 1.0))
    assert out["tank_changes"][0].get("during") == ("steep_turn" if told else None)
    assert any("Tank changed during steep turn" in n for n in notes) is told


@pytest.mark.parametrize(("late_s", "told"), [(299.0, False), (301.0, True), (-400.0, False)])
def test_planned_changes_are_answered_in_order_and_those_left_were_missed(late_s: float, told: bool) -> None:
    """Takeoff planned at 600 s, flown at 100 s: the change of 1,100 s is due at 600 s; five minutes are late."""
    off = Episode("takeoff", 80.0, 130.0, 1.0, facts={"off_s": 100.0})
    plans = tuple(
        PlannedChange(t, a, b)
        for t, a, b in (
            (1100.0, "left", "right"),
            (3000.0, "right", "left"),
            (3498.0, "left", "right"),
            (3499.0, "right", "left"),
        )
    )
    plan = LessonPlan(takeoff_s=600.0, changes=plans)
    out, notes = record(flown(tank=1.0), off, changed(600.0 + late_s), plan=plan)
    made, *missed = out["tank_changes"]
    assert (made["planned_s"], made["late_s"]) == (600.0, late_s)
    assert ([n for n in notes if "later than planned" in n] == ["Tank changed 5 min later than planned."]) is told
    assert [(row["planned_s"], row["missed"]) for row in missed] == [
        (2500.0, True),
        (2998.0, True),
    ]  # it ends at 2,999 s
    assert sum("was not made" in n for n in notes) == 2
    assert "missed" not in str(record(flown(), off, plan=plan)[0])  # nothing shows the tank


def test_tanks_apart_and_the_longest_on_one() -> None:
    """46 minutes on the right tank after four on the left; 45 are still usual. 3 gal between them at the most."""
    both = {"fuel_left_m3": 20.0 * GAL, "fuel_right_m3": lambda t: (20.0 - 3.0 * t / 2999.0) * GAL}
    out, notes = record(flown(tank=lambda t: np.where(t < 239.0, 1.0, 2.0), **both))
    assert (out["most_imbalance_gal"], out["longest_on_one_tank_min"]) == (pytest.approx(3.0, abs=0.05), 46.0)
    assert notes == ["46 min on one tank without a change (common practice: every 30 min)."]
    out, notes = record(flown(tank=lambda t: np.where(t < 300.0, 2.0, 1.0)))
    assert (out["longest_on_one_tank_min"], notes) == (45.0, [])
    assert "longest_on_one_tank_min" not in record(flown(tank=np.nan))[0]


def test_time_in_each_band_of_power() -> None:
    """A tenth of the time at each of 20, 40, 50, 60, 70, 80, 100 %, the rest at just 75 %, which is the next one's."""
    shares = [0.2, 0.4, 0.5, 0.6, 0.7, 0.8, 1.0, 0.75, 0.75, 0.75]
    flight = flown(power_ratio=lambda t: np.array(shares)[(t // 300).astype(int)])
    rows = record(flight)[0]["power_time"]
    assert [(row["from_pct"], row["to_pct"]) for row in rows] == [
        (0, 30),
        (30, 45),
        (45, 55),
        (55, 65),
        (65, 75),
        (75, 85),
        (85, None),
    ]
    assert [row["seconds"] for row in rows] == [300.0, 300.0, 300.0, 300.0, 300.0, 1199.0, 300.0]
    assert [row["fraction"] for row in rows] == [0.1, 0.1, 0.1, 0.1, 0.1, 0.4, 0.1]


def test_a_gap_counts_as_a_few_samples() -> None:
    """A hundred seconds not recorded are five of those around them; the last sample stands for none."""
    time = np.r_[np.arange(0.0, 50.0), np.arange(150.0, 200.0)]
    assert _weights(time).sum() == 98.0 + 5.0
    assert _weights(time)[49] == 5.0
    assert _weights(time)[-1] == 0.0


@pytest.mark.parametrize(("seconds", "told"), [(200, True), (32, True), (30, False)])
def test_leaned_for_half_a_minute_is_a_stretch_with_its_ends(seconds: int, told: bool) -> None:
    """Four fifths of the full-rich flow at 60 % power from 1,000 s on; the file leans up to its own limit."""
    airplane = load_airplane(DEMO / "airplanes/larkmoor_155.toml")
    rich = airplane.fuel_flow_m3ps(0.6, "full_rich")
    inside = lambda t: (t >= 1000.0) & (t < 1000.0 + seconds)  # noqa: E731
    flight = flown(power_ratio=0.6, fuel_flow_m3ps=lambda t: np.where(inside(t), 0.8, 1.0) * rich)
    rows = fuel_record(desk(flight, airplane=airplane)[0], (), LessonPlan())[0]["leaning"]
    limit = next(p for p in range(100, 0, -1) if allows(airplane, p / 100.0))
    assert rows == ([{"start_s": 1000.0, "end_s": 999.0 + seconds, "flow_share_of_full_rich": 0.8, "power_pct": 60,
                      "limit_pct": limit, "above_limit": False}] if told else [])  # fmt: skip
    derived = flight.with_columns({"fuel_flow_m3ps": replace(flight.columns["fuel_flow_m3ps"], known="derived")})
    assert fuel_record(desk(derived, airplane=airplane)[0], (), LessonPlan())[0]["leaning"] == []


def allows(airplane: Airplane, power: float) -> bool:
    try:
        airplane.fuel_flow_m3ps(power, "best_economy")
    except AirworkError:
        return False
    return True


@pytest.mark.parametrize(("over", "above"), [(0.015, False), (0.025, True)])
def test_leaned_above_the_limit_is_told_from_two_points_on(over: float, above: bool) -> None:
    airplane = load_airplane(DEMO / "airplanes/larkmoor_155.toml")
    limit = next(p for p in range(100, 0, -1) if allows(airplane, p / 100.0)) / 100.0
    rich = airplane.fuel_flow_m3ps(limit + over, "full_rich")
    flight = flown(power_ratio=limit + over, fuel_flow_m3ps=lambda t: np.where(t < 100.0, 0.8, 1.0) * rich)
    out, notes = fuel_record(desk(flight, airplane=airplane)[0], (), LessonPlan())
    assert [row["above_limit"] for row in out["leaning"]] == [above]
    said = f"Leaned at {100 * (limit + over):.0f} % power; the airplane file allows leaning up to {100 * limit:.0f} %."
    assert notes == ([said] if above else [])
