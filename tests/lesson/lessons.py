"""Lesson texts for the tests: the demo's, and ways to change single fields."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import airwork
from airwork.lesson.file import parse_lesson
from airwork.lesson.lesson import Lesson

DEMO = Path(airwork.__file__).parent / "demo_files" / "lessons" / "stalls_over_the_lake.toml"

SMALL = """
date = 2025-09-20
time = "08:30"
zone = "America/Denver"
[airplane]
file = "larkmoor_155"
[place]
name = "Pinwheel strip"
position = [41.12, -101.77]
elevation = "3,279 ft"
[[place.runways]]
name = "26"
heading = "270 deg"
length = "3,500 ft"
surface = "paved"
slope = "0 %"
[[people]]
name = "Nora Whitlock"
role = "student"
station = "front seats"
weight = "148 lb"
[[people]]
name = "Emmett Dray"                # weighs nothing here: the tests' numbers were worked out without one
role = "instructor"
station = "front seats"
weight = "0 lb"
[fuel]
"left wing" = "18 gal"
"right wing" = "16 gal"
[weather]
wind = "240/12G18 kt"
visibility = "10 SM"
ceiling = "none"
temperature = "18 °C"
dewpoint = "4 °C"
altimeter = "30.02 inHg"
winds_aloft = ["6,000 ft 250/18 kt"]
[[exercises]]
kind = "steep_turn"
"""


def changed(text: str, changes: Mapping[str, str]) -> str:
    """A text with pieces replaced; each must be there."""
    for old, new in changes.items():
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def small(changes: Mapping[str, str] | None = None) -> Lesson:
    """The small lesson, pieces of its text replaced."""
    return parse_lesson(changed(SMALL, changes or {}), where="small.toml")
