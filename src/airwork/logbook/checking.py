"""Looking a logbook over: is it whole, do recordings match their hashes, do the flights make sense."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cache

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.days import local_text
from airwork.errors import AirworkError
from airwork.logbook import carry, history, recordings, seal, sqlite_files
from airwork.logbook.flights import counts, sealed
from airwork.logbook.schema import endorsement, flight, person, recording, signature, signing_key
from airwork.logbook.schema import history as history_table
from airwork.logbook.store import Store
from airwork.logbook.taken import at_once

_AN_HOUR_S = 3600.0  # engine running before the recorder was on, or after


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found. rows : by table; wrong : damage; look_at : what a person should look at.

    newest : hash of the history's newest entry: noted down elsewhere it shows whether the newest were cut off.
    """

    rows: dict[str, int]
    wrong: tuple[str, ...]
    look_at: tuple[str, ...]
    newest: str = ""


def check(store: Store, *, noted: str = "") -> Checked:
    """Read the whole logbook once and say what is not as it should be.

    noted : first characters of a hash that was once the newest entry's, as `check` and `backup` print it.
    """
    with store.read() as connection:
        wrong = sqlite_files.damage(connection.exec_driver_sql) if store.is_sqlite else []
        if noted and not history.holds(connection, noted):
            wrong.append(
                f"history: no entry {noted[:16]}, which was noted down; its newest entries were cut off, it was "
                "written anew, or an older backup was put in its place"
            )
        for (sha256,) in connection.execute(sa.select(recording.c.sha256)).all():
            try:
                recordings.original(connection, sha256)
            except AirworkError as problem:
                wrong.append(str(problem))
        wrong += history.verify(connection)
        broken, claimed = _signed(connection)
        unanchored, elsewhere = _unanchored(connection)
        wrong += unanchored
        odd = (*_corrected(connection), *_keys(connection), *_odd(connection))
        look_at = (*claimed, *elsewhere, *history.set_back(connection), *odd)
        return Checked(carry.counts(connection), (*wrong, *broken), look_at, history.newest(connection))


def _signed(connection: Connection) -> tuple[list[str], list[str]]:
    """What was signed and no longer fits its signature; what only says it is signed."""
    broken, claimed, called = [], [], Counter[str]()
    for what, table in (("flight", flight), ("endorsement", endorsement)):
        ids = [str(row[0]) for row in connection.execute(sa.select(table.c.id))]
        found = seal.seals_of(connection, what, ids)  # type: ignore[arg-type]
        signed = sa.select(signature.c.thing_id).where(signature.c.what == what).distinct()
        gone = [str(row[0]) for row in connection.execute(signed) if row[0] not in found]
        found |= seal.seals_of(connection, what, gone)  # type: ignore[arg-type]
        for identity, one in found.items():
            said = f"{what} {identity[:8]}: {one.why}"
            if one.state == "broken":
                broken.append(said)
            elif one.state == "claimed":
                claimed.append(said)
            called.update(one.as_signed)
    claimed += [f"{n} signed {'entry says' if n == 1 else 'entries say'} {words}" for words, n in called.items()]
    return broken, claimed


def _unanchored(connection: Connection) -> tuple[list[str], list[str]]:
    """Signatures over an entry of the history that isn't in it: cut off, or all of it written anew.

    With a file come only some entries of its history: there the entry is missed (second list) for a key kept here.
    """
    wrong, look_at = [], []
    s, k = signature.c, signing_key.c
    reached: dict[str, bool] = {"": False}
    h = history_table.c
    entries = {row.hash: row for row in connection.execute(sa.select(h.hash, h.own, h.previous_hash))}

    def there(of: str) -> bool:
        """An entry of our own, or of a history brought in whole, down to its first or to one of our own."""
        way: list[str] = []
        while of not in reached and of in entries and not entries[of].own:
            way.append(of)
            reached[of] = False  # a made-up history may lead round and round
            of = entries[of].previous_hash
        found = reached.get(of, of in entries) or (of == "" and bool(way))
        reached.update(dict.fromkeys(way, found))
        return found

    for row in connection.execute(
        sa.select(s.what, s.thing_id, s.history_hash, k.private_pem).join(signing_key, k.id == s.key_id)
    ):
        if there(row.history_hash):
            continue
        table = flight if row.what == "flight" else endorsement
        came_from = connection.execute(sa.select(table.c.came_from).where(table.c.id == row.thing_id)).scalar()
        said = (
            f"{row.what} {row.thing_id[:8]}: the entry of the history it was signed after ({row.history_hash[:8]}) "
            "is not in the history"
        )
        if not came_from:
            wrong.append(f"{said}: entries were cut off, or all was written anew")
        elif row.private_pem:
            look_at.append(said)
    return wrong, look_at


@cache
def _put_right() -> sa.Select[tuple[str, str, str | None, str | None, bool]]:
    """Flights that correct another: both, by whom each is signed, and whether the new one's signature is good."""
    new, old = flight.alias("new"), flight.alias("old")
    return (
        sa.select(
            new.c.id,
            old.c.id.label("of"),
            new.c.signed_by_id,
            old.c.signed_by_id.label("first"),
            sealed(new).label("good"),
        )
        .join(old, old.c.id == new.c.corrects_id)
        .order_by(new.c.local_date, new.c.id)
    )


def _corrected(connection: Connection) -> list[str]:
    """What is to count in the place of something signed and waits; what counts there and another hand has signed."""
    said = []
    for row in connection.execute(_put_right()):
        if not row.good:
            said.append(f"flight {row.id[:8]} waits for its signature to count in the place of the signed {row.of[:8]}")
        elif row.signed_by_id != row.first:
            said.append(f"flight {row.id[:8]} counts in the place of {row.of[:8]}, which somebody else has signed")
    return said


def _keys(connection: Connection) -> list[str]:
    """Who has had more than one key made or accepted here."""
    k, of = signing_key.c, dict[str, list[str]]()
    for name, key, ended in connection.execute(
        sa.select(person.c.name, k.id, k.ended_utc_s)
        .join(person, person.c.id == k.person_id)
        .where(k.known_here)
        .order_by(k.made_utc_s)
    ):
        until = "" if ended is None else f" (ended {local_text(ended, 'UTC')})"
        of.setdefault(name, []).append(f"{key[:8]}{until}")
    return [f"{name} has had {len(keys)} keys: {', '.join(keys)}" for name, keys in of.items() if len(keys) > 1]


def _odd(connection: Connection) -> list[str]:
    """Flights that can't both be, longer ones than their own times, training without an instructor, unsigned."""
    said = at_once(connection)
    f = flight.c
    longer = sa.select(f.id, f.total_s).where(f.total_s > f.end_utc_s - f.start_utc_s + _AN_HOUR_S, counts()).limit(50)
    said += [
        f"flight {identity[:8]}: {total_s / 3600.0:.1f} h, over an hour more than from its start to its end"
        for identity, total_s in connection.execute(longer)
    ]
    no_instructor = connection.execute(
        sa.select(sa.func.count()).where(f.dual_s > 0, f.instructor_id.is_(None))
    ).scalar_one()
    if no_instructor:
        said.append(f"{no_instructor} training flights name no instructor")
    unsigned = connection.execute(
        sa.select(sa.func.count()).where(f.dual_s > 0, f.signed_utc_s.is_(None), f.pilot_id.is_not(None))
    ).scalar_one()
    if unsigned:
        said.append(f"{unsigned} training flights are not signed by their instructor")
    return said
