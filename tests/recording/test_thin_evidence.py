"""What a short piece doesn't tell is asked for, not guessed: units and directions of level flight, of few rows.

Small tables of our own, a light airplane at 100 kt; no source but the physics beside each.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from airwork.recording import Flight, read_flight
from recording.writing import save

pytestmark = pytest.mark.usefixtures("no_wind_sought")
KT, FT = 1852.0 / 3600.0, 0.3048
LATITUDE, LONGITUDE = 39.7, -105.0  # the compass points 8° off here


def piece(tmp_path: Path, columns: dict[str, np.ndarray], step_s: float = 1.0, course_deg: float = 70.0) -> Flight:
    """Straight at 100 kt; what else a column holds."""
    n = len(next(iter(columns.values())))
    t = step_s * np.arange(n)
    way = 100.0 * KT * t / 6_371_000.0
    lat = LATITUDE + np.degrees(way * np.cos(np.radians(course_deg)))
    lon = LONGITUDE + np.degrees(way * np.sin(np.radians(course_deg))) / np.cos(np.radians(LATITUDE))
    names = ["seconds", "lat", "lon", *columns]
    cells = [[f"{x:.1f}" for x in t], [f"{x:.7f}" for x in lat], [f"{x:.7f}" for x in lon]]
    cells += [[f"{x:.3f}" for x in v] for v in columns.values()]
    rows = "\n".join(map(",".join, zip(*cells, strict=True)))
    return read_flight(save(tmp_path, ",".join(names) + "\n" + rows + "\n"))


def asked(flight: Flight) -> set[str]:
    return {m.column or "" for m in flight.mends if m.asks}


def wander(n: int, size: float) -> np.ndarray:
    return size * np.sin(np.arange(n) / 9.0)


@pytest.mark.parametrize("unit", [1.0, FT])
def test_level_flight_tells_no_unit_of_its_height(tmp_path: Path, unit: float) -> None:
    """Held within 40 ft for a minute: no climb, so its slope speaks for neither feet nor meters."""
    flight = piece(tmp_path, {"alt": (1_200.0 + wander(60, 12.0)) / unit})
    assert "gps_altitude_m" in asked(flight)


def test_a_climb_tells_it(tmp_path: Path) -> None:
    """700 ft a minute at 100 kt: in meters nothing flies so."""
    rise = np.arange(240) * 700.0 / 60.0
    flight = piece(tmp_path, {"alt": 1_000.0 + rise, "vs": np.full(240, 700.0) + wander(240, 60.0)})
    assert not asked(flight)
    assert float(flight["gps_altitude_m"].min()) == pytest.approx(1_000.0 * FT, abs=1.0)


@pytest.mark.parametrize("unit", [1.0, FT / 60.0])
def test_a_vertical_speeds_numbers_tell_its_unit(tmp_path: Path, unit: float) -> None:
    """Of 40 s: what it adds up to is how the height changes; 1.2 m/s for 9 s are 35 ft."""
    height = 3_000.0 - 1.2 * 9.0 / FT * np.cos(np.arange(40) / 9.0)
    flight = piece(tmp_path, {"altitude (ft)": height, "climb": wander(40, 1.2) / unit})
    assert float(np.nanmax(flight["vertical_speed_mps"])) == pytest.approx(1.2, rel=0.05)


@pytest.mark.parametrize("unit", [1.0, FT / 60.0])
def test_without_a_height_too(tmp_path: Path, unit: float) -> None:
    """1.2 ft a minute at the most is steadier than any hand, 240 m a second faster than anything."""
    flight = piece(tmp_path, {"climb": wander(40, 1.2) / unit})
    assert float(np.nanmax(flight["vertical_speed_mps"])) == pytest.approx(1.2, rel=0.05)


def test_an_attitude_that_is_held_in_the_air_is_in_radians(tmp_path: Path) -> None:
    """3 s of flight: in degrees it would stand within hundredths; on the ground it may."""
    still = 0.05 + wander(30, 0.004)
    flight = piece(tmp_path, {"pitch": still, "roll": -still}, step_s=0.1)
    assert np.degrees(np.nanmax(flight["pitch_rad"])) == pytest.approx(np.degrees(0.054), rel=0.05)


@pytest.mark.parametrize("rows", [12, 40])
def test_a_heading_that_is_the_way_where_no_compass_points_along_it(tmp_path: Path, rows: int) -> None:
    """Beside an airspeed, too: 8° of variation would show."""
    flight = piece(tmp_path, {"heading": np.full(rows, 70.0) + wander(rows, 0.4), "ias": np.full(rows, 96.0)})
    assert "heading_mag_rad" not in flight.columns
    assert "track_rad" in flight.columns


def test_a_compass_beside_it_stays_one(tmp_path: Path) -> None:
    flight = piece(tmp_path, {"heading": np.full(40, 62.0) + wander(40, 0.4), "ias": np.full(40, 96.0)})
    assert "heading_mag_rad" in flight.columns


def test_microseconds_ten_times_a_second_are_no_milliseconds(tmp_path: Path) -> None:
    """A row in 100 s is no recording of a flight."""
    rows = "".join(f"{812_345_678 + 100_000 * k},{3_000 + k},{96.0 + 0.1 * k:.1f}\n" for k in range(30))
    flight = read_flight(save(tmp_path, "t,pressure_altitude (ft),ias (kt)\n" + rows))
    assert flight.time_s[-1] - flight.time_s[0] == pytest.approx(2.9, abs=0.01)
