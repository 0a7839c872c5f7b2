"""One contract for every room: cited, silent on nothing, blind to clock, side and compass, patient with gaps.

The flights come from `flightbuilder`: kinematic, built together with their true episodes.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from airwork.maneuvers import ROOMS, room
from airwork.maneuvers.declared import Family
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording.flight import Column, Flight
from airwork.standards import load_standard
from flightbuilder import Builder

COMMERCIAL = load_standard("commercial")


def _fly(kind: str, mirror: float = 1.0, heading_deg: float = 30.0, wind_from_deg: float = 270.0) -> Builder:
    """A flight with one maneuver of a kind in it."""
    low = room(kind).family is Family.GROUND
    start = {"altitude_ft": 1700.0 if low else 4500.0, "speed_kt": 105.0}
    if kind in ("takeoff", "landing", "touch_and_go", "go_around", "traffic_pattern"):
        start = {}
    b = Builder(mirror=mirror, heading_deg=heading_deg, wind_kt=8.0, wind_from_deg=wind_from_deg, skill=1.0, **start)
    if not start:
        b.takeoff()
        b.closed_circuit()
        if kind == "touch_and_go":
            b.pattern_to(6.0)
            b.closed_circuit()
        if kind == "go_around":
            b.go_around()
            b.closed_circuit()
        b.pattern_to()
        return b
    b.level_ft = b.altitude_ft
    b.hold(30.0, kt=100.0)
    fly: dict[str, Callable[[], None]] = {
        "climb": lambda: b.climb(6000.0), "descent": lambda: b.descend(3000.0),
        "straight_and_level": lambda: b.hold(90.0), "level_turn": lambda: b.level_turn(180.0),
        "emergency_descent": lambda: b.emergency_descent(2500.0), "glide": lambda: b.glide(2500.0),
        "tank_change": b.tank_change, "forward_slip": b.forward_slip,
    }  # fmt: skip
    fly.get(kind, lambda: getattr(b, kind)())()
    b.hold(30.0, ft=b.alt_ft, kt=100.0)
    return b


SAME_FLIGHT = {"takeoff": "landing", "traffic_pattern": "landing"}


@lru_cache(maxsize=128)
def _recorded(kind: str, mirror: float, heading_deg: float, wind_from_deg: float) -> Flight:
    return _fly(kind, mirror, heading_deg, wind_from_deg).flight(rate_hz=5.0)


def flown(kind: str, mirror: float = 1.0, heading_deg: float = 30.0, wind_from_deg: float = 270.0) -> Flight:
    """The recording of such a flight."""
    return _recorded(SAME_FLIGHT.get(kind, kind), mirror, heading_deg, wind_from_deg)


def seen(kind: str, flight: Flight) -> tuple[Episode, Grade]:
    """The room's best proposal and its grade."""
    view = build_view(flight)
    assert view is not None
    found = room(kind).seen(view)
    assert found, f"no {kind} seen"
    best = max(found, key=lambda e: e.score * (e.end_s - e.start_s))
    return best, room(kind).grade(best, Evidence(flight, view, COMMERCIAL))


def close(a: Grade, b: Grade, *, ft: float = 4.0, deg: float = 2.0, kt: float = 1.0) -> None:
    """Two grades say the same: verdicts, and numbers within noise."""
    assert [f.verdict for f in a.findings] == [f.verdict for f in b.findings]
    for key, value in a.measured.items():
        if "heading" in key or key.startswith(("wind_from", "touchdown_l", "turned")):
            continue
        room_for = ft if key.endswith("_ft") else deg if key.endswith("_deg") else kt if key.endswith("_kt") else None
        if room_for is not None and key in b.measured:
            assert b.measured[key] == pytest.approx(value, abs=room_for), key


@pytest.mark.parametrize("kind", ROOMS)
def test_a_room_says_what_it_is_and_cites_its_task(kind: str) -> None:
    """Docstring, kind and title; a room that sees must also grade."""
    one, said = room(kind), importlib.import_module(f"airwork.maneuvers.{kind}").__doc__
    assert kind == one.kind
    assert one.title
    assert said
    assert len(said) > 120
    assert (one.propose is None) == (one.grade is None)


SEEING = [kind for kind in ROOMS if room(kind).propose is not None]


def _parked(seconds: float = 600.0) -> Flight:
    n = int(seconds * 5)
    time = np.arange(n) / 5.0
    rng = np.random.default_rng(4)
    values = {
        "altitude_m": 250.0 + rng.normal(0, 0.5, n), "indicated_altitude_m": 250.0 + rng.normal(0, 0.5, n),
        "gps_altitude_m": 250.0 + rng.normal(0, 2.0, n), "ias_mps": np.abs(rng.normal(0, 0.5, n)),
        "groundspeed_mps": np.abs(rng.normal(0, 0.3, n)), "track_rad": rng.uniform(0, 2 * np.pi, n),
        "heading_mag_rad": np.full(n, 1.0), "bank_rad": rng.normal(0, 0.01, n), "pitch_rad": rng.normal(0.05, 0.01, n),
        "east_m": rng.normal(0, 1.0, n), "north_m": rng.normal(0, 1.0, n), "rpm": np.full(n, 1000.0),
    }  # fmt: skip
    return Flight(1.7e9, time, {k: Column(v, "measured") for k, v in values.items()})


@pytest.mark.parametrize("kind", SEEING)
def test_nothing_is_proposed_for_a_parked_airplane(kind: str) -> None:
    """Ten minutes at the fuel pump hold no maneuver."""
    view = build_view(_parked())
    assert view is not None
    assert room(kind).seen(view) == []


@pytest.mark.parametrize("values", [np.empty(0), np.full(3, 300.0), np.full(500, np.nan)])
def test_nothing_can_be_seen_in_an_empty_flight(values: np.ndarray) -> None:
    """Too short, or without a single altitude: there is no view, and nothing crashes."""
    time = np.arange(values.size, dtype=float)
    assert build_view(Flight(float("nan"), time, {"altitude_m": Column(values, "measured")})) is None


MIRRORED = [k for k in SEEING if k not in ("traffic_pattern", "takeoff", "landing", "touch_and_go", "go_around")]


@pytest.mark.parametrize("kind", MIRRORED)
def test_left_is_graded_as_right(kind: str) -> None:
    """The mirrored flight (mirrored wind too) gets the mirrored grade."""
    one = seen(kind, flown(kind, 1.0, 30.0, 270.0))
    other = seen(kind, flown(kind, -1.0, -30.0, -270.0))
    assert other[0].start_s == pytest.approx(one[0].start_s, abs=1.5)
    assert other[0].end_s == pytest.approx(one[0].end_s, abs=1.5)
    assert other[0].score == pytest.approx(one[0].score, abs=0.08)
    close(one[1], other[1], ft=12.0)


@pytest.mark.parametrize("kind", SEEING)
def test_neither_compass_nor_clock_matters(kind: str) -> None:
    """Flight and wind turned together by 117°, and a year later, are graded the same."""
    flight = flown(kind, 1.0, 30.0 + 117.0, 270.0 + 117.0)
    one, turned = seen(kind, flown(kind)), seen(kind, replace(flight, start_utc_s=flight.start_utc_s + 3.2e7))
    assert turned[0].start_s == pytest.approx(one[0].start_s, abs=1.0)
    assert turned[0].score == pytest.approx(one[0].score, abs=0.05)
    close(one[1], turned[1], ft=12.0)


LOSE = ["ias_mps", "bank_rad", "heading_rad", "pitch_rad", "load_factor", "agl_m", "wind_mps", "tas_mps", "lateral_g",
        "stall_warning", "power_ratio", "rpm", "flap_notch", "tank", "on_ground", "east_m", "track_rad",
        "groundspeed_mps"]  # fmt: skip


@pytest.mark.parametrize("kind", SEEING)
def test_a_missing_column_lowers_what_is_graded_and_never_crashes(kind: str) -> None:
    """A column taken away: the room still answers, and judges no more criteria than before. Every column from a third
    of the rooms, those most is told from from each.
    """
    flight = flown(kind)
    _, whole = seen(kind, flight)
    judged = sum(f.verdict != "can't be judged" for f in whole.findings)
    for name in {*LOSE[SEEING.index(kind) % 3 :: 3], "ias_mps", "agl_m", "heading_rad"}:
        less = replace(flight, columns={k: c for k, c in flight.columns.items() if k != name})
        view = build_view(less)
        assert view is not None
        for episode in room(kind).seen(view):
            grade = room(kind).grade(episode, Evidence(less, view, COMMERCIAL))
            assert len(grade.findings) >= len(COMMERCIAL.task(kind).criteria)
            if episode.score > 0.9 and name in ("ias_mps", "agl_m", "heading_rad"):
                assert sum(f.verdict != "can't be judged" for f in grade.findings) <= judged + 1, name


@pytest.mark.parametrize("kind", SEEING)
def test_altitude_alone_is_survived(kind: str) -> None:
    """A recording of nothing but time and altitude."""
    flight = flown(kind)
    bare = replace(flight, columns={"altitude_m": flight.columns["altitude_m"]})
    view = build_view(bare)
    assert view is not None
    for episode in room(kind).seen(view):
        room(kind).grade(episode, Evidence(bare, view, COMMERCIAL))
