"""What is typed, shown and pasted is read the same everywhere."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.errors import UnitError
from airwork.lesson.reasons_notes import alarming
from airwork.lesson.style import Style
from airwork.lesson.weather import Wind
from airwork.lesson.wind_text import parse_aloft, parse_aloft_forecast, parse_wind
from airwork.units import FT_M, KT_MPS, MPH_MPS

STYLE = Style("us", "UTC")


@pytest.mark.parametrize(
    ("text", "direction", "knots", "gust"),
    [
        ("240° 11 gusting 17 kt", 240, 11, 17),
        ("240° 11 gusting to 17 kt", 240, 11, 17),
        ("27008KT", 270, 8, None),
        ("27008G15KT", 270, 8, 15),
        ("27008", 270, 8, None),
        ("270/08", 270, 8, None),
        ("270 8", 270, 8, None),
        ("270@8", 270, 8, None),
        ("270 at 8 kt", 270, 8, None),
        ("from 270 at 8 knots gusts 15", 270, 8, 15),
        ("240/12G18 kt", 240, 12, 18),
        ("360/10", 0, 10, None),
        ("VRB03KT", None, 3, None),
        ("variable 4 kt", None, 4, None),
        ("VRB/4 kt", None, 4, None),
        ("calm", None, 0, None),
        ("00000KT", None, 0, None),
    ],
)
def test_a_wind_is_read_as_it_is_written(text, direction, knots, gust):
    w = parse_wind(text)
    assert (w.from_rad is None) == (direction is None)
    if direction is not None:
        assert math.degrees(w.from_rad) == pytest.approx(direction)
    assert w.speed_mps / KT_MPS == pytest.approx(knots)
    assert (w.gust_mps is None) == (gust is None)
    if gust is not None:
        assert w.gust_mps / KT_MPS == pytest.approx(gust)
    assert not w.magnetic


def test_other_units_magnetic_and_varying_winds_are_read():
    assert parse_wind("240/20 mph").speed_mps == pytest.approx(20 * MPH_MPS)
    assert parse_wind("26015G25MPS").gust_mps == pytest.approx(25.0)
    assert parse_wind("240M/12").magnetic
    assert parse_wind("240°M 12 kt").magnetic
    assert not parse_wind("240T/12").magnetic
    w = parse_wind("24011G17KT 210V270")
    assert (math.degrees(w.varies_from_rad), math.degrees(w.varies_to_rad)) == (pytest.approx(210), pytest.approx(270))


@pytest.mark.parametrize("text", ["15 mph", "rather strong", "400/12", "240/18G12", "240/300", "", "24/7/365", "1e9 4"])
def test_no_wind_is_refused_with_what_to_write(text):
    with pytest.raises(UnitError, match=r"240|direction"):
        parse_wind(text)


@given(st.integers(1, 360), st.integers(1, 60), st.integers(0, 30), st.booleans())
def test_what_is_shown_is_read_back_the_same(direction, knots, more, gusty):
    w = Wind(math.radians(direction % 360), knots * KT_MPS, (knots + more) * KT_MPS if gusty else None)
    back = parse_wind(STYLE.wind(w))
    assert back.from_rad == pytest.approx(w.from_rad)
    assert back.speed_mps == pytest.approx(w.speed_mps)
    assert (back.gust_mps is None) == (w.gust_mps is None)


# Source: AWH (FAA-H-8083-28) 27.11 and AIM 7-1: groups are direction in tens of degrees, speed, temperature; 9900 light
# and variable; 50 added to the direction for 100 kt and more; above 24,000 ft temperatures are negative [M].
def test_a_winds_aloft_forecast_is_read_by_its_levels():
    text = """DATA BASED ON 201200Z
    FT  3000    6000    9000   12000   18000   24000  30000
    OGA      2518+11 2624+05 2730-01 2742-14 2751-27 771542
    GLD 9900 2310+14 2416+07 2520+00 2630-13 2640-26 265541"""
    oga = parse_aloft_forecast(text, ("KOGA",))
    assert [round(a.altitude_m / FT_M) for a in oga] == [6000, 9000, 12000, 18000, 24000, 30000]
    assert math.degrees(oga[0].wind.from_rad) == pytest.approx(250)
    assert oga[0].wind.speed_mps / KT_MPS == pytest.approx(18)
    assert oga[0].temperature_k == pytest.approx(284.15)
    assert (math.degrees(oga[-1].wind.from_rad), oga[-1].wind.speed_mps / KT_MPS) == (
        pytest.approx(270),
        pytest.approx(115),
    )
    assert oga[-1].temperature_k == pytest.approx(231.15)
    gld = parse_aloft_forecast(text, ("GLD",))
    assert gld[0].wind.from_rad is None
    assert len(gld) == 7
    with pytest.raises(UnitError, match="which station"):
        parse_aloft_forecast(text, ("KDEN",))
    with pytest.raises(UnitError, match="line of levels"):
        parse_aloft_forecast("OGA 2518+11", ("OGA",))


def test_one_wind_aloft_in_the_ways_people_write_it():
    wanted = parse_aloft("6,000 ft 250/18 kt 11 °C")
    for text in ("6000 2518+11", "6000 ft 25018KT 11 C", "6,000 ft 250° 18 kt 11°C", "6000 250/18 +11"):
        found = parse_aloft(text)
        assert found.altitude_m == pytest.approx(wanted.altitude_m)
        assert found.wind.from_rad == pytest.approx(wanted.wind.from_rad)
        assert found.temperature_k == pytest.approx(wanted.temperature_k)
    with pytest.raises(UnitError):
        parse_aloft("six thousand")


# Common practice, no source: what an instructor settles before the flight, and what sounds like it and is none.
@pytest.mark.parametrize(
    "note",
    [
        "left brake is weak", "oil leak at the firewall", "landing light out", "nose wheel shimmies", "radio 2 dead",
        "door pops open in flight", "pitot heat does not work", "compass card expired", "I have a cold",
        "fuel gauge reads empty when full", "ELT battery expired in May", "brief the go-around: brakes weak today",
        "vacuum pump failed", "cracked windshield", "alternator light flickers", "frost on the wing, not cleaned",
    ],
)  # fmt: skip
def test_a_note_of_something_to_settle_is_heard(note):
    assert alarming(note)


@pytest.mark.parametrize(
    "note",
    [
        "let her do the radio; ask for the light signals", "carb ice check every 10 min", "brakes gentle, rudder early",
        "steep turns left first, she is weak on left", "engine idle at 1,500 ft, glide to the field",
        "Review: icing, wake",
        "mags check 50 RPM drop, fine", "use soft-field technique, no braking", "no alternator, no flaps, by hand",
        "first solo if three landings are good", "full flaps, trim low, hold heading",
        "brake was weak, replaced",
    ],
)  # fmt: skip
def test_a_note_that_teaches_is_none(note):
    assert not alarming(note)
