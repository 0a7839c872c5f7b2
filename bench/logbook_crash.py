"""Kill the program at random points of an import and look at what is left: the whole flight or none of it.

    python bench/logbook_crash.py [kills]

A program of its own imports flight after flight, each with a recording, into one logbook; it is killed (SIGKILL: no
clean-up runs) after a random time, started again, and so on. After every kill the logbook must be whole, every flight
in it complete to the last row and byte, and the next import must work. Nothing an import reported done may be lost.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

import sqlalchemy as sa

from airwork.logbook import carry, people, recordings
from airwork.logbook.checking import check
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import import_debrief
from airwork.logbook.schema import criterion, debrief, episode, flight, movement, recording_bytes
from airwork.logbook.store import Store, open_store
from logbook import school

RECORDING_BYTES = 600_000


def recording_of(n: int) -> bytes:
    """A made-up recording that does not squeeze away to nothing."""
    return random.Random(n).randbytes(RECORDING_BYTES)


def imports(path: str, first: int, says: Connection) -> None:
    """Import flights for ever, saying each one that is done; this is the program that is killed."""
    store = open_store(path)
    with store.read() as connection:
        pilot = people.find_person(connection, "Ann Example")
        teacher = people.find_person(connection, "Ike Teacher")
    n = first
    while True:
        raw = recording_of(n)
        facts = school.debriefed(school.NOW + n * 86400.0, recording=raw)
        says.send_bytes(b"begin %d" % n)
        done = import_debrief(
            store, facts, FlightEntry(pilot, "dual", instructor=teacher), now_utc_s=school.NOW,
            recording=recordings.pack(raw, "flight.bin"),
        )  # fmt: skip
        says.send_bytes(f"done {n} {done.flight_id}".encode())
        n += 1


@dataclass
class Found:
    """What the kills showed."""

    kills: int = 0
    during: int = 0  # kills between "begin" and "done"
    kept: int = 0  # of these, the flight was there after all
    flights: int = 0
    wrong: list[str] | None = None


def look(store: Store, reported: set[str]) -> list[str]:
    """Everything that is not as it must be."""
    wrong = list(check(store).wrong)
    with store.read() as connection:
        ids = {row[0] for row in connection.execute(sa.select(flight.c.id))}
        lost = reported - ids
        if lost:
            wrong.append(f"{len(lost)} flights reported done are not there")
        for table, rows in ((debrief, 1), (episode, 4), (criterion, 3), (movement, 2)):
            counted = dict(
                tuple(row) for row in connection.execute(
                    sa.select(table.c.flight_id, sa.func.count()).group_by(table.c.flight_id)
                )
            )  # fmt: skip
            broken = [i for i in ids if counted.get(i) != rows]
            if broken or set(counted) - ids:
                wrong.append(f"{table.name}: {len(broken)} flights without all their rows")
        if carry.counts(connection)["recording_bytes"] != len(ids):
            wrong.append("recordings and flights don't agree")
        kept = connection.execute(sa.select(recording_bytes.c.sha256)).scalars().all()
        if len(set(kept)) != len(ids):
            wrong.append("a recording is missing or twice")
    return wrong


def run(kills: int, where: str, seed: int = 1) -> Found:
    """Kill so many times the program that writes to a logbook (a file or an address); stops when something is wrong."""
    store = open_store(where, create=True)
    with store.change() as connection:
        school.found(connection)
    store.close()
    rng, found, reported, n = random.Random(seed), Found(wrong=[]), set(), 0
    longest_s = 0.12  # until the first import was timed on this machine, which is never killed
    timed = False
    while found.kills < kills:
        heard, says = school.programs().Pipe(duplex=False)
        program = school.programs().Process(target=imports, args=(where, n, says))
        program.start()
        says.close()
        lines = [heard.recv_bytes().decode()]  # it has begun
        assert lines[0].startswith("begin"), lines
        if not timed:
            began = time.perf_counter()
            lines.append(heard.recv_bytes().decode())
            longest_s, timed = 2.5 * (time.perf_counter() - began), True
        time.sleep(rng.uniform(0.0, longest_s))
        program.kill()
        program.join()
        with suppress(EOFError, OSError):  # the last line may be half a line
            while True:
                lines.append(heard.recv_bytes().decode())
        heard.close()
        done = [line.split() for line in lines if line.startswith("done") and len(line.split()) == 3]
        reported |= {words[2] for words in done}
        begun = int([line for line in lines if line.startswith("begin")][-1].split()[1])
        found.kills += 1
        store = open_store(where)
        found.wrong = look(store, reported)
        with store.read() as connection:
            there = {row[0] for row in connection.execute(sa.select(flight.c.id))}
        store.close()
        if not done or int(done[-1][1]) < begun:
            found.during += 1
            found.kept += bool(there - reported)
            reported |= there
        found.flights, n = len(there), begun + 1
        if found.wrong:
            break
    return found


def main() -> None:
    """Print what was found."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    started = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        found = run(kills, str(Path(folder) / "logbook.sqlite"))
    print(
        f"{found.kills} kills in {time.perf_counter() - started:.0f} s, {found.during} in the middle of an import "
        f"({found.kept} of these had the flight, whole; the others had none of it), {found.flights} flights in the end"
    )
    print("wrong: " + ("; ".join(found.wrong) if found.wrong else "nothing"))
    sys.exit(1 if found.wrong else 0)


if __name__ == "__main__":
    main()
