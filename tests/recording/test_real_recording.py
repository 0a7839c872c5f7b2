"""A real flight: 5 Hz GPS and inertial rows, scaled integers, bad times, loops, parabolas, two touches; no lesson.

Caprace et al., Microgravity Sci. Technol. 32(6), 1121–1132 (2020), CC BY 4.0; see sources/recordings/ORIGIN.md. What
its notice says of the columns: Time in Unix seconds, positions in 1e-7 degrees, altitude in cm, speed in knots × 1000,
accelerations in m/s²; load factor 0.39 to 2.10.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from airwork.recording import read_flight
from airwork.recording.flight import Flight


@pytest.fixture(scope="module")
def excerpt(recordings: Path) -> Flight:
    return read_flight(recordings / "landing_5hz_excerpt.csv.gz")


def check_columns(flight: Flight) -> None:
    units = {row["column"]: (row["quantity"], row["unit"]) for row in flight.source["understood"]}
    assert units["Lat"] == ("latitude", "1e-07 deg")
    assert units["Lon"] == ("longitude", "1e-07 deg")
    assert units["Vel"] == ("speed", "0.001 kt")
    assert units["Alt"] == ("gps_altitude", "cm")
    assert flight.source["not_understood"] == []
    assert flight.columns["groundspeed_mps"].known == "measured"


def test_the_excerpt_is_understood_and_lands(excerpt: Flight) -> None:
    assert excerpt.source["packed"] == "gzip"
    assert len(excerpt) == 1700
    check_columns(excerpt)
    assert [c.kind for c in excerpt.contacts] == ["landing"]
    landed = excerpt.index_at(excerpt.contacts[0].time_s)
    assert 25.0 < excerpt["groundspeed_mps"][landed] < 40.0  # 50 to 78 kt: a light airplane touching down
    assert np.ptp(excerpt["altitude_m"][landed:]) < 12.0
    assert any("3 rows with an impossible time put back" in m.what for m in excerpt.mends)


def test_the_speed_agrees_with_the_positions(excerpt: Flight) -> None:
    """Physical consistency: distance over the fixes against the integral of the recorded speed."""
    flown = float(np.hypot(np.diff(excerpt["east_m"]), np.diff(excerpt["north_m"])).sum())
    speed = excerpt["groundspeed_mps"]
    integrated = float(np.sum(0.5 * (speed[1:] + speed[:-1]) * np.diff(excerpt.time_s)))
    assert integrated == pytest.approx(flown, rel=0.01)


def test_the_whole_flight_keeps_every_row_and_its_touches(whole_flight: Path) -> None:
    flight = read_flight(whole_flight)
    assert len(flight) == 18_660
    check_columns(flight)
    assert any(m.what.startswith("20 rows with an impossible time") for m in flight.mends)
    assert [c.kind for c in flight.contacts] == ["takeoff", "touch_and_go", "touch_and_go", "landing"]
    load = flight.columns["load_factor"]
    assert load.known == "measured"
    assert np.nanmin(load.values) == pytest.approx(0.39, abs=0.03)
    assert np.nanmax(load.values) == pytest.approx(2.10, abs=0.08)
    assert flight.source["acceleration_agreement"] > 0.9
    assert "ias_mps" not in flight.columns or flight.columns["ias_mps"].known == "derived"
    assert flight.time_s[-1] == pytest.approx(65 * 60, abs=60)  # about 65 minutes


def test_both_touches_shake_the_accelerometers_at_the_same_spot(whole_flight: Path) -> None:
    """Its notice calls them low passes; a pass in the air is not jolted to 1.5 g twice at one place.

    Independent of how contacts are found: the accelerometers alone, which that search does not read.
    """
    flight = read_flight(whole_flight)
    east, north = flight["east_m"], flight["north_m"]
    spots = []
    for contact in flight.contacts[1:3]:
        near = np.flatnonzero(np.abs(flight.time_s - contact.time_s) < 8.0)
        jolt = near[np.argmax(flight["load_factor"][near])]
        assert flight["load_factor"][jolt] > 1.5
        assert (
            flight["groundspeed_mps"][jolt] < 0.9 * flight["groundspeed_mps"][near[0] - 40]
        )  # 8 s before: the approach
        spots.append((east[jolt], north[jolt]))
    assert np.hypot(*np.subtract(*spots)) < 100.0
