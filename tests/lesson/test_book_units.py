"""An airplane is briefed in its book's units: kg, mm, m of runway, L, L/h, hPa, m/s; heights stay feet."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from airwork.airplane import Airplane
from airwork.airplane.book_units import US_BOOK, BookUnits
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.loading import loading
from airwork.airplane.numbers import Field, Question, numbers_for
from airwork.jobs.files import load_airplane
from airwork.lesson.file import parse_lesson
from airwork.lesson.plan import build_briefing
from airwork.lesson.style import Style
from airwork.output.briefing_text import briefing_text
from airwork.output.card import make_card
from airwork.output.numbers_text import numbers_text
from airwork.web.brief_view import facts_of
from lesson.lessons import DEMO, changed

BOOK = Path(__file__).parents[2] / "bench" / "books" / "typed" / "rohrsanger_kmh_hpa.toml"
US = re.compile(r"[0-9.] (?:lb|in|gal|gph|fpm|ft/min|ft over 50|inHg at)\b|over 50 ft|inHg ·")


@pytest.fixture(scope="module")
def metric() -> Airplane:
    return Airplane(parse_airplane_file(BOOK.read_text(), where="book"))


def test_card_and_briefing_are_in_the_books_units(metric: Airplane) -> None:
    text = changed(DEMO.read_text(), {'station = "baggage"': 'station = "Baggage"'})
    lesson = parse_lesson(text.replace('"front seats"', '"Front seats"'), where="demo")
    briefing = build_briefing(lesson, metric)
    said = briefing_text(briefing) + repr(make_card(briefing))
    assert not [m for m in US.findall(said) if m]
    for unit in ("kg", "mm", "L", "L/h", "hPa at", "m/s", "m over 15 m"):
        assert re.search(rf"[0-9] {unit}", said), unit
    # by hand: 690 at 2,320, two people of 329 lb at 2,480, 22 lb at 3,700, 34.5 gal of 6 lb/gal at 2,560
    kg = [690.0, 329 * 0.45359237, 22 * 0.45359237, 34.5 * 6.0 * 0.45359237]
    arm = sum(m * x for m, x in zip(kg, (2320, 2480, 3700, 2560), strict=True)) / sum(kg)
    assert f"{sum(kg):,.0f} kg at start" in said
    assert f"center of gravity {arm:,.0f} mm" in said.replace("\n              ", " ")
    assert ("takeoff over 15 m, with factor", "391 m") in facts_of(briefing)  # 1.33 times the 294 m said
    assert "takeoff 294 m over 15 m" in said
    assert "6,500 ft" in said  # heights stay as charts have them
    assert "11 gusting 17 kt" in said


def test_numbers_and_refusals_are_in_the_books_units(metric: Airplane) -> None:
    field = Field(0.0, 288.15, length_m=800.0)
    seats = {"Front seats": 160.0, "Rear seats": 160.0}
    asked = Question(
        altitude_m=1219.2, power_ratio=0.65, station_mass_kg=seats, tank_m3={"left wing": 0.086}, field=field
    )
    said = numbers_text(numbers_for(metric, asked))
    assert not US.findall(said)
    for unit in ("kg", "mm", "L/h", "hPa", "m/s"):
        assert re.search(rf"[0-9] {unit}", said), unit
    assert "of 800 m: fits" in said
    heavy = loading(metric, {**seats, "Baggage": 60.0}, {"left wing": 0.086, "right wing": 0.086})
    # 690 + 160 + 160 + 60 kg and 172 L of 6 lb/gal
    mass = 1070.0 + 172.0 / 3.785411784 * 6.0 * 0.45359237
    assert "Baggage: 60 kg is over the 45 kg allowed there" in heavy.problems
    assert f"{mass:,.0f} kg is {mass - 1150:,.0f} kg over the maximum takeoff weight of 1,150 kg" in heavy.problems


def test_a_us_book_is_us_and_metric_where_the_lesson_asks() -> None:
    assert load_airplane("larkmoor_155").book == US_BOOK
    style = Style("metric", "UTC", US_BOOK)
    assert (style.mass(100.0), style.fuel(0.1), style.runway(500.0)) == ("100 kg", "100.0 L", "500 m")
    assert style.book.rate(5.08) == "1,000 fpm"  # the dial stays as it is marked
    assert Style("us", "UTC", BookUnits(arm="m", climb="m/s")).book.rate(5.08) == "5.1 m/s"
    assert Style("us", "UTC", BookUnits(arm="m")).arm(2.3876) == "2.388 m"
