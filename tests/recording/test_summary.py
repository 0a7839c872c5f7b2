"""What `recording show` says of a flight: never one thing in the table and another below it."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from airwork.output.recording_text import recording_text
from airwork.recording import read_flight
from airwork.recording.summary import summarize
from airwork.standards import load_standard
from recording.made_flight import lesson
from recording.writing import FULL, GPS, save, table

MADE = lesson(1800.0, 1.0, wind_from_deg=300.0, wind_kt=18.0)


@pytest.mark.parametrize("layout", [GPS, FULL])
@pytest.mark.parametrize("with_height", [True, False])
def test_a_wind_that_was_found_is_told(layout: dict[str, tuple[str, int]], with_height: bool, tmp_path: Path) -> None:
    columns = {name: key for name, key in layout.items() if with_height or "Altitude" not in name}
    flight = read_flight(save(tmp_path, table(MADE, columns)))
    assert flight.has("wind_mps")
    summary = summarize(flight, load_standard("private"))
    text = recording_text(summary)
    assert summary.wind
    assert "Wind: not known" not in text
    assert ("at all heights" in text) != with_height
    for line in summary.wind:
        assert line.speed_kt == pytest.approx(18.0, abs=4.0)  # near the ground a wind is expected to be slower
        assert math.cos(math.radians(line.from_deg - 300.0)) > 0.97
        assert line.band_kt == pytest.approx(1.645 * line.error_kt, rel=1e-3)
        assert abs(line.speed_kt - 18.0) < 2.0 * line.band_kt


def test_a_calm_has_no_direction(tmp_path: Path) -> None:
    calm = lesson(1800.0, 1.0, wind_from_deg=300.0, wind_kt=0.0)
    summary = summarize(read_flight(save(tmp_path, table(calm, GPS))), load_standard("private"))
    assert summary.wind
    assert not any(line.direction_known for line in summary.wind)
    assert "direction not known" in recording_text(summary)


def test_what_is_no_airplane_is_said_not_to_be_graded(tmp_path: Path) -> None:
    """One answer with the debrief's; an airplane's list stays."""
    flight, standard = read_flight(save(tmp_path, table(MADE, GPS))), load_standard("private")
    assert "What it can be graded on" in recording_text(summarize(flight, standard))
    craft = {"kind": "sailplane", "why": "its file gives Club 19"}
    glider = summarize(replace(flight, source={**flight.source, "craft": craft}), standard)
    assert not glider.as_json()["gradable"]["criteria"]
    assert "Nothing is graded: a sailplane or glider" in recording_text(glider)


def test_no_height_is_missed_in_plain_words(tmp_path: Path) -> None:
    columns = {name: key for name, key in GPS.items() if "Altitude" not in name}
    summary = summarize(read_flight(save(tmp_path, table(MADE, columns))), load_standard("private"))
    assert "best altitude above sea level" in summary.missing
