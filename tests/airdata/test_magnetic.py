"""Magnetic variation against the model's published test values; directions and the compass card."""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from datetime import date

import pytest

from airwork.airdata import magnetic
from airwork.errors import InputError, OutOfRange
from airwork.units import DEG_RAD

# Source: WMM2025_TEST_VALUES.txt as transcribed in worked-examples section M [V]; tolerance 0.01°.
# id, year, km above the ellipsoid, latitude, longitude, declination
WMM2025 = [
    ("M1", 2025.0, 0, 80, 0, 1.28),
    ("M2", 2025.0, 0, 0, 120, -0.16),
    ("M3", 2025.0, 0, -80, 240, 68.78),
    ("M4", 2025.0, 100, 80, 0, 0.85),
    ("M5", 2025.0, 100, 0, 120, -0.15),
    ("M6", 2025.0, 100, -80, 240, 68.21),
    ("M7", 2027.5, 0, 80, 0, 2.59),
    ("M8", 2027.5, 0, 0, 120, -0.24),
    ("M9", 2027.5, 0, -80, 240, 68.49),
    ("M10", 2027.5, 100, 80, 0, 2.16),
    ("M11", 2027.5, 100, 0, 120, -0.23),
    ("M12", 2027.5, 100, -80, 240, 67.93),
    ("M13", 2025.0, 28, 89, -121, -99.77),
    ("M14", 2025.0, 65, 43, 93, 0.50),
    ("M15", 2025.0, 51, -33, 109, -5.49),
    ("M16", 2025.0, 18, 0, 21, 1.29),
    ("M17", 2025.5, 50, -70, -133, 57.21),
    ("M18", 2027.0, 67, -47, -32, -13.52),
]


@pytest.mark.parametrize("row", WMM2025, ids=lambda r: r[0])
def test_variation_matches_the_models_test_values_published(row) -> None:
    _, year, km, latitude, longitude, declination = row
    got = magnetic.variation(latitude * DEG_RAD, longitude * DEG_RAD, year, km * 1000.0)
    assert got.variation_rad / DEG_RAD == pytest.approx(declination, abs=0.01)


@pytest.mark.parametrize(
    ("latitude", "longitude", "first", "second"),
    [
        (40, -105, 7.66, 7.58),
        (33, -97, 2.79, 2.72),
        (47, -122, 14.89, 14.77),
        (42, -71, -14.01, -13.94),
        (51.5, 0, 0.95, 1.12),
    ],
)
def test_variation_drifts_as_worked_out_pinned(latitude, longitude, first, second) -> None:
    """[D], with the same package: 2025.0 and 2026.0 at sea level. Guards sign (east positive) and units."""
    for year, degrees in ((2025.0, first), (2026.0, second)):
        got = magnetic.variation(latitude * DEG_RAD, longitude * DEG_RAD, year)
        assert got.variation_rad / DEG_RAD == pytest.approx(degrees, abs=0.01)
        assert 0.2 < got.error_rad / DEG_RAD < 0.5  # [M] middle latitudes
        assert got.caution == ""


@pytest.mark.parametrize("year", [2024.99, 2030.01, float("nan")])
def test_a_year_outside_the_model_is_refused(year: float) -> None:
    with pytest.raises(OutOfRange, match=r"2,?025 to 2,?030"):
        magnetic.variation(0.7, -1.8, year)


def test_the_last_day_of_the_model_is_answered() -> None:
    assert magnetic.variation(0.7, -1.8, 2030.0).caution == ""


@pytest.mark.parametrize(("latitude", "longitude"), [(91.0, 0.0), (0.0, 400.0), (float("nan"), 0.0)])
def test_no_such_place_is_refused(latitude: float, longitude: float) -> None:
    with pytest.raises(InputError, match="no such place"):
        magnetic.variation(latitude * DEG_RAD, longitude * DEG_RAD, 2026.0)


def test_near_the_magnetic_pole_the_compass_is_warned_of() -> None:
    """The north magnetic pole of 2025 lies near 86° N 139° E [M]."""
    assert "compass" in magnetic.variation(86.0 * DEG_RAD, 139.0 * DEG_RAD, 2025.5).caution


def test_the_compass_is_warned_of_by_the_strength_of_the_field() -> None:
    """[WMM2025]: unreliable below 6,000 nT of horizontal field, of no use below 2,000 nT."""
    found = [magnetic.variation(lat * DEG_RAD, -100.0 * DEG_RAD, 2025.5) for lat in range(60, 90, 2)]
    words = {True: "can't be used", False: "unreliable"}
    for one in found:
        nanotesla = one.horizontal_t * 1e9
        assert (words[nanotesla < 2000.0] if nanotesla < 6000.0 else "") in one.caution
        assert bool(one.caution) is (nanotesla < 6000.0)
    assert {one.caution != "" for one in found} == {True, False}


def test_threads_do_not_disturb_each_other() -> None:
    """The package keeps scratch arrays in its model; the web face asks from several threads."""
    places = [(math.radians(20 + i), math.radians(-150 + 3 * i), 2025.0 + i / 20) for i in range(60)]
    alone = [magnetic.variation.__wrapped__(*p) for p in places]
    with ThreadPoolExecutor(8) as pool:
        together = list(pool.map(lambda p: magnetic.variation.__wrapped__(*p), places * 4))
    assert together == alone * 4


def test_decimal_year_counts_days() -> None:
    assert magnetic.decimal_year(date(2025, 1, 1)) == 2025.0
    assert magnetic.decimal_year(date(2025, 7, 2)) == pytest.approx(2025 + 182 / 365)
    assert magnetic.decimal_year(date(2028, 12, 31)) == pytest.approx(2028 + 365 / 366)
