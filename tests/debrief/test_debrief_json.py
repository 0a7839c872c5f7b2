"""The debrief as JSON: the contract's schema, the keys promised, honest gaps, and the record of the flight."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

from airwork.airplane import load_airplane
from airwork.debrief import LessonPlan, debrief
from airwork.debrief.plan import PlannedChange
from airwork.maneuvers import rooms
from airwork.recording.flight import Column, Flight, Mend
from airwork.standards import available, load_standard
from airwork.units import FT_M
from flightbuilder import Builder, lesson

SCHEMA = json.loads(resources.files("airwork.debrief").joinpath("debrief.schema.json").read_text("utf-8"))
CHECK = jsonschema.Draft202012Validator(SCHEMA)

MEASURED = {
    "entry_altitude_ft", "exit_altitude_ft", "max_altitude_ft", "min_altitude_ft", "max_altitude_error_ft",
    "min_altitude_error_ft", "entry_ias_kt", "max_ias_kt", "min_ias_kt", "mean_ias_kt", "max_bank_deg",
    "steady_mean_bank_deg", "heading_change_deg", "altitude_lost_from_entry_ft", "mean_tas_kt", "wind_from_deg",
    "wind_kt",
}  # fmt: skip


@lru_cache(maxsize=1)
def flown() -> Builder:
    """A private lesson."""
    return lesson(wind_kt=14.0, skill=0.7)


def made(flight: Flight, standard: str = "private", **more: Any) -> dict[str, Any]:
    """The JSON of a debrief, through text and back, valid by the schema."""
    data = json.loads(json.dumps(debrief(flight, standard=load_standard(standard), **more).as_json(), allow_nan=False))
    CHECK.validate(data)
    return data


def test_the_schema_is_one_and_takes_the_kinds_of_the_rooms() -> None:
    """Every kind that can be graded, a new one too; what is no such name, and every unknown key, is refused."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    kind = jsonschema.Draft202012Validator(SCHEMA["$defs"]["kind"])
    assert all(kind.is_valid(one.kind) for one in rooms())
    assert not kind.is_valid("Steep turn")
    with pytest.raises(jsonschema.ValidationError):
        CHECK.validate({"flight": {}, "quality": [], "wind": [], "episodes": [], "fuel": {}, "notes": [], "more": 1})


def test_a_lesson_is_a_valid_debrief_with_the_promised_numbers() -> None:
    """Top-level keys in order, each maneuver with the measured keys, times in seconds and UTC."""
    data = made(flown().flight())
    assert list(data) == ["flight", "quality", "wind", "episodes", "fuel", "notes", "first"]
    steep = [e for e in data["episodes"] if e["kind"] == "steep_turn"]
    assert len(steep) == 2
    for e in steep:
        assert set(e["measured"]) >= MEASURED
        assert {p["name"] for p in e["phases"]} == {"entry", "established", "recovery"}
        assert e["start_utc"].endswith("Z")
        assert [c["name"] for c in e["criteria"]] == ["altitude", "airspeed", "bank", "roll-out heading"]
        assert {"limit", "worst", "within_fraction", "verdict", "why", "low", "high", "unit"} <= set(e["criteria"][0])
    starts = [e["start_s"] for e in data["episodes"]]
    assert starts == sorted(starts)


def test_a_lesson_of_another_airplane_or_day_is_remarked_on(airplane_folder: Path) -> None:
    """Its own airplane and day bring no remark; another's targets may not fit."""
    flight = replace(flown().flight(), start_utc_s=1_780_000_000.0)
    airplane = load_airplane(airplane_folder / "larkmoor_155.toml")
    own = LessonPlan(airplane_id=airplane.id, start_utc_s=flight.start_utc_s + 7200.0)
    other = replace(own, airplane_id="caldmere_200", airplane_name="Caldmere 200", start_utc_s=1_779_000_000.0)

    def said(plan: LessonPlan) -> list[str]:
        return [n for n in made(flight, airplane=airplane, briefing=plan)["notes"] if n.startswith("The lesson is")]

    assert said(own) == []
    remarks = said(other)
    assert len(remarks) == 2
    assert "Caldmere 200" in remarks[0]
    assert "2026-05-17" in remarks[1]


@pytest.mark.parametrize("standard", sorted(available()))
def test_every_shipped_standard_grades_the_same_lesson(standard: str) -> None:
    """Valid by the schema, and every criterion of every task is answered."""
    data = made(flown().flight(rate_hz=5.0), standard)
    known = load_standard(standard)
    for e in data["episodes"]:
        names = [c["name"] for c in e["criteria"]]
        assert [c.name for c in known.task(e["kind"]).criteria] == names[: len(known.task(e["kind"]).criteria)]


def test_position_alone_says_what_it_can_not_know() -> None:
    """No indicated airspeed anywhere, notes that say so, lower certainty for what rests on airspeed."""
    full, alone = made(flown().flight()), made(flown().flight(gps_only=True, rate_hz=1.0))
    assert alone["flight"]["known_from"]["airspeed"] == "ground speed and wind"
    assert any("airspeed is never judged" in note for note in alone["notes"])
    assert not any("ias" in key for e in alone["episodes"] for key in e["measured"])

    def sure(data: dict[str, Any], kind: str) -> float:
        return max(e["confidence"] for e in data["episodes"] if e["kind"] == kind)

    assert sure(alone, "slow_flight") < sure(full, "slow_flight")


def test_an_airplane_adds_the_margin_to_the_stall(airplane_folder: Path) -> None:
    """With an airplane file: least margin in kt, negative at the stall's break; percent power judged."""
    airplane = load_airplane(airplane_folder / "larkmoor_155.toml")
    flight = flown().flight()
    flight = flight.with_columns({"cas_mps": Column(flight["ias_mps"], "derived")})
    data = made(flight, airplane=airplane, mass_kg=900.0)
    stall = next(e for e in data["episodes"] if e["kind"] == "power_off_stall")
    steep = next(e for e in data["episodes"] if e["kind"] == "steep_turn")
    assert stall["measured"]["min_stall_margin_kt"] < 6.0
    assert 15.0 < steep["measured"]["min_stall_margin_kt"] < 45.0
    assert data["flight"]["airplane"] == "Larkmoor 155"


def test_an_empty_recording_is_a_debrief_without_maneuvers() -> None:
    """Nothing to see is an answer."""
    flight = Flight(float("nan"), np.arange(3.0), {"altitude_m": Column(np.zeros(3), "measured")})
    data = made(flight)
    assert data["episodes"] == []
    assert data["flight"]["start_utc"] is None
    assert data["first"][0]["heading"] == "not known"


def test_mended_columns_and_notes_are_in_the_quality() -> None:
    """What was found dirty is told with its count and place."""
    flight = replace(flown().flight(), mends=(Mend("20 rows with an impossible time dropped", 20, 1.0, 9.0, "time"),))
    data = made(flight)
    assert {"about": "mended", "what": "20 rows with an impossible time dropped", "count": 20, "column": "time",
            "first_s": 1.0, "last_s": 9.0} in data["quality"]  # fmt: skip
    assert {row["column"] for row in data["quality"] if row["about"] == "column"} == set(flight.columns)


def test_clearing_turns_are_looked_for_before_each_series() -> None:
    """The lesson clears once before slow flight and never before the steep turns."""
    rows = made(flown().flight())["flight"]["clearing_turns"]
    assert rows[0]["for"] == "slow_flight"
    assert rows[0]["cleared"]
    data = made(flown().flight())
    assert (not all(row["cleared"] for row in rows)) == any("No clearing turn" in n for n in data["notes"])


def test_fuel_and_tanks_are_held_against_the_plan() -> None:
    """Fuel from the flow, one change of tank 400 s later than planned, one planned and never made."""
    b = Builder(altitude_ft=800.0)
    b.takeoff()
    b.climb(3500.0)
    b.hold(200.0)
    b.tank_change()
    b.hold(200.0)
    flight = b.flight(rate_hz=2.0)
    n = len(flight)
    flow = 8.0 * 0.003785411784 / 3600.0  # 8 gal/h
    flight = flight.with_columns({"fuel_flow_m3ps": Column(np.full(n, flow), "measured")})
    off = next(e.start_s for e in b.truth if e.kind == "takeoff") + 20.0
    changed = next(e.start_s for e in b.truth if e.kind == "tank_change") + 5.0
    at = 600.0 + changed - off
    changes = (PlannedChange(at - 400.0, "left", "right"), PlannedChange(at + 60.0, "right", "left"))
    plan = LessonPlan(fuel_m3=0.01, takeoff_s=600.0, changes=changes)
    fuel = made(flight, briefing=plan)["fuel"]
    assert fuel["used_gal"] == pytest.approx(8.0 * b.t / 3600.0, rel=0.01)
    assert fuel["planned_gal"] == pytest.approx(2.64, abs=0.01)
    first, second = fuel["tank_changes"]
    assert first["late_s"] == pytest.approx(400.0, abs=12.0)
    assert second["missed"]
    notes = made(flight, briefing=plan)["notes"]
    assert any("later than planned" in note for note in notes)
    assert any("was not made" in note for note in notes)


def test_power_time_adds_up_to_the_time_in_the_air() -> None:
    """Shares of percent power sum to one."""
    data = made(flown().flight())
    assert sum(row["fraction"] for row in data["fuel"]["power_time"]) == pytest.approx(1.0, abs=0.01)


def test_leaving_area_and_floor_is_recorded() -> None:
    """An area that ends short of the steep turns, and a floor above the stall's recovery."""
    flight = flown().flight()
    lat, lon = 0.8, 0.2
    north, east = flight["north_m"] / 6_371_000.0, flight["east_m"] / (6_371_000.0 * np.cos(lat))
    flight = flight.with_columns(
        {"latitude_rad": Column(lat + north, "measured"), "longitude_rad": Column(lon + east, "measured")}
    )
    steep = next(t for t in flown().truth if t.kind == "steep_turn")
    edge = float(lat + north[flight.index_at(steep.start_s)]) - 1e-5
    far = 0.2
    corners = ((lat - far, lon - far), (lat - far, lon + far), (edge, lon + far), (edge, lon - far))
    plan = LessonPlan(corners_rad=corners, floor_m=3400.0 * FT_M, ceiling_m=6000.0 * FT_M)
    rows = made(flight, briefing=plan)["flight"]["excursions"]
    assert any(row["what"] == "outside the practice area" and row["during"] == "steep_turn" for row in rows)
    wide = ((lat - far, lon - far), (lat - far, lon + far), (lat + far, lon + far), (lat + far, lon - far))
    within = made(flight, briefing=LessonPlan(corners_rad=wide))["flight"]["excursions"]
    assert not any(row["what"] == "outside the practice area" for row in within)
    assert any(row["what"] == "below the area's floor" and row["during"] == "power_off_stall" for row in rows)
    assert not any("ceiling" in row["what"] for row in rows)


def test_the_debrief_can_be_taken_into_the_logbook() -> None:
    """The logbook's own reader accepts it and finds flight, standard and contacts."""
    from airwork.logbook.debrief_json import read_debrief

    facts = read_debrief(made(flown().flight()))
    assert facts.standard_name == "us_private"
    assert facts.duration_s > 600.0
    assert {kind for kind, _ in facts.contacts} == {"takeoff", "landing"}
    assert facts.wind
