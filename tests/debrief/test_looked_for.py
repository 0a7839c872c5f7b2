"""What may be claimed: the recorder's step, the kind of aircraft by its path, and an airplane file named beside it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from airwork.airplane import Airplane, find_airplane_file, load_airplane
from airwork.debrief import debrief
from airwork.debrief.looked_for import has_a_standard, limits, looked_for
from airwork.maneuvers import rooms
from airwork.maneuvers.declared import Role
from airwork.recording import Flight, read_flight
from airwork.recording.flight import Column
from airwork.standards import load_standard
from airwork.units import KT_MPS

KINDS = Path(__file__).parent.parent / "sources" / "recordings"


@pytest.fixture(scope="module")
def thermals() -> Flight:
    return read_flight(KINDS / "thermals_4s.igc.gz")


@pytest.fixture(scope="module")
def larkmoor() -> Airplane:
    return load_airplane(find_airplane_file("larkmoor_155"))


def noted(flight: Flight, **craft: object) -> Flight:
    return replace(flight, source={**flight.source, "craft": {"kind": "airplane", "engine": None, "why": "", **craft}})


def test_every_four_seconds_a_stall_can_be_seen_but_no_accelerated_one(thermals: Flight) -> None:
    asked = {one.kind for one in looked_for(noted(thermals))}
    assert {"power_off_stall", "power_on_stall"} <= asked
    assert "accelerated_stall" not in asked


def test_an_airplane_file_named_gives_a_sailplane_no_engine(thermals: Flight, larkmoor: Airplane) -> None:
    """Named, its exercises are looked for; what needs an engine is not, and the debrief says so."""
    asked = looked_for(thermals, larkmoor)
    assert any(one.role is Role.EXERCISE for one in asked)
    assert not any(one.needs_engine for one in asked)
    assert any("No engine by its path" in line for line in limits(thermals, larkmoor))
    heard = noted(thermals, kind="sailplane", engine=False, heard=True)
    assert not any(one.role is Role.EXERCISE for one in looked_for(heard, larkmoor))


def test_an_airplane_named_beside_tows_is_no_lesson(thermals: Flight, larkmoor: Airplane) -> None:
    """What carries up gliders or jumpers is a light airplane too: naming it says nothing of an exercise."""
    tows = noted(thermals, kind="shuttle", why="2 times up in one go and down again at once")
    assert not any(one.role is Role.EXERCISE for one in looked_for(tows, larkmoor))
    assert not any("It can't be" in line or "name its file" in line for line in limits(tows, larkmoor))
    assert any(one.role is Role.EXERCISE for one in looked_for(noted(thermals, kind="airplane"), larkmoor))


def test_a_sailplane_is_not_held_against_the_airplanes_standard(thermals: Flight, larkmoor: Airplane) -> None:
    """Shown, not graded, said once in the first lines; nothing is said of how well it could be. The same path as an
    airplane's is graded.

    A named airplane's file overrules the path; not a recording in which no engine was heard.
    """
    standard = load_standard("private")
    found = debrief(thermals, standard=standard)
    assert {g.episode.kind for g in found.episodes} >= {"takeoff", "landing"}
    assert all(not g.grade.findings and not g.grade.causes and g.grade.measured for g in found.episodes)
    assert [x.heading for x in found.first] == ["in short", "not judged"]
    assert sum("no published standard" in x.text for x in found.first) == 1
    assert not any("judged" in note or "stall margin" in note for note in found.notes)

    as_airplane = debrief(noted(thermals), standard=standard)
    assert any(g.grade.findings for g in as_airplane.episodes)
    assert any("judged" in note for note in as_airplane.notes)

    assert has_a_standard(thermals, larkmoor)
    assert not has_a_standard(noted(thermals, kind="sailplane", engine=False, heard=True), larkmoor)
    assert not has_a_standard(noted(thermals, engine=False, heard=True))


@pytest.mark.parametrize(("kt", "looked"), [(150.0, True), (220.0, False)])
def test_what_flies_faster_than_the_airplane_named_can_is_another(
    thermals: Flight, larkmoor: Airplane, kt: float, looked: bool
) -> None:
    """Its never-exceed speed is between the two."""
    assert larkmoor.limits.never_exceed_ias_mps is not None
    assert 150.0 * KT_MPS < larkmoor.limits.never_exceed_ias_mps < 220.0 * KT_MPS
    fast = noted(thermals, kind="fast")
    speed = replace(fast.columns["cas_mps"], values=np.full(len(fast), kt * KT_MPS))
    fast = replace(fast, columns={**fast.columns, "cas_mps": speed})
    assert any(one.role is Role.EXERCISE for one in looked_for(fast, larkmoor)) is looked
    assert not any(one.role is Role.EXERCISE for one in looked_for(fast))


def fixed_every(step_s: float, **craft: object) -> Flight:
    """A level flight with a fix in so many seconds."""
    t = np.arange(100) * step_s
    columns = {"altitude_m": Column(0.0 * t + 1000.0, "measured"), "cas_mps": Column(0.0 * t + 50.0, "measured")}
    return noted(Flight(1.75e9, t, columns, source={"name": "drawn"}), **craft)


def test_what_seldom_fixes_hide_is_named_six_at_the_most() -> None:
    """From two seconds on; what is seen in them is not."""
    assert not any("One fix in" in line for line in limits(fixed_every(2.0)))
    (line,) = [line for line in limits(fixed_every(2.5)) if "One fix in" in line]
    hidden = [one.named for one in rooms() if one.seen_at_s < 2.5 and one.propose is not None]
    shown = ", ".join(hidden[:6]) + (" and others" if len(hidden) > 6 else "")
    assert line == f"One fix in 2.5 s: {shown} can't be seen in it."
    (line,) = [line for line in limits(fixed_every(30.0)) if "One fix in" in line]
    assert line.count(", ") == 5
    assert " and others can't" in line


@pytest.mark.parametrize(("share", "looked"), [(0.3, False), (0.2, True)])
def test_faster_than_its_limit_for_a_quarter_of_the_flight_is_another(
    larkmoor: Airplane, share: float, looked: bool
) -> None:
    never = larkmoor.limits.never_exceed_ias_mps
    assert never is not None
    flight = fixed_every(1.0, kind="fast")
    speed = Column(np.where(np.arange(100) < 100 * share, 1.1 * never, 0.5 * never), "measured")
    flight = flight.with_columns({"cas_mps": speed})
    assert any(one.role is Role.EXERCISE for one in looked_for(flight, larkmoor)) is looked
    assert has_a_standard(flight, larkmoor) is looked
    assert not has_a_standard(flight)


def test_what_does_not_fly_is_told_and_nothing_looked_for(larkmoor: Airplane) -> None:
    """A car by its path: no room, the reason, and what would settle it; no file of an airplane makes it one."""
    car = fixed_every(1.0, kind="ground", why="it stops at lights")
    assert looked_for(car) == looked_for(car, larkmoor) == []
    (line, *_) = limits(car)
    assert line.endswith("(it stops at lights): nothing is looked for. If it is an airplane, name its file.")
    assert limits(car, larkmoor)[0].endswith("nothing is looked for. It can't be Larkmoor 155.")
