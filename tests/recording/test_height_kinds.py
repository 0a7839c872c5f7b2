"""Which height a column tells: small tables of our own after causes real files showed, each with its opposite."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from airwork.airdata.atmosphere import standard_pressure_pa
from airwork.recording import read_flight
from airwork.recording.flight import Flight
from recording.causes import ISO, MADE, POSITIONS, N, put
from recording.writing import FT, GET, save, table

pytestmark = pytest.mark.usefixtures("columns_alone")

HIGH_M = MADE.altitude_m
WANDERS_M = 4.0 * np.sin(np.arange(N) / 17.0) + 2.0 * np.sin(np.arange(N) / 5.0)
BY_SATELLITES_M = HIGH_M * 1.04 + 60.0 + WANDERS_M  # a warm day at 1006 hPa
AIRSPEED = {"IAS (kt)": ("ias_kt", 1)}


def read(tmp_path: Path, **columns: object) -> Flight:
    names = {n.replace("__", " "): (put(f"h_{n}", v), 2) for n, v in columns.items()}
    return read_flight(save(tmp_path, table(MADE, {**POSITIONS, **names})))


def kind(flight: Flight, column: str) -> str:
    return next(u["quantity"] for u in flight.source["understood"] if u["column"] == column)


def test_an_engines_monitor_with_positions_tells_its_receivers_height(tmp_path: Path) -> None:
    rpm = 2_300.0 + 50.0 * np.sin(np.arange(N) / 60.0)
    assert kind(read(tmp_path, altitude_ft=HIGH_M / FT, RPM=rpm), "altitude_ft") == "gps_altitude"


def test_beside_an_airspeed_it_is_the_altimeters(tmp_path: Path) -> None:
    text = table(MADE, {**POSITIONS, "altitude_ft": ("alt_ft", 0), **AIRSPEED})
    assert kind(read_flight(save(tmp_path, text)), "altitude_ft") == "indicated_altitude"


@pytest.mark.parametrize(
    ("height_m", "expected"),
    [(HIGH_M, "pressure_altitude"), (HIGH_M - 55.0, "indicated_altitude"), (BY_SATELLITES_M, "gps_altitude")],
    ids=["worked out from it", "with a setting", "of satellites"],
)
def test_the_airs_pressure_tells_whose_height_it_is(tmp_path: Path, height_m: np.ndarray, expected: str) -> None:
    static = np.asarray(standard_pressure_pa(HIGH_M))
    assert kind(read(tmp_path, alt_m=height_m, static_pa=static), "alt_m") == expected


@pytest.mark.parametrize(("off_m", "expected"), [(95.0, "pressure_altitude"), (12.0, "indicated_altitude")])
def test_no_altimeter_set_to_the_field_lies_far_from_the_satellites(
    tmp_path: Path, off_m: float, expected: str
) -> None:
    flight = read(tmp_path, alt_baro_m=HIGH_M + off_m, alt_gnss_m=HIGH_M + WANDERS_M)
    assert kind(flight, "alt_baro_m") == expected


def test_who_says_indicated_is_believed(tmp_path: Path) -> None:
    flight = read(tmp_path, alt_ind_m=HIGH_M + 95.0, alt_gnss_m=HIGH_M + WANDERS_M)
    assert kind(flight, "alt_ind_m") == "indicated_altitude"


@pytest.mark.parametrize(("step_ft", "expected"), [(25.0, "pressure_altitude"), (10.0, "gps_altitude")])
def test_steps_of_25_ft_are_a_transponders(tmp_path: Path, step_ft: float, expected: str) -> None:
    assert kind(read(tmp_path, Altitude=np.round(HIGH_M / FT / step_ft) * step_ft), "Altitude") == expected


@pytest.mark.parametrize(("whole_meters", "expected"), [(True, "gps_altitude"), (False, "pressure_altitude")])
def test_feet_that_are_whole_meters_no_transponder_sends(tmp_path: Path, whole_meters: bool, expected: str) -> None:
    """Rows with an address, as receivers' networks keep them: of transponders, and of gliders' boxes."""
    feet = np.round(np.round(HIGH_M) / FT) if whole_meters else np.round(HIGH_M / FT / 25.0) * 25.0
    rows = "".join(
        f"{t},4b1e3a,{a:.6f},{o:.6f},{h:.0f}\n"
        for t, a, o, h in zip(ISO, *(GET[k](MADE) for k in ("lat_deg", "lon_deg")), feet, strict=True)
    )
    flight = read_flight(save(tmp_path, f"time,icao24,lat,lon,altitude\n{rows}"))
    assert kind(flight, "altitude") == expected
