"""Wind not allowed for: on a course, and in low circles; where it was allowed for nothing is told. [AFH] chapter 7."""

from __future__ import annotations

import numpy as np
import pytest

from airwork.debrief import debrief
from airwork.maneuvers.episode import Episode, Phase
from airwork.maneuvers.grading.causes.wind import course_uncorrected
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording.flight import Column, Flight
from airwork.standards import load_standard
from airwork.units import KT_MPS
from flightbuilder import Builder

PRIVATE = load_standard("private")
LEG_S, CORNER_S, TAS = 40.0, 10.0, 90.0 * KT_MPS


def course(wind_kt: float, *, crabbed: bool, legs: int = 4, leg_s: float = LEG_S) -> Sheet:
    """A rectangle to the right in wind from the west: by square headings, or by square legs over the ground."""
    t = np.arange(0.0, legs * leg_s + (legs - 1) * CORNER_S, 0.2)
    cycle, into = np.divmod(t, leg_s + CORNER_S)
    side = np.radians(90.0) * (cycle + np.clip((into - leg_s) / CORNER_S, 0.0, 1.0))
    wind = wind_kt * KT_MPS  # blows toward the east
    crab = np.arcsin(np.clip(wind * np.cos(side) / TAS, -1.0, 1.0)) if crabbed else 0.0
    heading = side - crab
    east, north = TAS * np.sin(heading) + wind, TAS * np.cos(heading)
    zero = np.zeros(t.size)
    values = {
        "east_m": np.cumsum(east) * 0.2, "north_m": np.cumsum(north) * 0.2, "altitude_m": zero + 500.0,
        "indicated_altitude_m": zero + 500.0, "agl_m": zero + 250.0, "ias_mps": zero + TAS, "tas_mps": zero + TAS,
        "cas_mps": zero + TAS, "groundspeed_mps": np.hypot(east, north),
        "track_rad": np.mod(np.arctan2(east, north), 2.0 * np.pi), "heading_rad": np.mod(heading, 2.0 * np.pi),
        "heading_mag_rad": np.mod(heading, 2.0 * np.pi), "pitch_rad": zero, "bank_rad": zero,
        "vertical_speed_mps": zero,
        "wind_mps": zero + wind, "wind_from_rad": zero + np.radians(270.0),
    }  # fmt: skip
    flight = Flight(1.75e9, t, {k: Column(x, "measured") for k, x in values.items()}, source={"name": "drawn"})
    view = build_view(flight)
    assert view is not None
    corners = [(leg_s + k * (leg_s + CORNER_S), (k + 1) * (leg_s + CORNER_S)) for k in range(legs - 1)]
    phases = tuple(Phase(f"corner {k + 1}", a, b) for k, (a, b) in enumerate(corners))
    e = Episode("rectangular_course", 0.0, float(t[-1]), 1.0, phases)
    return Sheet(e, Evidence(flight, view, PRIVATE, episodes=(e,)))


@pytest.mark.parametrize("leg_s", [LEG_S, 5.0])
def test_square_headings_in_a_crosswind_are_told(leg_s: float) -> None:
    """15 kt across at 90: there and back 19° from parallel over the ground (atan 15/90, twice), headings parallel; also
    on the 5 s that a short side leaves between its corners."""
    found = course_uncorrected(course(15.0, crabbed=False, leg_s=leg_s))
    assert found is not None
    assert found.name == "wind neglected"
    assert "19° from parallel" in found.text
    assert "within 0°" in found.text


@pytest.mark.parametrize(("wind", "crabbed"), [(15.0, True), (3.0, False), (0.0, False)])
def test_not_a_course_held_or_hardly_any_wind(wind: float, crabbed: bool) -> None:
    assert course_uncorrected(course(wind, crabbed=crabbed)) is None
    assert course_uncorrected(course(wind, crabbed=crabbed, leg_s=5.0)) is None


def test_two_legs_only_show_nothing() -> None:
    """There is no leg to compare with."""
    assert course_uncorrected(course(15.0, crabbed=False, legs=2)) is None


@pytest.mark.parametrize(
    ("agl_ft", "wind_kt", "words"),
    [
        (700.0, 25.0, "drifting with the wind"),
        (700.0, 18.0, "drifting with the wind"),
        (700.0, 12.0, "drifting with the wind"),
        (2700.0, 25.0, ""),
        (700.0, 1.0, ""),
    ],
)
def test_low_circles_carried_along_by_the_wind_get_a_line(agl_ft: float, wind_kt: float, words: str) -> None:
    """Once and a half round at one bank: alone in a flight no turns around a point are left of it, but it is told.

    High up, or with hardly any wind, nothing of the kind is said.
    """
    b = Builder(altitude_ft=800.0 + agl_ft, speed_kt=90.0, wind_kt=wind_kt)
    b.level_ft = 800.0 + agl_ft
    b.hold(60.0, kt=90.0)
    b.turn(540.0, 20.0)
    b.hold(60.0)
    text = " ".join(x.text for x in debrief(b.flight(), standard=PRIVATE).first)
    assert words in text
    assert ("wind neglected" in text or "drifting" in text) == bool(words)


@pytest.mark.parametrize(("degrees", "said"), [(540.0, "1 circle outside"), (720.0, "2 circles outside")])
def test_circles_are_counted_round_by_round(degrees: float, said: str) -> None:
    """Two circles without a pause are one turn and two circles (a stranger's flight)."""
    b = Builder(altitude_ft=1500.0, speed_kt=90.0, wind_kt=18.0)
    b.level_ft = 1500.0
    b.hold(60.0, kt=90.0)
    b.turn(degrees, 20.0)
    b.hold(60.0)
    text = next(x.text for x in debrief(b.flight(), standard=PRIVATE).first if x.heading == "not judged")
    assert text.startswith(said)
    assert "ground; low and drifting with the wind" in text


@pytest.mark.parametrize(
    ("allowed_for", "verdicts"), [(True, {"held"}), (False, {"briefly out and corrected", "not held"})]
)
def test_half_circles_at_one_bank_are_alike_and_none_is_round(allowed_for: bool, verdicts: set[str]) -> None:
    """14 kt of wind at 95: over the ground v²/(g·tan 30°) at 109 kt is 1.8 times that at 81 ([AFH] chapter 7)."""
    b = Builder(altitude_ft=1600.0, field_ft=800.0, speed_kt=95.0, wind_kt=14.0, wind_from_deg=190.0, heading_deg=10.0)
    b.level_ft = 1600.0
    b.hold(40.0, kt=95.0)
    if allowed_for:
        b.s_turns()
    else:
        with b.mark("s_turns"):
            for side in (1.0, -1.0, 1.0, -1.0):
                b.turn(side * 178.0, 30.0, by_track=True)
    b.hold(40.0)
    (found,) = [g for g in debrief(b.flight(), standard=PRIVATE).episodes if g.episode.kind == "s_turns"]
    radius = next(f for f in found.grade.findings if f.quantity == "ground_radius")
    assert radius.verdict in verdicts
    assert ("wind neglected" in [c.name for c in found.grade.causes]) != allowed_for
