"""The ideal laid over a flown maneuver. Where the flown one was the ideal itself, the two must lie on each other.

The flights are the rooms' own ideal paths (`maneuvers.days.ideal`), with a minute straight and level before and after,
in 15 kt of wind; the debrief knows nothing of what they were made from and has to find mark, size, side and moment.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from airwork.airdata.angles import turn_from_to_rad
from airwork.airdata.atmosphere import G0_MPS2
from airwork.airdata.column import AirColumn, WindLayer
from airwork.debrief import Debrief, Graded, debrief
from airwork.debrief.ideals import _conditions, _first_side, _laid, _shown_heading, ideals_of
from airwork.maneuvers import room, rooms
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.paths.laying import Flown
from airwork.maneuvers.setup import Conditions, Trace
from airwork.recording.flight import Column, Flight
from airwork.units import to_unit
from maneuvers.days import AIRPLANES, airplane, ideal, standard_for
from maneuvers.test_ideal_recognized import as_flight

OVER_GROUND = [one.kind for one in rooms() if one.over_ground is not None]
THROUGH_AIR = ["straight_and_level", "climb", "descent", "steep_turn", "accelerated_stall"]


def _pair(kind: str, name: str) -> tuple[Debrief, int, Trace]:
    """The debrief of a flight that was the ideal, the episode's place in it, and the ideal laid over it."""
    _, trace = ideal(kind, name, "standard, 15 kt")
    found = debrief(as_flight(trace), standard=standard_for(kind), airplane=airplane(name))
    laid = ideals_of(found)
    at = next(k for k, g in enumerate(found.episodes) if g.episode.kind == kind)
    return found, at, laid[at]


def _off(flight: Flight, start_s: float, trace: Trace, column: str) -> np.ndarray:
    """Ideal less flown at the ideal's own times; NaN between pylons."""
    flown = np.interp(start_s + np.asarray(trace.time_s), flight.time_s, flight[column])
    return np.asarray(trace.columns[column]) - flown


@pytest.mark.parametrize("name", AIRPLANES)
@pytest.mark.parametrize("kind", OVER_GROUND)
def test_an_ideal_round_marks_on_the_ground_lies_on_a_flight_that_was_one(kind: str, name: str) -> None:
    """Mark, size and moment are found from the flown path: within 75 m of it, 30 m in the mean."""
    found, at, trace = _pair(kind, name)
    start = found.episodes[at].episode.start_s
    away = np.hypot(_off(found.flight, start, trace, "east_m"), _off(found.flight, start, trace, "north_m"))
    away = away[np.isfinite(away)]
    assert away.size > 60
    assert away.max() < 75.0
    assert away.mean() < 30.0
    bank = np.degrees(np.abs(_off(found.flight, start, trace, "bank_rad")))
    assert np.nanmean(bank) < 2.5
    heading = np.asarray(trace.columns["heading_mag_rad"])
    flown = np.interp(start + np.asarray(trace.time_s), found.flight.time_s, np.unwrap(found.flight["heading_mag_rad"]))
    good = np.isfinite(heading)
    assert np.degrees(np.abs(turn_from_to_rad(flown[good], heading[good]))).mean() < 3.0


def test_round_a_point_the_radius_is_one_and_the_bank_is_what_the_wind_asks_for() -> None:
    """tan φ = V·ψ̇/g at every moment ([AFH] ch. 7: steepest downwind, where the ground speed is highest)."""
    _, _, trace = _pair("turns_around_point", "larkmoor_155")
    east, north = trace.columns["east_m"], trace.columns["north_m"]
    middle = 0.5 * (east.max() + east.min()), 0.5 * (north.max() + north.min())
    radius = np.hypot(east - middle[0], north - middle[1])
    assert np.ptp(radius) / radius.mean() < 0.03
    rate = np.gradient(np.unwrap(trace.columns["heading_mag_rad"]), trace.time_s)
    needed = np.degrees(np.arctan(trace.columns["tas_mps"] * rate / G0_MPS2))
    assert np.abs(needed - np.degrees(trace.columns["bank_rad"]))[3:-3].max() < 2.0
    steepest = int(np.argmax(np.abs(trace.columns["bank_rad"])))
    assert trace.columns["groundspeed_mps"][steepest] > 0.97 * trace.columns["groundspeed_mps"].max()


@pytest.mark.parametrize("kind", THROUGH_AIR)
def test_an_ideal_through_the_air_lies_on_a_flight_that_was_one(kind: str) -> None:
    found, at, trace = _pair(kind, "larkmoor_155")
    e = found.episodes[at].episode
    inside = (np.asarray(trace.time_s) >= 0.0) & (e.start_s + np.asarray(trace.time_s) <= e.end_s)
    feet = to_unit(np.abs(_off(found.flight, e.start_s, trace, "altitude_m"))[inside], "ft")
    knots = to_unit(np.abs(_off(found.flight, e.start_s, trace, "ias_mps"))[inside], "kt")
    assert feet.mean() < 40.0
    assert knots.mean() < 4.0


def test_a_stalls_ideal_breaks_when_the_flown_one_breaks() -> None:
    found, at, trace = _pair("accelerated_stall", "caldmere_200")
    e = found.episodes[at].episode
    slowest = float(np.asarray(trace.time_s)[int(np.argmin(trace.columns["ias_mps"]))])
    assert slowest == pytest.approx(e.facts["break_s"] - e.start_s)
    assert trace.time_s[0] >= -8.0


def test_where_no_mark_shows_there_is_no_ideal() -> None:
    """The same flight without positions: nothing is made up."""
    _, trace = ideal("s_turns", "larkmoor_155", "standard, 15 kt")
    whole = as_flight(trace)
    gone = {"east_m", "north_m", "latitude_rad", "longitude_rad"}
    blind = Flight(whole.start_utc_s, whole.time_s, {n: c for n, c in whole.columns.items() if n not in gone})
    found = debrief(blind, standard=standard_for("s_turns"), airplane=airplane("larkmoor_155"))
    laid = ideals_of(found)
    assert [k for k in laid if found.episodes[k].episode.kind == "s_turns"] == []


def test_the_turn_of_an_ideal_is_left_out_where_another_one_was_flown() -> None:
    """A straight climb laid over one that turned half round: its altitude and speed say something, its heading not."""
    found, at, straight = _pair("climb", AIRPLANES[0])
    e = found.episodes[at].episode
    assert any(name.startswith(("heading", "track")) for name in straight.columns)
    flight = found.flight
    name = next(n for n in ("heading_mag_rad", "heading_rad", "track_rad") if flight.get(n) is not None)
    turned = flight[name] + np.interp(flight.time_s, [e.start_s + 5.0, e.end_s - 5.0], [0.0, np.pi])
    other = flight.with_columns({name: Column(turned, "measured")})
    laid = ideals_of(replace(found, flight=other))[at]
    assert "altitude_m" in laid.columns
    assert not [n for n in laid.columns if n.startswith(("heading", "track", "bank"))]


@pytest.mark.parametrize(("side", "said"), [(1.0, "right"), (-1.0, "left"), (0.0, "right")])
@pytest.mark.parametrize("kind", ["lazy_eight", "slow_flight"])
def test_an_ideal_with_turns_to_both_sides_begins_to_the_side_flown_first(kind: str, side: float, said: str) -> None:
    """Half circles to both sides turn 1.5° to the right as a whole: begun left, the ideal is drawn begun left."""
    flown = Flown(Episode(kind, 0.0, 90.0, 1.0), {}, {"heading_change_deg": 1.5}, {}, None, None, side)
    asks = room(kind).asks
    assert asks is not None
    asked = asks(flown)
    assert asked is not None
    assert asked["direction"] == said


def recorded(**columns: object) -> Flight:
    """A hundred seconds, a sample each; columns as numbers or functions of the time."""
    t = np.arange(100.0)
    values = {k: Column(np.asarray(what(t) if callable(what) else 0.0 * t + what, dtype=float), "measured")  # type: ignore[operator]
              for k, what in columns.items()}  # fmt: skip
    return Flight(1.75e9, t, values)


def graded_as(kind: str = "steep_turn", start_s: float = 20.0, end_s: float = 60.0) -> Graded:
    return Graded(Episode(kind, start_s, end_s, 1.0), Grade({}, "", {}, (), ()))


@pytest.mark.parametrize(("first", "then", "side"), [(0.21, -0.5, 1.0), (-0.21, 0.5, -1.0), (0.19, -0.5, -1.0),
                                                     (0.19, 0.19, 0.0), (np.nan, 0.5, 1.0)])  # fmt: skip
def test_the_first_turn_is_more_than_wobbling(first: float, then: float, side: float) -> None:
    """0.2 rad is 11°; what was flown before the maneuver is none of it."""
    bank = lambda t: np.where(t < 20.0, -0.9, np.where(t < 40.0, first, then))  # noqa: E731
    found = SimpleNamespace(flight=recorded(bank_rad=bank))
    assert _first_side(found, graded_as()) == side  # type: ignore[arg-type]
    assert _first_side(SimpleNamespace(flight=recorded()), graded_as()) == 0.0  # type: ignore[arg-type]


def test_the_air_of_an_ideal_is_that_of_its_first_ten_seconds() -> None:
    """From 20 to 30 s; what wasn't recorded is standard: 101,325 Pa, no wind; the ground is below as recorded."""
    late = lambda a, b: lambda t: np.where((t >= 20.0) & (t <= 30.0), a, b)  # noqa: E731
    flight = recorded(
        altitude_m=late(1000.0, 1300.0),
        agl_m=late(400.0, 0.0),
        setting_pa=late(102000.0, 99000.0),
        oat_k=late(290.0, 270.0),
        wind_mps=late(8.0, 0.0),
        wind_from_rad=late(1.2, 0.0),
    )
    standard, plane = standard_for("steep_turn"), airplane(AIRPLANES[0])

    def air(flight: Flight, altitude_m: float | None, **more: object) -> Conditions:
        evidence = SimpleNamespace(
            flight=flight,
            altitude_m=flight["altitude_m"],
            agl_m=flight.get("agl_m"),
            airplane=plane,
            gross_mass_kg=None,
            standard=standard,
            **more,
        )
        return _conditions(evidence, graded_as(), altitude_m)  # type: ignore[arg-type]

    here = air(flight, None)
    assert (here.altitude_m, here.ground_elevation_m, here.mass_kg) == (1000.0, 600.0, plane.max_takeoff_mass_kg)
    assert (here.air.setting_pa, here.air.temperature_k, here.air.temperature_altitude_m) == (102000.0, 290.0, 1000.0)
    assert here.air.winds == (WindLayer(1000.0, pytest.approx(1.2), pytest.approx(8.0)),)
    assert (air(flight, 1500.0).altitude_m, air(flight, 1500.0).ground_elevation_m) == (1500.0, 1100.0)
    bare = air(recorded(altitude_m=1000.0), None)
    assert (bare.air.setting_pa, bare.air.winds, bare.ground_elevation_m) == (101325.0, (), 0.0)
    assert bare.air.temperature_k == AirColumn().temperature_k


@pytest.mark.parametrize(("flown_deg", "kept"), [(89.0, True), (-89.0, True), (92.0, False), (-92.0, False)])
def test_an_ideal_is_turned_to_the_heading_flown_or_loses_its_turn(flown_deg: float, kept: bool) -> None:
    """A straight ideal of 40 s over a turn of so much: 90° beside it is another turn."""
    heading = lambda t: 1.0 + np.radians(np.interp(t, [20.0, 60.0], [0.0, flown_deg]))  # noqa: E731
    found = SimpleNamespace(flight=recorded(heading_rad=heading))
    time = np.linspace(0.0, 40.0, 41)
    columns = {"heading_rad": 0.0 * time + 0.3, "bank_rad": 0.0 * time, "altitude_m": 0.0 * time + 1000.0,
               "east_m": time, "north_m": time}  # fmt: skip
    laid = _laid(found, graded_as().episode, Trace(time, columns))  # type: ignore[arg-type]
    assert set(laid.columns) == ({"altitude_m", "bank_rad", "heading_rad"} if kept else {"altitude_m"})
    if kept:
        assert laid.columns["heading_rad"] == pytest.approx(np.full(41, 1.0))


def test_an_ideal_that_begins_before_its_maneuver_takes_the_heading_flown_in_it() -> None:
    """Seven seconds earlier the airplane was still in the clearing turn: its heading is nobody's aim in the stall."""
    heading = lambda t: 1.0 + np.radians(np.interp(t, [10.0, 19.0], [-30.0, 0.0]))  # noqa: E731
    found = SimpleNamespace(flight=recorded(heading_rad=heading))
    time = np.linspace(-7.0, 40.0, 48)
    columns = {"heading_rad": 0.0 * time + 0.3, "altitude_m": 0.0 * time + 1000.0}
    laid = _laid(found, graded_as().episode, Trace(time, columns))  # type: ignore[arg-type]
    assert laid.columns["heading_rad"] == pytest.approx(np.full(48, 1.0), abs=0.01)


def test_the_heading_shown_is_the_compass_where_it_is_known() -> None:
    gone = recorded(heading_mag_rad=np.nan, heading_rad=1.0, track_rad=2.0)
    for flight, name in ((recorded(heading_mag_rad=0.5, heading_rad=1.0), "heading_mag_rad"), (gone, "heading_rad"),
                         (recorded(track_rad=2.0), "track_rad"), (recorded(), None)):  # fmt: skip
        shown = _shown_heading(SimpleNamespace(flight=flight))  # type: ignore[arg-type]
        assert (shown and shown[0]) == name
    over = _shown_heading(SimpleNamespace(flight=recorded(track_rad=lambda t: np.mod(6.0 + 0.01 * t, 2.0 * np.pi))))  # type: ignore[arg-type]
    assert over is not None
    assert np.ptp(over[1]) == pytest.approx(0.99)  # north is passed without a jump
