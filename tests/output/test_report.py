"""The debrief as one page: complete, self-contained, and safe against what a file is called."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser

import pytest

from airwork.debrief import debrief
from airwork.errors import InputError
from airwork.output.debrief_words import fuel_lines
from airwork.output.report import report_html
from airwork.output.report_series import bands, series
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


def test_a_turn_to_the_left_has_its_bank_band_on_the_left() -> None:
    episode = {
        "start_s": 0.0, "end_s": 30.0, "phases": [], "target": {"bank_deg": 45.0, "altitude_ft": 3000.0},
        "measured": {"heading_change_deg": -360.0},
        "criteria": [{"name": "bank", "low": -5.0, "high": 5.0}, {"name": "altitude", "low": -100.0, "high": 100.0}],
    }  # fmt: skip
    found = bands(episode)
    assert found["bank"][0]["low"] == -50.0
    assert found["bank"][0]["high"] == -40.0
    assert found["altitude"][0]["high"] == 3100.0


def test_an_unknown_zone_is_one_line(found) -> None:
    with pytest.raises(InputError, match="no time zone"):
        report_html(found, zone="Mars/Olympus")


def test_a_bank_band_lies_on_the_side_turned_to_and_on_both_where_both_were() -> None:
    """Slow flight banks left and right; a steep turn has one side."""
    episode = {
        "start_s": 10.0, "end_s": 90.0, "target": {"bank_deg": 20.0}, "phases": [],
        "criteria": [{"name": "bank", "low": -10.0, "high": 10.0}], "measured": {"heading_change_deg": -6.0},
    }  # fmt: skip
    sides = [(b["low"], b["high"]) for b in bands(episode)["bank"]]
    assert sides == [(10.0, 30.0), (-30.0, -10.0)]
    for turned, low in ((-360.0, -30.0), (360.0, 10.0)):
        assert [b["low"] for b in bands({**episode, "measured": {"heading_change_deg": turned}})["bank"]] == [low]


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
