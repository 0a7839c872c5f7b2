"""The debrief as JSON: the contract's schema, the keys promised, honest gaps, and the record of the flight."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import lru_cache
from importlib import resources
from pathlib import Path
from types import SimpleNamespace
from typing import Any, get_args

import jsonschema
import numpy as np
import pytest

from airwork.airplane import load_airplane
from airwork.debrief import Debrief, Graded, LessonPlan, debrief
from airwork.debrief.debrief import _episode_json, _runways
from airwork.debrief.first import Heading
from airwork.debrief.notes import notes_of
from airwork.debrief.plan import PlannedChange, plan_from_json, plan_json, plan_of, seen_as
from airwork.errors import InputError
from airwork.maneuvers import rooms
from airwork.maneuvers.episode import Cause, Episode, Finding, Grade, Phase, Stretch
from airwork.recording.flight import COLUMNS, Column, Flight, GroundContact, Mend
from airwork.standards import available, load_standard
from airwork.units import FT_M
from approaches import approach, desk
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
    """Every kind that can be graded, a new one too, every heading; no other name and no unknown key."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    kind = jsonschema.Draft202012Validator(SCHEMA["$defs"]["kind"])
    assert all(kind.is_valid(one.kind) for one in rooms())
    assert not kind.is_valid("Steep turn")
    assert set(SCHEMA["properties"]["first"]["items"]["properties"]["heading"]["enum"]) == set(get_args(Heading))
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


def test_nobody_is_said_not_to_have_cleared_where_no_heading_was_recorded() -> None:
    """An engine monitor's file: a turn can't be seen in it, so that there was none can't be said either."""
    blind = ("heading_rad", "heading_mag_rad", "track_rad", "east_m", "north_m", "bank_rad")
    data = made(flown().flight(drop=blind, with_wind=False))
    assert any(e["kind"] == "slow_flight" for e in data["episodes"])
    assert data["flight"]["clearing_turns"] == []
    assert "clearing turn" not in str([data["notes"], data["first"], data["episodes"]]).lower()


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


def test_numbers_are_rounded_for_a_reader_and_no_further() -> None:
    """Times to a hundredth of a second, certainty and weights to a thousandth, heights to a foot."""
    whole = Finding("x", "±1", 2.0, "ft", 0.5, "not held", "", first_excursion_s=1.23456)
    cause = Cause("Let go.", "Next.", 1.23456, 2.34567, 1.23456, share=0.56789)
    grade = Grade({}, "", {}, (whole, replace(whole, first_excursion_s=None)), (cause, replace(cause, share=None)),
                  stretches=(Stretch("level", 1.23456, 2.34567, 1000.0), Stretch("entry", 1.0, 2.0)))  # fmt: skip
    e = Episode("steep_turn", 1.23456, 9.87654, 0.87654, (Phase("entry", 1.23456, 2.34567),))
    e = replace(e, instead=replace(e, kind="level_turn"))
    row = _episode_json(Flight(1.75e9, np.arange(3.0), {}), Graded(e, grade))
    limits = {"start_s": 1.23, "end_s": 9.88, "confidence": 0.877}
    assert {k: row[k] for k in limits} == {k: row["instead"][k] for k in limits} == limits
    assert row["start_utc"] == "2025-06-15T15:06:41.234Z"
    assert row["phases"] == [{"name": "entry", "start_s": 1.23, "end_s": 2.35}]
    assert [c["first_excursion_s"] for c in row["criteria"]] == [1.23, None]
    assert [(c["start_s"], c["end_s"], c["weight"], c["share"]) for c in row["causes"]] == [
        (1.23, 2.35, 1.235, 0.57), (1.23, 2.35, 1.235, None)]  # fmt: skip
    assert [(s["start_s"], s["end_s"], s["altitude_ft"]) for s in row["stretches"]] == [(1.23, 2.35, 3281),
                                                                                      (1.0, 2.0, None)]  # fmt: skip


def test_the_recording_is_described_in_printed_units() -> None:
    """A third of the samples known; errors of a meter, a kelvin, a radian as they are printed; what is asked first."""
    t = np.arange(3.0)
    values = np.array([1.0, np.nan, np.nan])
    columns = {
        "altitude_m": Column(values, "measured", error=1.0),
        "oat_k": Column(t, "derived", error=1.5, note="far"),
        "bank_rad": Column(t, "measured", error=0.1),
        "rpm": Column(t, "measured", error=12.3456),
        "ias_mps": Column(t, "measured", error=float("nan")),
    }
    mends = (Mend("spikes", 2, 1.23456, 9.87654, "rpm"), Mend("which unit", 0, asks=True))
    flight = Flight(1.75e9 + 0.12345, np.array([0.0, 1.0, 2.34567]), columns, mends=mends, source={"name": "x"},
                    contacts=(GroundContact("landing", 1.23456),))  # fmt: skip
    data = Debrief(flight, load_standard("private"), None, LessonPlan(), airborne_s=12.3456).as_json()
    rows = {row["column"]: row for row in data["quality"] if row["about"] == "column"}
    assert rows["altitude_m"]["filled_fraction"] == 0.3333
    assert [(rows[n].get("error"), rows[n].get("error_unit")) for n in columns] == [
        (3.281, "ft"), (1.5, "K"), (5.73, "deg"), (12.346, COLUMNS["rpm"][0]), (None, None)]  # fmt: skip
    assert [rows[n].get("note") for n in ("oat_k", "rpm")] == ["far", None]
    mended = [row for row in data["quality"] if row["about"] == "mended"]
    assert mended == [
        {"about": "mended", "what": "which unit", "count": 0},
        {"about": "mended", "what": "spikes", "count": 2, "column": "rpm", "first_s": 1.23, "last_s": 9.88},
    ]
    whole = data["flight"]
    assert (whole["duration_s"], whole["start_utc_s"], whole["airborne_s"]) == (2.35, 1.75e9 + 0.123, 12.3)
    assert whole["contacts"] == [{"kind": "landing", "time_s": 1.23}]
    assert (
        Debrief(replace(flight, start_utc_s=np.nan), load_standard("private"), None, LessonPlan()).as_json()["flight"][
            "start_utc"
        ]
        is None
    )


@pytest.mark.parametrize(("verdicts", "said", "met"), [
    (("held", "not held", "can't be judged"), "not held", False), (("held", "can't be judged"), "held", True),
    (("briefly out and corrected", "held"), "briefly out and corrected", True),
    (("can't be judged",), "can't be judged", None), ((), "", None),
])  # fmt: skip
def test_the_worst_criterion_is_the_maneuvers_verdict(verdicts: tuple[Any, ...], said: str, met: bool | None) -> None:
    findings = tuple(Finding("altitude", "", 1.0, "ft", 0.5, v, "") for v in verdicts)
    g = Graded(Episode("steep_turn", 1.0, 9.0, 0.87654), Grade({}, "", {}, findings, ()))
    assert (g.verdict, g.met) == (said, met)
    found = Debrief(Flight(1.75e9, np.arange(3.0), {}), load_standard("private"), None, LessonPlan(), episodes=(g,))
    assert found.met is (met is not False)
    assert f"1 maneuvers, {int(met is False)} not held" in repr(found)
    row = found.table().row(0, named=True)
    assert (row["number"], row["confidence"], row["verdict"], row["reason"]) == (1, 0.877, said, "")
    assert row["missed"] == (["altitude"] if met is False else [])


def test_the_wind_is_told_for_each_ten_minutes_in_the_air() -> None:
    """By hand: 10 kt from the west for ten minutes, 20 kt from the south after that, an hour recorded at 3,000 ft."""
    t = np.arange(0.0, 1500.0, 1.0)
    first = t < 600.0
    made = {"altitude_m": 3000.0 * FT_M + 0.0 * t, "ias_mps": 50.0 + 0.0 * t, "groundspeed_mps": 50.0 + 0.0 * t,
            "wind_mps": np.where(first, 10.0, 20.0) * 1852.0 / 3600.0,
            "wind_from_rad": np.radians(np.where(first, 270.0, 180.0))}  # fmt: skip
    columns = {
        k: Column(v, "measured", error=2.0 * 1852.0 / 3600.0 if k == "wind_mps" else None) for k, v in made.items()
    }
    rows = debrief(Flight(1.75e9, t, columns), standard=load_standard("private")).wind
    assert [(r["from_deg"], r["speed_kt"], r["altitude_ft"], r["error_kt"]) for r in rows] == [
        (270, 10.0, 3000, 2.0), (180, 20.0, 3000, 2.0), (180, 20.0, 3000, 2.0)]  # fmt: skip
    assert [(r["start_s"], r["end_s"]) for r in rows] == [(0.0, 600.0), (600.0, 1200.0), (1200.0, 1499.0)]


def test_a_lesson_comes_back_from_what_is_kept_of_it() -> None:
    """And what was never one is refused with the field."""
    plan = LessonPlan(
        "Stalls",
        ("steep_turn",),
        {"steep_turn": {"bank_rad": 0.8}},
        ((0.8, 0.1), (0.9, 0.1), (0.8, 0.2)),
        1000.0,
        2000.0,
        250.0,
        0.05,
        (PlannedChange(600.0, "left", "right"),),
        420.0,
        950.0,
        "x",
        "X",
        1.7e9,
    )
    assert plan_from_json(json.loads(json.dumps(plan_json(plan)))) == plan
    assert plan_json(None) == plan_json(LessonPlan()) == {}
    assert plan_from_json({"title": "Stalls", "later": 1}).title == "Stalls"
    with pytest.raises(InputError, match=r"lesson: no lesson as flown: floor_m: "):
        plan_from_json({"floor_m": "low"})


@pytest.mark.parametrize(
    ("kind", "wish", "asked"),
    [("emergency_descent", "altitude_m", False), ("emergency_descent", "altitude_change_m", True),
     ("climb", "altitude_m", True), ("descent", "height_agl_m", True)],
)  # fmt: skip
def test_where_to_level_off_is_asked_for_with_how_far_to_go(kind: str, wish: str, asked: bool) -> None:
    """An altitude is where an exercise begins, of a climb or descent where it levels off (docs/lesson-file.md); what a
    briefing makes of it is held against nobody."""
    targets = {"altitude_m": 1400.0, "altitude_change_m": -450.0, "level_off_altitude_m": 950.0, "height_agl_m": 400.0}
    down = SimpleNamespace(kind=kind, targets=targets, set_up=None, wanted={wish: targets[wish]})
    briefing = SimpleNamespace(
        title="T", exercises=[down], area=None, fuel=SimpleNamespace(burned_m3=0.05),
        tanks=SimpleNamespace(changes=[]), airplane_id="x", airplane_name="X", start_utc_s=1.7e9, legs=[],
        balance=SimpleNamespace(points=[]),
    )  # fmt: skip
    left_over = plan_of(briefing).worked_out[kind]  # type: ignore[arg-type]
    assert ("level_off_altitude_m" not in left_over) is asked


def test_two_takeoffs_seen_as_one_are_held_to_what_both_ask_for() -> None:
    """Of a short and a soft field the recording shows a takeoff: neither is held to the other's lift-off."""
    asked = {"short_field_takeoff": {"ias_mps": 36.0, "lift_off_ias_mps": 25.7},
             "soft_field_takeoff": {"ias_mps": 36.0, "lift_off_ias_mps": 31.0}}  # fmt: skip
    flown = [SimpleNamespace(kind=k, targets=x, set_up=None, wanted={}) for k, x in asked.items() for _ in range(2)]
    briefing = SimpleNamespace(
        title="T", exercises=flown, area=None, fuel=SimpleNamespace(burned_m3=0.05), tanks=SimpleNamespace(changes=[]),
        airplane_id="x", airplane_name="X", start_utc_s=1.7e9, legs=[], balance=SimpleNamespace(points=[]),
    )  # fmt: skip
    assert plan_of(briefing).targets == {"takeoff": {"ias_mps": 36.0}}  # type: ignore[arg-type]


def test_a_briefing_is_held_against_what_a_recording_can_show() -> None:
    """A short-field landing is seen as a landing; its targets, and where the set-up says none, its entry altitude."""
    shown = {"short_field_landing": "landing", **{k: k for k in ("steep_turn", "leaning", "no_such_kind")}}
    assert {k: seen_as(k) for k in shown} == shown  # no leaning shows as a change of tanks
    set_up = SimpleNamespace(entry_altitude_m=1500.0)
    turn, short = {"bank_rad": 0.8, "direction": "left"}, {"altitude_m": 900}
    exercises = [
        SimpleNamespace(kind="steep_turn", targets=turn, set_up=set_up, wanted={"altitude_m": 1500.0}),
        SimpleNamespace(kind="steep_turn", targets={"bank_rad": 0.9}, set_up=None, wanted={}),
        SimpleNamespace(kind="short_field_landing", targets=short, set_up=set_up, wanted={}),
    ]
    glide = SimpleNamespace(kind="power_off_180", targets={"ias_mps": 38.0}, set_up=None, wanted={})
    change = SimpleNamespace(time_s=600.0, from_tank="left", to_tank="right", other=1)
    briefing = SimpleNamespace(
        title="T", exercises=exercises, area=None, fuel=SimpleNamespace(burned_m3=0.05),
        tanks=SimpleNamespace(changes=[change]), airplane_id="x", airplane_name="X", start_utc_s=1.7e9,
        legs=[SimpleNamespace(kind=k, start_s=s) for k, s in (("taxi", 0.0), ("climb", 600.0), ("climb", 900.0))],
        balance=SimpleNamespace(points=[SimpleNamespace(mass_kg=m) for m in (950.0, 930.0)]),
    )  # fmt: skip
    plan = plan_of(briefing)  # type: ignore[arg-type]
    assert plan.targets == {"steep_turn": {"bank_rad": 0.8, "altitude_m": 1500.0}, "landing": {"altitude_m": 900.0}}
    assert plan.worked_out == {"steep_turn": ("bank_rad",), "landing": ("altitude_m",)}  # nobody asked for them
    assert plan.planned == {"steep_turn": 2, "short_field_landing": 1}
    assert plan_from_json(plan_json(plan)) == plan or np.isnan(plan.start_utc_s)
    assert plan.order == ("steep_turn", "steep_turn", "landing")
    assert (plan.takeoff_s, plan.mass_kg, plan.fuel_m3) == (600.0, 950.0, 0.05)
    assert plan.changes == (PlannedChange(600.0, "left", "right"),)
    only = SimpleNamespace(**{**vars(briefing), "exercises": [glide]})
    assert plan_of(only).targets == {"landing": {}}  # type: ignore[arg-type] # no approach has a glide's speed
    assert (plan.corners_rad, plan.floor_m, plan.ceiling_m, plan.ground_m) == ((), None, None, None)
    area = SimpleNamespace(corners_rad=((0.8, 0.1),), floor_m=1.0, ceiling_m=2.0, ground_m=3.0)
    less = SimpleNamespace(**{**vars(briefing), "area": area, "legs": [], "balance": SimpleNamespace(points=[])})
    plan = plan_of(less)  # type: ignore[arg-type]
    assert (plan.floor_m, plan.ceiling_m, plan.ground_m, plan.takeoff_s, plan.mass_kg) == (1.0, 2.0, 3.0, None, None)


@pytest.mark.parametrize(("scores", "said"), [((0.59, 0.6), "Less sure: steep turn."), ((0.6, 0.9), "")])
def test_what_is_less_sure_is_named(scores: tuple[float, float], said: str) -> None:
    episodes = [Episode(k, 10.0, 20.0, s) for k, s in zip(("steep_turn", "chandelle"), scores, strict=True)]
    told = notes_of(desk(approach())[0], episodes, (), ())
    assert [n for n in told if n.startswith("Less sure")] == ([said] if said else [])


@pytest.mark.parametrize(("missing_s", "said"), [(0.6, None), (9.0, "10 % of the time in the air was not recorded.")])
def test_what_was_not_recorded_in_the_air_is_told_from_a_hundredth_on(missing_s: float, said: str | None) -> None:
    """Of the 90 s to the touch."""
    evidence, _ = desk(approach())
    view = evidence.view
    known = ~((view.time_s > 30.0) & (view.time_s <= 30.0 + missing_s))
    told = notes_of(replace(evidence, view=replace(view, known=known)), [], (), ())
    assert [n for n in told if "not recorded." in n] == ([said] if said else [])


@pytest.mark.parametrize(("stood_s", "said"), [(3_500.0, []), (6_614.0, ["This recording holds 2 flights, 110 min"])])
def test_two_flights_in_one_recording_are_told_as_two(stood_s: float, said: list[str]) -> None:
    """An hour and more on the ground between them; a shorter halt belongs to the lesson."""
    evidence, _ = desk(approach())
    at = (("takeoff", 0.0), ("landing", 600.0), ("takeoff", 600.0 + stood_s), ("landing", 9_000.0))
    flight = replace(evidence.flight, contacts=tuple(GroundContact(kind, s) for kind, s in at))  # type: ignore[arg-type]
    told = notes_of(replace(evidence, flight=flight), [], (), ())
    assert [n[: len("This recording holds 2 flights, 110 min")] for n in told if "flights" in n] == said


def test_what_the_recording_can_not_tell_is_said_once() -> None:
    """How speed, turns and bank are known; what isn't wanting isn't said."""
    evidence, _ = desk(approach())
    view = evidence.view

    def said(airplane: object = "one", **changed: object) -> list[str]:
        changes = {"speed_from": "airspeed", "heading_from": "heading", "bank_measured": True, **changed}
        seen = replace(view, **{k: v for k, v in changes.items() if k in view.__dataclass_fields__})
        return notes_of(replace(evidence, view=seen, airplane=airplane), [], (), ())  # type: ignore[arg-type]

    words = {
        "airspeed": (), "ground speed and wind": ("wind found from the whole flight",),
        "ground speed": ("ground speed stands in for airspeed",),
    }  # fmt: skip
    for speed_from, told in words.items():
        found = [n for n in said(speed_from=speed_from) if n.startswith("No airspeed")]
        assert [words in n for n, words in zip(found, told, strict=True)] == [True] * len(told)
    assert any(n.startswith("No airplane was given") for n in said(airplane=None))
    assert not any(n.startswith("No airplane was given") for n in said())
    assert not any("Bank was worked out" in n or "No heading" in n for n in said())
    assert any("Bank was worked out from the turn rate" in n for n in said(bank_measured=False))


def test_published_runways_are_looked_up_where_the_wheels_met_the_ground() -> None:
    """At 43.984° N 88.557° W [OurAirports, from memory] runways 18/36 and 09/27 cross; without a position none is."""
    flight = approach()
    n = len(flight)
    here = flight.with_columns({"latitude_rad": Column(np.full(n, np.radians(43.984)), "measured"),
                                "longitude_rad": Column(np.full(n, np.radians(-88.557)), "measured")})  # fmt: skip
    names = {end.name for end in _runways(here)}
    assert {"18", "36", "09", "27"} <= names
    assert _runways(flight) == _runways(replace(here, contacts=())) == ()
    half = {k: c for k, c in here.columns.items() if k != "longitude_rad"}
    assert _runways(replace(here, columns=half)) == ()
