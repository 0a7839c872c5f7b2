"""Getting better or not is said from the logbook, and only where the flights tell it."""

from __future__ import annotations

from pathlib import Path

import pytest

from airwork.debrief import Debrief, debrief
from airwork.jobs.entering import enter_flight
from airwork.jobs.so_far import so_far, with_so_far
from airwork.logbook import people
from airwork.logbook.store import open_store
from airwork.standards import load_standard
from flightbuilder import Builder

DAY_S = 86400.0


def flown(day: int, bank_deg: float) -> Debrief:
    """Two steep turns at a bank, on a day."""
    b = Builder(altitude_ft=4500.0, speed_kt=95.0, seed=day + 1)
    b.level_ft = 4500.0
    b.hold(40.0, kt=95.0)
    for side in (1.0, -1.0):
        b.steep_turn(side, bank_deg=bank_deg)
        b.hold(25.0)
    flight = b.flight(start_utc_s=1.75e9 + day * DAY_S)
    return debrief(flight, standard=load_standard("private"))


def told(tmp_path: Path, banks: list[float]) -> str:
    """The line after these flights, the last one not entered yet."""
    store = open_store(tmp_path / "book.sqlite", create=True)
    with store.change() as connection:
        ann = people.add_person(connection, "Ann Example", student=True, now_utc_s=1.75e9)
    for day, bank in enumerate(banks[:-1]):
        who = {"student": "Ann", "role": "solo", "airplane": "", "hours": "1.0"}
        enter_flight(flown(7 * day, bank), who, logbook=store)
    last = flown(7 * (len(banks) - 1), banks[-1])
    with store.read() as connection:
        line = so_far(last, connection, ann.id)
        shown = with_so_far(last, connection, ann.id)
    store.close()
    if line is None:
        assert shown is last
        return ""
    assert [x.heading for x in shown.first].count("so far") == 1
    return line.text


def test_banks_that_come_nearer_are_told_as_better(tmp_path: Path) -> None:
    """60°, 57°, 53° and 46° for 45°: the numbers, flight by flight, and better."""
    text = told(tmp_path, [60.0, 58.0, 55.0, 52.0, 46.0])
    (bank,) = [one for one in text.split("; ") if "bank" in one]
    assert bank.rstrip(".").endswith("better")
    numbers = [float(x) for x in bank.split(": ")[1].split(" of")[0].split(", ")]
    assert numbers == sorted(numbers, reverse=True)


def test_banks_that_go_away_are_told_as_worse_and_the_same_as_neither(tmp_path: Path) -> None:
    text = told(tmp_path / "worse", [46.0, 50.0, 54.0, 58.0, 61.0])
    assert next(x for x in text.split("; ") if "bank" in x).rstrip(".").endswith("worse")
    text = told(tmp_path / "same", [47.0, 48.0, 47.0, 48.0])
    assert "better" not in text
    assert "worse" not in text


@pytest.mark.parametrize("flights", [[52.0], [52.0, 48.0]])
def test_one_or_two_flights_are_no_trend(tmp_path: Path, flights: list[float]) -> None:
    """Nothing is said."""
    assert told(tmp_path, flights) == ""
