"""Slow flight badly held is one, from the slowing to the speed regained. Drawn sample by sample."""

from __future__ import annotations

import numpy as np
import pytest

from airwork.jobs.files import load_airplane
from airwork.maneuvers.seeing.stall_tools import Way, stalls
from airwork.maneuvers.seeing.view_building import build_view
from airwork.maneuvers.slow_flight import propose
from airwork.recording.flight import Column, Flight
from airwork.units import FT_M, KT_MPS

STEP = 0.5
SLOWED, BACK = 60.0, 215.0  # where it was slowed from 95 kt, and where nine tenths of that are back


def hunted(between_kt: float, between_s: float) -> Flight:
    """From 95 kt to 52, up to a middling speed for so long, 200 ft up and down with it, slow again, and back."""
    t = np.arange(0.0, 300.0, STEP)
    left = 110.0 + between_s
    kt = np.interp(t, [SLOWED, 95.0, 105.0, 110.0, left - 5.0, left, 195.0, 218.0],
                   [95.0, 53.0, 53.0, between_kt, between_kt, 53.0, 52.0, 95.0])  # fmt: skip
    feet = 4000.0 + 200.0 * np.sin(np.clip((t - 100.0) / 95.0, 0.0, 1.0) * 2.0 * np.pi)
    height, tas, zero = feet * FT_M, kt * KT_MPS, np.zeros(t.size)
    values = {
        "east_m": zero, "north_m": np.cumsum(tas) * STEP, "altitude_m": height, "indicated_altitude_m": height,
        "agl_m": height - 200.0, "groundspeed_mps": tas, "ias_mps": tas, "cas_mps": tas, "tas_mps": tas,
        "track_rad": zero, "heading_rad": zero, "heading_mag_rad": zero, "bank_rad": zero, "on_ground": zero,
        "vertical_speed_mps": np.gradient(height, STEP), "wind_mps": zero, "wind_from_rad": zero,
        "rpm": zero + 2100.0,
    }  # fmt: skip
    return Flight(1.75e9, t, {k: Column(v, "measured") for k, v in values.items()}, source={"name": "drawn"})


@pytest.mark.parametrize(("between_kt", "between_s", "is_one"), [(66.0, 40.0, True), (88.0, 40.0, False)])
def test_a_speed_that_never_came_halfway_back_is_still_slow_flight(
    between_kt: float, between_s: float, is_one: bool
) -> None:
    """12 kt fast for 40 s is slow flight out of its +10/−0 kt; at 88 kt it had been ended and was begun anew.

    Source: FAA-S-ACS-6C VII.A, +10/−0 kt and ±100 ft: who can't hold them still flies it. From to: docs/maneuvers.md,
    slowing to nine tenths of the speed before.
    """
    view = build_view(hunted(between_kt, between_s), airplane=load_airplane("larkmoor_155"), mass_kg=1000.0)
    assert view is not None
    found = [e for e in propose(view) if e.score > 0.5]
    if is_one:
        assert [(e.start_s, e.end_s) for e in found] == [(pytest.approx(SLOWED, abs=4.0), pytest.approx(BACK, abs=4.0))]
    else:
        assert all(e.end_s - e.start_s < 100.0 for e in found)


def stalled(after_s: float) -> Flight:
    """From 95 kt to 55, for a while up to 73 and slow again, then a break so long after it first was slow:
    a sink of 1,000 ft/min and the speed regained."""
    t = np.arange(0.0, 320.0, STEP)
    first, broke = 103.0, 103.0 + after_s
    kt = np.interp(t, [SLOWED, 95.0, first, first + 0.4 * after_s, first + 0.7 * after_s, broke - 3.0, broke,
                       broke + 8.0, broke + 40.0],
                   [95.0, 55.0, 55.0, 73.0, 73.0, 52.0, 46.0, 62.0, 95.0])  # fmt: skip
    feet = 4000.0 - np.interp(t, [broke - 1.0, broke + 6.0, broke + 9.0, broke + 30.0], [0.0, 110.0, 115.0, 20.0])
    made = hunted(66.0, 40.0)
    height, tas = feet * FT_M, kt * KT_MPS
    changed = {
        "altitude_m": height, "indicated_altitude_m": height, "agl_m": height - 200.0, "north_m": np.cumsum(tas) * STEP,
        "vertical_speed_mps": np.gradient(height, STEP), "rpm": np.full(t.size, 2100.0),
        **dict.fromkeys(("groundspeed_mps", "ias_mps", "cas_mps", "tas_mps"), tas),
    }  # fmt: skip
    zero = np.zeros(t.size)
    columns = {name: Column(changed.get(name, zero), "measured") for name in made.columns}
    return Flight(1.75e9, t, columns, source={"name": "drawn"})


@pytest.mark.parametrize(("after_s", "is_one"), [(75.0, True), (16.0, False)])
def test_slow_twice_before_a_stall_was_slow_flight(after_s: float, is_one: bool) -> None:
    """A stall's entry slows down once, about a knot a second (14 CFR 23.201 (b), amendment 23-50, from memory).

    A minute at one height with the speed down, up and down again is slow flight, ended by a stall nobody meant.
    """
    view = build_view(stalled(after_s), airplane=load_airplane("larkmoor_155"), mass_kg=1000.0)
    assert view is not None
    found = [e for e in propose(view) if e.score > 0.5]
    assert [e.start_s for e in found] == ([pytest.approx(SLOWED, abs=4.0)] if is_one else [])
    assert all(e.end_s > 103.0 + after_s for e in found)


@pytest.mark.parametrize(("brought_rpm", "practiced"), [(2500.0, True), (2100.0, False)])
def test_power_left_as_it_was_makes_no_power_on_stall_of_slow_flight(brought_rpm: float, practiced: bool) -> None:
    """FAA-S-ACS-6C VII.C: power is set for the stall, 65 % at least; slow flight let go to its stall has its own."""
    flight = stalled(75.0)
    rpm = np.where((flight.time_s > 170.0) & (flight.time_s < 205.0), brought_rpm, 2100.0)
    rpm[flight.time_s < 50.0] = 2500.0  # full power was used at some time
    flight = flight.with_columns({"rpm": Column(rpm, "measured")})
    view = build_view(flight, airplane=load_airplane("larkmoor_155"), mass_kg=1000.0)
    assert view is not None
    found = [e for e in stalls(view, "power_on_stall", Way.WITH_POWER) if e.score > 0.5]
    assert bool(found) is practiced
