"""Speed of the logbook: a student's page from 20,000 flights, the chief's questions, taking in a debriefed flight.

    python bench/logbook_speed.py [--postgres postgresql://…] [--flights 10000] [--questions]

Aims: the page under 100 ms; an import under 50 ms beyond the debrief itself. Times are medians and worst of repeated
runs in this process; the logbook is a file on disk, each import is on the disk when it returns. "Beyond the debrief"
is a recording read, debriefed and taken in, as the command does it, less the same recording read and debriefed just
before, pair by pair.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as in the command; before numpy is loaded

import numpy as np
import sqlalchemy as sa

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from airwork.logbook import changes, marks, pages, people, questions, recordings
from airwork.logbook import school as chief
from airwork.logbook.debrief_json import read_debrief
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import import_debrief
from airwork.logbook.records import FlightRow, new_id
from airwork.logbook.schema import criterion, debrief, episode, flight, movement
from airwork.logbook.store import Store, open_store
from airwork.recording.flight import Column, Flight
from airwork.web import answers
from airwork.web.pages.school import MOST_S
from logbook import school

STUDENTS, FLIGHTS_EACH = 160, 125  # 20,000 flights
KINDS = ("steep_turn", "slow_flight", "power_off_stall", "power_on_stall", "s_turns", "turns_around_point")
CRITERIA = (("altitude", "±100 ft", "ft", 100.0), ("airspeed", "±10 kt", "kt", 10.0), ("heading", "±10°", "deg", 10.0))


def fly(store: Store, who_id: str, teacher_id: str, airplane_id: str, each: int, rng: np.random.Generator) -> None:
    """A student's flights, one in four days up to now, four graded maneuvers in each."""
    flights, moves, debriefs, episodes, criteria = [], [], [], [], []
    for n in range(each):
        identity, day = new_id(), date(2025, 1, 1) + timedelta(days=4 * n)
        start = school.NOW - (each - n) * 4 * 86400.0
        times = dict.fromkeys([c for c in FlightRow.__slots__ if c.endswith("_s") and not c.endswith("utc_s")], 0.0)
        times.update(total_s=4680.0, dual_s=4680.0)
        flights.append(
            {
                "id": identity, "pilot_id": who_id, "instructor_id": teacher_id, "airplane_id": airplane_id,
                "lesson_id": None, "recording_sha256": "", "start_utc_s": start, "end_utc_s": start + 4680.0,
                "local_date": day, "time_zone": school.ZONE, "role": "dual", "remarks": "", "passengers": 0,
                "sole_manipulator": True, "distance_m": None, "farthest_landing_m": None, "longest_leg_m": None,
                "landing_points": 1, "full_stop_points": 1, "source": "debrief", "signed_by_id": None,
                "signed_utc_s": None, "changed_utc_s": 0.0, **times,
            }
        )  # fmt: skip
        for position, what in enumerate(("takeoff", "landing")):
            moves.append(
                {"flight_id": identity, "position": position, "what": what, "number": 3, "utc_s": None,
                 "full_stop": True, "night": False, "late_night": False, "towered": False}
            )  # fmt: skip
        debriefs.append(
            {"flight_id": identity, "content_sha256": identity, "debrief_json": '{"episodes": []}',
             "standard_name": "us_private", "standard_edition": "", "program_version": "", "imported_utc_s": 0.0}
        )  # fmt: skip
        for position in range(4):
            kind = KINDS[(n + position) % len(KINDS)]
            episodes.append(
                {"flight_id": identity, "position": position, "kind": kind, "start_s": 0.0, "end_s": 60.0,
                 "confidence": 0.9, "wind_mps": float(rng.uniform(0, 8)), "target_json": "{}",
                 "measured_json": "{}", "causes_json": "[]"}
            )  # fmt: skip
            for number, (name, limit, unit, width) in enumerate(CRITERIA):
                ratio = max(0.05, 1.8 * np.exp(-n / 15.0) + 0.4 + 0.3 * rng.standard_normal())
                criteria.append(
                    {"flight_id": identity, "position": position, "number": number, "name": name,
                     "limit_text": limit, "worst": ratio * width, "unit": unit, "limit_ratio": ratio,
                     "within_fraction": 0.9, "verdict": "held" if ratio <= 1 else "not held", "why": ""}
                )  # fmt: skip
    with store.change() as connection:
        for table, rows in (
            (flight, flights), (movement, moves), (debrief, debriefs), (episode, episodes), (criterion, criteria),
        ):  # fmt: skip
            connection.execute(sa.insert(table), rows)


def fill(store: Store, each: int) -> list[str]:
    """The school's logbook: every student with flights, four graded maneuvers in each."""
    rng = np.random.default_rng(1)
    ids: list[str] = []
    with store.change() as connection:
        s = school.found(connection)
        for n in range(STUDENTS):
            who = people.add_person(
                connection, f"Student {n:03d}", student=True, now_utc_s=0.0, born_on=date(2000, 1, 1)
            )
            ids.append(who.id)
            school.note_date(connection, who, "medical.third", date(2025, 1, 5))
    for who_id in ids:
        fly(store, who_id, s.instructor.id, s.larkmoor.id, each, rng)
    return ids


def timed(what: Callable[[int], Any], runs: int) -> list[tuple[float, float]]:
    """Milliseconds of each run: by the clock, and of processor time, which other programs don't move."""
    out = []
    for n in range(runs):
        started, used = time.perf_counter(), time.process_time()
        what(n)
        out.append((1e3 * (time.perf_counter() - started), 1e3 * (time.process_time() - used)))
    return out


def say(name: str, times: list[tuple[float, float]]) -> None:
    """One line."""
    clock, processor = zip(*times, strict=True)
    print(f"  {name:<56}{statistics.median(clock):9.1f}{max(clock):9.1f}{statistics.median(processor):9.1f} ms")


def recorded(rows: int, columns: int, per_second: float, seed: int) -> tuple[bytes, Flight]:
    """A recording's bytes as CSV and its clean Flight: smooth columns with the noise of a sensor."""
    import polars as pl

    rng = np.random.default_rng(seed)
    t = np.arange(rows) / per_second
    names = ["altitude_m", "ias_mps", "pitch_rad", "bank_rad", "oat_k", "rpm", "heading_rad", "vertical_speed_mps"]
    data = {"time_s": t}
    for n in range(columns):
        wave = np.sin(t / rng.uniform(20, 200)) * rng.uniform(1, 300) + rng.normal(0, 0.05, rows)
        data[names[n] if n < len(names) else f"column_{n}"] = wave.round(3)
    raw = pl.DataFrame(data).write_csv().encode()
    kept = {name: Column(data[name], "measured") for name in data if name != "time_s"}
    return raw, Flight(school.NOW, t, kept, source={"name": "flight.csv", "format": "CSV"})


def imports(store: Store, name: str, rows: int, columns: int, per_second: float, runs: int) -> None:
    """Taking in debriefed flights with recordings of a size."""
    with store.read() as connection:
        pilot = people.find_person(connection, "Ann Example")
        teacher = people.find_person(connection, "Ike Teacher")
    made = [recorded(rows, columns, per_second, seed) for seed in range(runs)]
    size = len(made[0][0]) / 1e6
    base = school.NOW + rows * 86400.0  # apart from the other sizes

    def facts(n: int) -> str:
        raw = made[n][0]
        return json.dumps(school.debrief_dict(base + n * 86400.0, recording=raw))

    debriefs = [facts(n) for n in range(runs)]

    def plain(n: int) -> None:
        import_debrief(
            store, read_debrief(school.debrief_dict(base - n * 86400.0 - 7e7)),
            FlightEntry(pilot, "dual", instructor=teacher), now_utc_s=base,
        )  # fmt: skip

    def whole(n: int) -> None:
        raw, clean = made[n]
        packed = recordings.pack(raw, "flight.csv", clean)
        about = FlightEntry(pilot, "dual", instructor=teacher)
        import_debrief(store, read_debrief(debriefs[n]), about, now_utc_s=base, recording=packed)

    def again(n: int) -> None:
        with store.read() as connection:
            assert recordings.is_kept(connection, recordings.sha256_of(made[n][0]))
        about = FlightEntry(pilot, "dual", instructor=teacher)
        import_debrief(store, read_debrief(debriefs[n]), about, now_utc_s=base)

    print(f"{name}: CSV {size:.1f} MB")
    say("import, debrief alone", timed(plain, runs))
    say("import with original and columns", timed(whole, runs))
    say("the same again (nothing changes)", timed(again, runs))


def beyond(store: Store, runs: int) -> None:
    """A two-hour 10 Hz recording debriefed and taken in, against debriefed alone."""
    from recording_speed import write_big

    from airwork.jobs.debriefing import debrief_flight, read_flight

    with store.read() as connection:
        pilot = people.find_person(connection, "Ann Example")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "two_hours.csv"
        write_big(path)
        once = path.read_bytes()

        def alone(n: int) -> None:
            path.write_bytes(once + b"\n" * (n + 1))  # another recording each time, of the same flight
            debrief_flight(path, standard="private").as_json()

        def taken_in(n: int) -> None:
            raw = path.read_bytes()
            packing = recordings.Packing(raw, path.name)
            clean = read_flight(path)
            packing.was_read(clean)
            debriefed = debrief_flight(clean, standard="private").as_json()
            about = FlightEntry(pilot, "pic", start_utc_s=school.NOW + 9e8 + n * 86400.0)
            import_debrief(store, read_debrief(debriefed), about, now_utc_s=school.NOW, recording=packing.done())

        pairs = [(timed(lambda _: alone(n), 1)[0], timed(lambda _: taken_in(n), 1)[0]) for n in range(runs)]  # noqa: B023
    print(f"2 h at 10 Hz, 30 columns, debriefed against the private standard: CSV {len(once) / 1e6:.1f} MB")
    say("read and debriefed", [one for one, _ in pairs])
    say("read, debriefed and taken in", [both for _, both in pairs])
    say("beyond the debrief", [(b[0] - a[0], b[1] - a[1]) for a, b in pairs])


def chiefs(store: Store) -> None:
    """The chief's page for the first time, after each change and again, and every question once before it is timed."""

    settings = SimpleNamespace(data="logbook", folder=Path())
    asked = SimpleNamespace(
        state=SimpleNamespace(), url=SimpleNamespace(path="/school"),
        app=SimpleNamespace(state=SimpleNamespace(settings=settings)),
    )  # fmt: skip

    def page(_: int, most_s: float = MOST_S) -> None:
        with store.read() as connection:
            found = chief.school(connection, now_utc_s=school.NOW, most_s=most_s)
        with store.read() as connection:
            weak, told = questions.ask(connection, "weak"), changes.changes(connection, most=60)
        values = {
            "school": found,
            "weak": weak,
            "changes": told,
            "by": "",
            "who": [],
            "questions": questions.questions(),
        }
        answers.page(asked, "school.html", values)  # type: ignore[arg-type]  # a request as far as it is looked at

    def after_a_change(n: int) -> None:
        page(n)
        with store.change() as connection:  # for the next run
            f = flight.c
            mine = connection.execute(sa.select(f.id, f.pilot_id, f.instructor_id).offset(7 * n).limit(1)).one()
            pilot, teacher = (people.person_by_id(connection, k) for k in (mine.pilot_id, mine.instructor_id))
            marks.give_mark(connection, pilot, KINDS[0], "practice", given_by="instructor", by=teacher,
                            now_utc_s=school.NOW + n, flight_id=mine.id)  # fmt: skip

    def question(name: questions.Question) -> Callable[[int], None]:
        def asked(_: int) -> None:
            with store.read() as connection:
                questions.ask(connection, name)

        return asked

    say("the chief's page, never looked at before", timed(page, 1))
    say("… the rest worked out meanwhile", timed(lambda n: page(n, math.inf), 1))
    after_a_change(0)
    say("… right after a change", timed(after_a_change, 7))
    page(0)
    say("… nothing changed", timed(page, 5))
    for name in questions.questions():
        question(name)(0)  # type: ignore[arg-type]
        say(f"asked: {name}", timed(question(name), 5))  # type: ignore[arg-type]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--postgres", default="")
    parser.add_argument("--flights", type=int, default=STUDENTS * FLIGHTS_EACH)
    parser.add_argument("--questions", action="store_true", help="the chief's alone")
    args = parser.parse_args()
    address, each = args.postgres, args.flights // STUDENTS
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(address or Path(folder) / "logbook.sqlite", create=True)
        started = time.perf_counter()
        ids = fill(store, each)
        kind = "PostgreSQL" if address else "SQLite"
        print(
            f"{kind}, {len(ids) * each:,} flights of {len(ids)} students, "
            f"filled in {time.perf_counter() - started:.0f} s"
        )
        print(f"  {'':<56}{'median':>9}{'worst':>9}{'CPU':>9}")

        def page(n: int) -> None:
            with store.read() as connection:
                pages.student_page(connection, ids[n % len(ids)], now_utc_s=school.NOW)

        def listing(_: int) -> None:
            with store.read() as connection:
                pages.students(connection)

        page(0)
        say(f"student page ({each} flights, {len(KINDS)} tasks with trends)", timed(page, 40))
        say("list of all students with hours", timed(listing, 10))
        chiefs(store)
        if args.questions:
            store.close()
            return
        imports(store, "1 Hz, 1.3 h, 40 columns", 4680, 40, 1.0, 15)
        imports(store, "10 Hz, 2 h, 30 columns", 72_000, 30, 10.0, 7)
        beyond(store, 9)
        if store.path is not None:
            print(f"file {store.path.stat().st_size / 1e6:.0f} MB")
        store.close()


if __name__ == "__main__":
    main()
