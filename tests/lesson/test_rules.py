"""Rules as data: weather minima, fuel reserve, cruising altitudes at their boundaries."""

from __future__ import annotations

import pytest

from airwork.lesson.rules import legal_reserve, vfr_minima
from airwork.units import FT_M, SM_M, from_unit, to_unit


# Source: 14 CFR 91.151 [V], arithmetic [D] (row Q14): 2 h 10 min and the night reserve at 8.5 gph.
def test_q14_night_reserve_published():
    reserve = legal_reserve("91.151", night=True)
    gallons = to_unit((130 * 60 + reserve.time_s) * from_unit(8.5, "gph"), "gal")
    assert gallons == pytest.approx(24.8, abs=0.05)
    assert legal_reserve("91.151", night=False).time_s == 30 * 60


# Source: Part-NCO final reserve for VFR, from memory [M].
def test_european_reserve_is_shorter_only_in_sight_of_the_aerodrome():
    minutes = [legal_reserve("NCO", *case).time_s / 60 for case in ((False, False), (False, True), (True, True))]
    assert minutes == [30, 10, 45]


# Source: 14 CFR 91.155 [V] (row Q15).
def test_q15_four_hundred_feet_below_cloud_in_class_e_is_not_vfr_published():
    minima = vfr_minima("E", 9000 * FT_M, 5000 * FT_M, night=False)
    assert minima.visibility_m == pytest.approx(3 * SM_M)
    assert minima.below_m == pytest.approx(500 * FT_M)


# Source: 14 CFR 91.155 [V] (row Q16).
def test_q16_a_mile_clear_of_clouds_low_in_class_g_by_day_only_published():
    day = vfr_minima("G", 4000 * FT_M, 800 * FT_M, night=False)
    assert (day.below_m, day.visibility_m) == (None, pytest.approx(1 * SM_M))
    night = vfr_minima("G", 4000 * FT_M, 800 * FT_M, night=True)
    assert night.visibility_m == pytest.approx(3 * SM_M)


# Source: 14 CFR 91.155 (a) [V], the whole table: (class, MSL ft, AGL ft, night) -> SM, below, above, horizontal ft.
@pytest.mark.parametrize(
    ("airspace", "msl", "agl", "night", "expected"),
    [
        ("B", 5000, 3000, False, (3, None, None, None)),
        ("C", 5000, 3000, True, (3, 500, 1000, 2000)),
        ("D", 2500, 2000, False, (3, 500, 1000, 2000)),
        ("E", 9999, 5000, False, (3, 500, 1000, 2000)),
        ("E", 10_000, 5000, False, (5, 1000, 1000, 5280)),
        ("G", 3000, 1201, False, (1, 500, 1000, 2000)),
        ("G", 3000, 1201, True, (3, 500, 1000, 2000)),
        ("G", 11_000, 1201, False, (5, 1000, 1000, 5280)),
        ("G", 11_000, 1200, False, (1, None, None, None)),
    ],
)
def test_the_minima_table_published(airspace, msl, agl, night, expected):
    m = vfr_minima(airspace, msl * FT_M, agl * FT_M, night)
    got = [m.visibility_m / SM_M, *(None if d is None else d / FT_M for d in (m.below_m, m.above_m, m.horizontal_m))]
    assert got == [None if e is None else pytest.approx(e) for e in expected]


# Source: 14 CFR 91.159 (row Q18: odd [V], even [M]).


# Source: PHAK ch. 16 (row H16 [V]): magnetic course 021 above 3,000 ft AGL, 5,500 ft chosen.
