"""The ideal laid over a flown maneuver. Where the flown one was the ideal itself, the two must lie on each other.

The flights are the rooms' own ideal paths (`maneuvers.days.ideal`), with a minute straight and level before and after,
in 15 kt of wind; the debrief knows nothing of what they were made from and has to find mark, size, side and moment.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from airwork.airdata.angles import turn_from_to_rad
from airwork.airdata.atmosphere import G0_MPS2
from airwork.debrief import Debrief, debrief
from airwork.debrief.ideals import ideals_of
from airwork.maneuvers import room, rooms
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.paths.laying import Flown
from airwork.maneuvers.setup import Trace
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
