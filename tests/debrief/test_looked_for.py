"""What may be claimed: the recorder's step, the kind of aircraft by its path, and an airplane file named beside it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from airwork.airplane import Airplane, find_airplane_file, load_airplane
from airwork.debrief import debrief
from airwork.debrief.looked_for import has_a_standard, limits, looked_for
from airwork.maneuvers.declared import Role
from airwork.recording import Flight, read_flight
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


def test_a_sailplane_is_not_held_against_the_airplanes_standard(thermals: Flight, larkmoor: Airplane) -> None:
    """Shown, not graded, said once in the first lines and once in the notes; the same path as an airplane's is graded.

    A named airplane's file overrules the path; not a recording in which no engine was heard.
    """
    standard = load_standard("private")
    found = debrief(thermals, standard=standard)
    assert {g.episode.kind for g in found.episodes} >= {"takeoff", "landing"}
    assert all(not g.grade.findings and not g.grade.causes and g.grade.measured for g in found.episodes)
    assert [x.heading for x in found.first] == ["in short", "not judged"]
    assert sum("no published standard" in x.text for x in found.first) == 1
    assert sum("Nothing is graded" in note for note in found.notes) == 1

    as_airplane = debrief(noted(thermals), standard=standard)
    assert any(g.grade.findings for g in as_airplane.episodes)
    assert not any("Nothing is graded" in note for note in as_airplane.notes)

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
