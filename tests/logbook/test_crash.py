"""A program killed in the middle of an import leaves the whole flight or none; 200 kills: bench/logbook_crash.py."""

from __future__ import annotations

import sys
from pathlib import Path

from logbook.conftest import MakeStore

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

import logbook_crash as crash

KILLS = 2


def test_a_killed_import_leaves_the_whole_flight_or_none(make_store: MakeStore) -> None:
    store = make_store("crash")
    where = str(store.path or store.engine.url.render_as_string(hide_password=False).replace("+psycopg", ""))
    found = crash.run(KILLS, where, seed=5)
    assert found.kills == KILLS
    assert found.wrong == []
    assert found.flights > 0


def test_the_look_after_a_kill_sees_what_is_missing(make_store: MakeStore) -> None:
    """The check itself can fail: a flight without its rows is found."""
    import sqlalchemy as sa

    from airwork.logbook.entering import FlightEntry
    from airwork.logbook.importing import import_debrief
    from airwork.logbook.recordings import pack
    from airwork.logbook.schema import criterion, recording_bytes
    from logbook import school

    store = make_store("seen")
    with store.change() as connection:
        s = school.found(connection)
    raw = crash.recording_of(1)
    done = import_debrief(
        store, school.debriefed(recording=raw), FlightEntry(s.student, "dual", instructor=s.instructor),
        now_utc_s=school.NOW, recording=pack(raw, "x"),
    )  # fmt: skip
    assert crash.look(store, {done.flight_id}) == []
    assert crash.look(store, {done.flight_id, "another"}) == ["1 flights reported done are not there"]
    with store.change() as connection:
        connection.execute(sa.delete(criterion))
    assert any("criterion" in wrong for wrong in crash.look(store, set()))
    with store.change() as connection:
        connection.execute(sa.update(recording_bytes).values(original=b"half", packing="none"))
    assert any("damaged" in wrong for wrong in crash.look(store, set()))
