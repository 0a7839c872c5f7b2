"""What the fuzzer keeps (bench/fuzz.py) and what it has found is read and debriefed again: a result, or one line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from airwork.debrief import debrief
from airwork.errors import AirworkError
from airwork.recording import read_flight
from airwork.standards import load_standard

ROOT = Path(__file__).parents[2]
FOUND = sorted((ROOT / "tests" / "sources" / "fuzzed").iterdir())
KEPT = sorted(p for p in (ROOT / "bench" / "corpus").glob("*/*"))
READERS = ("csv", "igc", "gpx", "kml", "nmea", "json", "parquet", "arrow")


def debriefed_or_refused(path: Path) -> None:
    """Anything else fails the test."""
    said = ""
    try:
        json.dumps(debrief(read_flight(path), standard=load_standard("private")).as_json(), allow_nan=False)
    except AirworkError as problem:
        said = str(problem)
    assert "\n" not in said


@pytest.mark.parametrize("path", FOUND, ids=lambda p: p.name)
def test_what_the_fuzzer_found_is_a_fault_no_more(path: Path) -> None:
    debriefed_or_refused(path)


@pytest.mark.parametrize("reader", READERS)
def test_the_fuzzers_stored_inputs_end_in_a_result_or_one_line(reader: str) -> None:
    kept = [p for p in KEPT if p.parent.name == reader]
    assert kept, "python bench/fuzz.py READER --keep stores them"
    for path in kept[:: max(len(kept) // 10, 1)]:  # the whole set belongs to the fuzzer, a part of it to every run
        debriefed_or_refused(path)
