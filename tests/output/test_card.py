"""The card: its words as data, then one page of each paper with all of them on it."""

from __future__ import annotations

import math
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from airwork.lesson.day import make_day
from airwork.lesson.file import parse_lesson
from airwork.maneuvers.setup import Tolerance
from airwork.output.card import card_pdf, make_card
from airwork.output.card_data import CardData
from airwork.output.dial import on_dial
from airwork.output.kneeboard import kneeboard_pages, kneeboard_pdf
from airwork.output.typeset import Paper
from lesson.lessons import DEMO
from output.briefings import demo_briefing

needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")


@pytest.fixture(scope="module")
def card() -> CardData:
    return make_card(demo_briefing())


def text_of(pdf: bytes, folder: Path) -> str:
    path = folder / "card.pdf"
    path.write_bytes(pdf)
    done = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, check=True)
    return done.stdout.decode()


def facts_of(pdf: bytes, folder: Path) -> str:
    path = folder / "card.pdf"
    path.write_bytes(pdf)
    return subprocess.run(["pdfinfo", str(path)], capture_output=True, check=True).stdout.decode()


def words(text: str) -> str:
    """Letters and digits only: a PDF spaces its text as it likes."""
    return re.sub(r"[^0-9A-Za-z±°–]+", "", text)


def test_one_line_for_each_maneuver_in_flying_order_repeats_together(card: CardData):
    assert [(m.title, m.times) for m in card.maneuvers] == [
        ("Slow flight", ""), ("Power-off stall", "×2"), ("Power-on stall", "×2"), ("Steep turn", ""),
        ("Turns around a point", ""), ("Emergency descent", ""),
    ]  # fmt: skip
    assert [m.clock for m in card.maneuvers] == sorted(m.clock for m in card.maneuvers)
    assert card.maneuvers[0].altitude == "6,500 ft"
    assert card.maneuvers[0].limits == "altitude ±100 ft"


def test_speeds_are_as_on_this_dial(card: CardData):
    """mph for this airplane, whose file prints best glide as 67 mph at 1,750 lb and 73 at 2,000."""
    assert card.dial_unit == "mph"
    assert next(line for line in card.day if line.name == "weight").value == "1,943 lb"
    glide = next(s for s in card.speeds if s.name == "best glide")
    assert float(glide.value) == pytest.approx(67 + 6 * (1943 - 1750) / 250, abs=1.0)  # rows and card are whole mph


def test_headings_on_the_card_are_magnetic(card: CardData):
    b = demo_briefing()
    path = b.exercises[0].path
    shown = float(card.maneuvers[0].heading.rstrip("°"))
    magnetic = math.degrees(path.heading_rad - b.weather.variation_rad)
    assert abs((shown - magnetic + 180) % 360 - 180) <= 5.0


def test_the_verdict_and_what_decided_it_come_first(card: CardData):
    verdict = demo_briefing().verdict
    assert card.verdict == "THINK"
    assert verdict.level == "think"
    assert card.reasons[0] == next(r.text for r in verdict.reasons if r.level == "think")
    told = [r.text for r in verdict.reasons if r.level in {"no-go", "unknown", "think"}]
    assert len(card.reasons) == min(len(told), 5)  # four of them, and how many more


def test_a_no_go_says_so():
    b = demo_briefing((("10SM FEW055", "1SM OVC004"),))
    assert make_card(b).verdict == "NO-GO"


def test_turn_for_home_has_a_time_and_a_fuel(card: CardData):
    assert re.fullmatch(r"\d\d:\d\d", card.home_clock)
    assert card.home_fuel.endswith(" gal")
    assert "fuel" in card.home_remark


def test_the_users_own_signals_are_on_it(card: CardData):
    assert [s.name for s in card.signals] == ["Ogallala traffic", "Weather, AWOS", "Lost radio"]


def test_edition_standard_and_caution_are_on_it(card: CardData):
    assert "airwork" in card.footer
    assert "Private pilot" in card.footer
    assert "Not for navigation" in card.footer


def test_an_exercise_without_a_set_up_says_why():
    b = demo_briefing()
    bare = replace(b.exercises[0], set_up=None, problem="level flight is not possible")
    card = make_card(replace(b, exercises=(bare, *b.exercises[1:])))
    assert card.maneuvers[0].line == "level flight is not possible"


# Common practice: in slow flight nobody flies slower than the warning, whatever a standard allows either way.
def test_a_speed_limit_as_wide_as_the_margin_over_the_stall_is_none_downward():
    b = demo_briefing()
    set_up = b.exercises[0].set_up
    assert set_up is not None
    speed = (Tolerance("airspeed", "±15 kt", "the test's"),)
    for margin_mps, shown in (
        (4.0, "airspeed +17 mph, never below the warning"),
        (9.0, "airspeed ±17 mph"),
        (None, "airspeed ±17 mph"),
    ):
        slow = replace(b.exercises[0], set_up=replace(set_up, tolerances=speed, stall_margin_mps=margin_mps))
        assert make_card(replace(b, exercises=(slow,))).maneuvers[0].limits == shown


def test_the_airport_named_among_the_fields_is_printed_once():
    home = '[[area.landing_places]]\nname = "home"\nposition = [41.1195, -101.7697]\nelevation = "3,279 ft"\n'
    fields = make_card(demo_briefing((("[student]", f"{home}[student]"),))).fields
    assert "home" not in {f.name for f in fields}
    assert [f.name for f in fields] == [f.name for f in make_card(demo_briefing()).fields]


@needs_poppler
@pytest.mark.parametrize("paper", ["a5", "half-letter"])
def test_the_card_is_two_pages_of_its_paper_with_every_word(card: CardData, paper: Paper, tmp_path: Path):
    pdf = card_pdf(card, paper)
    facts = facts_of(pdf, tmp_path)
    assert re.search(r"Pages:\s+2\b", facts)
    size = {"a5": "419.5", "half-letter": "396"}[paper]
    assert size in facts
    found = words(text_of(pdf, tmp_path))
    wanted = [card.verdict, card.title, card.home_planned, card.home_clock, card.home_fuel, card.directions]
    wanted += [text for m in card.maneuvers for text in (m.title, m.line, m.limits, m.recovery)]
    for lines in (card.speeds, card.signals, card.power, card.area, card.aloft):
        wanted += [line.value for line in lines]
    wanted += [t.tank for t in card.tanks] + [text for f in card.fields for text in (f.heading, f.distance)]
    for text in wanted:
        assert words(text) in found, text


SMALLEST_PT = 9.0


@needs_poppler
@pytest.mark.skipif(shutil.which("pdftohtml") is None, reason="poppler-utils is not installed")
@pytest.mark.parametrize("more", [0, 2])
def test_nothing_flown_by_is_under_nine_points(more: int, tmp_path: Path):
    """Read back from the PDF; only the footer is smaller. pdftohtml says whole pixels, here three a point."""
    path = tmp_path / "card.pdf"
    path.write_bytes(card_pdf(make_card(demo_briefing(more_exercises=more))))
    xml = subprocess.run(
        ["pdftohtml", "-xml", "-zoom", "3", "-stdout", "-i", str(path)], capture_output=True, check=True
    ).stdout.decode()
    size = {m[1]: float(m[2]) / 3.0 for m in re.finditer(r'<fontspec id="(\d+)" size="(\d+)"', xml)}
    texts = re.findall(r'<text [^>]*font="(\d+)">(.*?)</text>', xml)
    assert len(texts) > 100
    for font, text in texts:
        plain = re.sub(r"<.*?>", "", text)
        if re.search(r"[0-9A-Za-z]", plain) and size[font] < SMALLEST_PT - 0.01:
            assert re.search(r"airwork|navigation|^\d/\d$|decide|ACS", plain), (plain, size[font])


@needs_poppler
def test_more_exercises_make_a_further_page_never_smaller_type(card: CardData, tmp_path: Path):
    many = replace(card, maneuvers=card.maneuvers * 3)
    assert re.search(r"Pages:\s+[345]\b", facts_of(card_pdf(many), tmp_path))


def test_the_way_out_is_on_the_card_magnetic(card: CardData):
    """North of the field by 15 NM: home is 180° true, 174° on the dial with 6° east."""
    b = demo_briefing()
    home = next(line for line in card.area if line.name == "home")
    assert home.value.startswith("174°")
    assert "magnetic" in card.directions
    assert [f.name for f in card.fields][-1] == "KOGA"
    distances = [float(f.distance.split()[0]) for f in card.fields]
    assert distances == sorted(distances)
    # a glide of the handbook's ratio (9.7) from the altitude shown just reaches the field: the time under way by the
    # wind triangle at the height halfway, times the sink
    nearest, field = card.fields[0], b.cockpit.fields[0]
    shown = float(nearest.needs.replace(",", "").split()[0]) * 0.3048
    assert 0.0 <= (shown - field.needs_m) / 0.3048 <= 100.0
    elevation, tas = 3640 * 0.3048, b.cockpit.glide_tas_mps
    lesson = parse_lesson(DEMO.read_text(), where="demo")
    from_rad, wind = make_day(lesson, lesson.start_utc_s + 3600.0).air.wind_at(0.5 * (elevation + field.needs_m))
    off = from_rad - field.heading_rad
    over_ground = math.sqrt(tas**2 - (wind * math.sin(off)) ** 2) - wind * math.cos(off)
    assert wind > 4.0
    assert field.needs_m == pytest.approx(elevation + field.distance_m / over_ground * tas / 9.7, abs=6.0)


@pytest.mark.parametrize(
    ("text", "unit", "shown"),
    [
        ("+10/−0 kt", "mph", "+12/−0 mph"),  # 11.5 mph, to a whole one
        ("+5/−0 kt", "mph", "+6/−0 mph"),
        ("±10 kt", "mph", "±12 mph"),
        ("+10/−5 kt", "kt", "+10/−5 kt"),
        ("±100 ft", "mph", "±100 ft"),
    ],
)
def test_a_tolerance_stands_in_the_dials_unit(text, unit, shown):
    assert on_dial(text, unit) == shown


def test_every_exercise_has_its_kneeboard_page(tmp_path: Path):
    b = demo_briefing()
    pages = kneeboard_pages(b)
    assert [p["title"] for p in pages] == [m.title for m in make_card(b).maneuvers]
    assert all(p["steps"] and p["limits"] and p["errors"] for p in pages)
    if shutil.which("pdfinfo"):
        assert re.search(rf"Pages:\s+{len(pages)}\b", facts_of(kneeboard_pdf(b), tmp_path))


def test_text_from_the_lesson_is_text_and_never_markup(card: CardData, tmp_path: Path):
    """A title with the typesetter's own signs is printed as it was typed."""
    odd = replace(card, title='#panic("x") *bold* _it_ $x$ \\ <a> @b [c]')
    pdf = card_pdf(odd)
    if shutil.which("pdftotext"):
        assert 'panic("x") *bold*' in text_of(pdf, tmp_path)


def test_numbers_of_standard_air_say_so_on_the_card():
    """A card without a temperature is flown by on a hot day as on any other; with one nothing is added."""
    known = demo_briefing()
    unknown = replace(known, weather=replace(known.weather, temperature_k=None))
    for briefing, said in ((known, 0), (unknown, 3)):
        lines = [line for line in make_card(briefing).day if "std air" in line.remark]
        assert len(lines) == said, [line.name for line in lines]
