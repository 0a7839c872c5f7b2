"""The debrief as one page: complete, self-contained, and safe against what a file is called."""

from __future__ import annotations

import json
import re
from dataclasses import asdict, replace
from html.parser import HTMLParser
from itertools import pairwise

import numpy as np
import pytest

from airwork.airplane.book_units import US_BOOK
from airwork.debrief import Graded, debrief
from airwork.errors import InputError
from airwork.maneuvers.episode import Episode, Finding, Grade, Stretch
from airwork.output import debrief_words as words
from airwork.output.debrief_doc import make_debrief_doc
from airwork.output.debrief_words import deviation, fuel_lines, wind_words
from airwork.output.report import report_html
from airwork.output.report_drawings import strip_svg
from airwork.output.report_series import bands, roll_in_s, seldom, series
from airwork.standards import load_standard
from flightbuilder import lesson


@pytest.fixture(scope="module")
def found():
    return debrief(lesson().flight(), standard=load_standard("private"))


@pytest.fixture(scope="module")
def page(found) -> str:
    return report_html(found, zone="America/Denver")


class _Links(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.outside: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name in {"src", "href"} and value and not value.startswith("#"):
                self.outside.append(value)


def test_the_page_asks_nothing_of_the_network(page: str) -> None:
    reader = _Links()
    reader.feed(page)
    assert reader.outside == []
    assert "@import" not in page


def test_every_episode_stands_in_the_summary_and_its_criteria_in_words(found, page: str) -> None:
    data = found.as_json()
    assert data["episodes"], "the built lesson has maneuvers"
    for number, episode in enumerate(data["episodes"], start=1):
        assert f"<td>{number}</td>" in page
        assert episode["title"] in page
    assert "not held" in page or "held" in page


def test_the_plotted_samples_are_the_flights_own(found, page: str) -> None:
    blob = json.loads(re.search(r'id="flight-data">(.*?)</script>', page, re.DOTALL)[1])
    assert blob["series"]["t"] == series(found.flight)["t"]
    highest = max(v for v in blob["series"]["altitude"] if v is not None)
    recorded = found.flight["altitude_m"].max() / 0.3048
    assert highest == pytest.approx(recorded, abs=15.0)
    assert len(blob["episodes"]) == len(found.episodes)


def graded(turned_deg: float, *findings: Finding, target=None, stretches=()) -> Graded:
    """A steep turn from 10 to 90 s with these findings."""
    grade = Grade(target or {}, "", {"heading_change_deg": turned_deg}, findings, (), stretches)
    return Graded(Episode("steep_turn", 10.0, 90.0, 1.0), grade)


def judged(quantity: str, low: float | None, high: float | None, **more) -> Finding:
    return Finding(quantity, "", 0.0, "", 1.0, "held", "", low=low, high=high, quantity=quantity,
                   **{"over_s": ((20.0, 80.0),), **more})  # fmt: skip


def test_a_band_lies_where_it_was_judged_round_what_was_aimed_at() -> None:
    found = bands(graded(360.0, judged("altitude", -100.0, 100.0, aim=3000.0, allowance=7.0)))
    assert found == {
        "altitude": [{"from": 20.0, "to": 80.0, "aim": 3000.0, "low": 2900.0, "high": 3100.0, "slack": 7.0}]
    }


def test_what_was_not_judged_has_no_band() -> None:
    assert bands(graded(360.0, judged("altitude", -100.0, 100.0, aim=3000.0, over_s=()))) == {}


def test_each_level_stretch_has_a_band_round_its_own_altitude() -> None:
    levels = (Stretch("level", 20.0, 50.0, 914.4), Stretch("level", 60.0, 80.0, 1066.8), Stretch("entry", 10.0, 20.0))
    found = bands(graded(0.0, judged("altitude", -100.0, 100.0, aim=0.0), stretches=levels))["altitude"]
    assert [(b["from"], b["to"], round(b["low"])) for b in found] == [(20.0, 50.0, 2900), (60.0, 80.0, 3400)]


def test_a_bank_band_lies_on_the_side_turned_to_and_on_both_where_both_were() -> None:
    """Slow flight banks left and right; a steep turn has one side; "at most 20°" is one band across level."""
    bank = judged("bank", -5.0, 5.0, aim=45.0)

    def sides(turned_deg: float, finding: Finding = bank) -> list[tuple[float, float]]:
        return [(b["low"], b["high"]) for b in bands(graded(turned_deg, finding))["bank"]]

    assert sides(-6.0) == [(40.0, 50.0), (-50.0, -40.0)]
    assert sides(360.0) == [(40.0, 50.0)]
    assert sides(-360.0) == [(-50.0, -40.0)]
    assert sides(360.0, judged("bank_limit", None, 20.0, aim=0.0)) == [(-20.0, 20.0)]
    assert sides(-360.0, judged("bank_range", 30.0, 45.0, aim=0.0)) == [(-45.0, -30.0)]


def test_a_speed_s_band_is_in_the_unit_of_the_dial() -> None:
    """100 kt is 115.1 mph (1852 m and 1609.344 m to the mile)."""
    (band,) = bands(graded(360.0, judged("ias", -10.0, 10.0, aim=100.0)), "mph")["speed"]
    assert (band["low"], band["aim"], band["high"]) == (103.6, 115.1, 126.6)


def test_the_share_of_samples_inside_a_drawn_band_is_the_share_the_grade_says(found) -> None:
    """Worked out anew from the samples: the band is drawn round what was judged, when it was judged."""
    seen = 0
    for g in found.episodes:
        for f in g.grade.findings:
            plot = {"altitude": "altitude_m", "ias": "ias_mps"}.get(f.quantity)
            if plot is None or not f.aim or f.within_fraction is None:
                continue
            drawn = bands(replace(g, grade=replace(g.grade, findings=(f,))))["altitude" if f.unit == "ft" else "speed"]
            inside = []
            for b in drawn:
                part = found.flight.span(b["from"], b["to"])
                values = found.flight[plot][part] / (0.3048 if f.unit == "ft" else 1852 / 3600)
                inside += list((values >= b["low"] - b["slack"] - 0.06) & (values <= b["high"] + b["slack"] + 0.06))
            assert sum(inside) / len(inside) == pytest.approx(f.within_fraction, abs=0.03), (g.episode.kind, f.name)
            seen += 1
    assert seen >= 5


def test_speeds_are_plotted_and_said_in_the_unit_of_the_dial() -> None:
    flight = lesson().flight()
    knots, miles = series(flight), series(flight, "mph")
    assert miles["altitude"] == knots["altitude"]
    k = max(range(len(knots["t"])), key=lambda i: knots["speed"][i] or 0.0)
    assert miles["speed"][k] / knots["speed"][k] == pytest.approx(1852 / 1609.344, abs=0.002)
    assert deviation(-10.0, "kt", "mph") == "−11.5 mph"
    assert deviation(100.0, "ft", "mph") == "+100 ft"


def test_a_maneuver_is_laid_beside_another_where_its_first_turn_begins(found) -> None:
    """Ten degrees of bank is more than wandering; without a turn it is the start."""
    turn = next(g.episode for g in found.episodes if g.episode.kind == "steep_turn")
    roll = roll_in_s(found.flight, turn.start_s - 20.0, turn.end_s)
    bank = np.degrees(np.abs(found.flight["bank_rad"]))
    k = found.flight.index_at(roll)
    assert bank[k] >= 10.0 > bank[k - 1]
    straight = next(g.episode for g in found.episodes if g.episode.kind == "straight_and_level")
    assert roll_in_s(found.flight, straight.start_s, straight.start_s + 20.0) == straight.start_s


def test_the_wind_is_said_with_its_direction_and_its_change() -> None:
    steady = [{"from_deg": 329, "speed_kt": 14.2}, {"from_deg": 335, "speed_kt": 13.6}]
    assert wind_words(steady) == "335/14 kt true"
    assert wind_words([{"from_deg": 0, "speed_kt": 8.0}]) == "360/8 kt true"
    assert wind_words([{"from_deg": 308, "speed_kt": 0.2}, {"from_deg": 112, "speed_kt": 1.4}]) == "calm"
    assert (
        wind_words([{"from_deg": 308, "speed_kt": 0.2}, {"from_deg": 112, "speed_kt": 7.0}]) == "calm to 112/7 kt true"
    )
    assert (
        wind_words([{"from_deg": 350, "speed_kt": 10.0}, {"from_deg": 20, "speed_kt": 18.0}])
        == "350/10 to 020/18 kt true"
    )
    assert wind_words([{"altitude_ft": 3000}]) == ""
    assert wind_words([{"from_deg": 180, "speed_kt": 5.0, "error_kt": 3.5}]) == "light, 11 kt at most"
    assert wind_words([{"from_deg": 180, "speed_kt": 5.0, "error_kt": 1.5}]) == "180/5 kt true"
    assert wind_words([{"from_deg": 180, "speed_kt": 2.0, "error_kt": 2.0}]) == "light, 5 kt at most"
    assert wind_words([{"from_deg": 180, "speed_kt": 2.0, "error_kt": 1.0}]) == "calm"
    unsure = wind_words([{"from_deg": 180, "speed_kt": 8.0, "error_kt": 2.0}])
    assert unsure == "not known better than ±3 kt; perhaps 180/8 kt true"
    assert wind_words([{"from_deg": 180, "speed_kt": 0.2}]) == "calm"


def test_what_changes_seldom_is_kept_by_its_changes() -> None:
    flight = lesson().flight()
    found, whole = seldom(flight), series(flight)
    assert found
    for changes in found.values():
        assert changes[0][0] == 0
        assert all(a[0] < b[0] and a[1] != b[1] for a, b in pairwise(changes))
        assert changes[-1][0] < len(whole["t"])


def test_a_height_or_a_bank_held_between_two_limits_has_no_sign() -> None:
    """8° of bank where 30 to 45° are asked is no deviation of +8°; 182 ft under a target of ±100 ft is one."""
    assert words.deviation(8.0, "deg", low=30.0) == "8°"
    assert words.deviation(921.0, "ft", low=600.0) == "921 ft"
    assert words.deviation(-182.0, "ft", low=-100.0) == "−182 ft"
    assert words.deviation(12.0, "kt") == "+12.0 kt"


def test_three_sentences_stand_first_each_with_its_moment(found) -> None:
    three = make_debrief_doc(found).three
    assert (three[0].heading, three[2].heading) == ("Went well", "Next time")
    assert three[1].heading in {"First", "Main error", "Pattern"}  # by the same names as in the terminal
    assert all(s.text for s in three)
    bare = make_debrief_doc(replace(found, first=())).three
    assert all(s.start_s is None and s.text for s in bare)


def test_the_strip_marks_what_was_out_without_color(found) -> None:
    """Hatched with a sign above it; a held one has neither."""
    rows = [dict(asdict(r), start_s=10.0 + 60.0 * k, end_s=60.0 + 60.0 * k)
            for k, r in enumerate(make_debrief_doc(found).rows[:2])]  # fmt: skip
    rows[0].update(mark="out", sign="✗", word="not held", plain=False)
    rows[1].update(mark="held", sign="✓", word="held", plain=False)
    drawn = strip_svg(found.flight, rows)
    assert drawn.count(">✗<") == 1
    assert ">✓<" not in drawn
    assert drawn.count('class="block out"') == drawn.count('class="block held"') == 1


def test_the_strip_marks_the_moment_of_the_one_thing_to_fix_in_words(found) -> None:
    """Where it was, over the width of the flight; late in it the words stand before the line, not off the edge."""
    last = float(found.flight.time_s[-1])
    for share, before in ((0.03, False), (0.25, False), (0.87, True)):
        drawn = strip_svg(found.flight, [], fix_s=share * last, fix="main error")
        assert f'class="fix" x1="{100 * share:.2f}%"' in drawn
        assert ">main error</text>" in drawn
        said = re.search(r'y="(\d+)"[^>]*>main error<', drawn)
        figures = re.findall(r'class="tick halo" x="2" y="(\d+)"', drawn)
        assert share > 0.18 or all(abs(int(said[1]) - int(y)) >= 11 for y in figures), "off the altitudes' figures"
        assert ('text-anchor="end"' in drawn) == before
    assert "said first" not in strip_svg(found.flight, [])


def test_an_unknown_zone_is_one_line(found) -> None:
    with pytest.raises(InputError, match="no time zone"):
        report_html(found, zone="Mars/Olympus")


def test_fuel_is_told_as_the_airplanes_book_prints_it() -> None:
    """One US gallon is 3.785 L [NIST SP 811, app. B]; a book in gallons keeps its tenths."""
    used = {"used_gal": 1.8, "planned_gal": 2.0, "how": "flow"}
    assert fuel_lines(used) == [("fuel used", "1.8 gal (flow); planned 2.0 gal")]
    assert fuel_lines(used, US_BOOK.metric()) == [("fuel used", "6.8 L (flow); planned 7.6 L")]


def test_leaning_below_the_limit_is_one_line_and_each_above_it_its_own() -> None:
    """Ten stretches of cruise say one thing; leaned at too much power is said with its time."""
    below = [
        {"start_s": 60.0 * k, "end_s": 60.0 * k + 30.0, "power_pct": 50 + k, "limit_pct": 75, "above_limit": False}
        for k in range(4)
    ]
    above = {"start_s": 600.0, "end_s": 660.0, "power_pct": 81, "limit_pct": 75, "above_limit": True}
    lines = fuel_lines({"leaning": [*below, above]})
    assert [what for what, _ in lines] == ["leaned", "leaned"]
    assert "above the 75 %" in lines[0][1]
    assert "4 stretches" in lines[1][1]
    assert "50 to 53 %" in lines[1][1]


def test_marks_and_remarks_stand_in_their_maneuvers_section_as_words(found) -> None:
    """Of plain flying too, which without a mark stands in the table alone."""
    plain = next(k for k, g in enumerate(found.episodes) if g.episode.kind == "climb")
    page = report_html(found, marks={plain: [("instructor", "practice, <b>nose</b> too high")]})
    section = page[page.index(f'id="m{plain + 1}"') :]
    section = section[: section.index("</section>")]
    assert "<b>instructor</b>: practice, &lt;b&gt;nose&lt;/b&gt; too high" in section
    assert f'id="m{plain + 1}"' not in report_html(found)
