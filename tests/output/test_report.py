"""The debrief as one page: complete, self-contained, and safe against what a file is called."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser

import pytest

from airwork.debrief import debrief
from airwork.errors import InputError
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
