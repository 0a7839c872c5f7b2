"""Joining two logbooks: what only the other has is added, the later correction stands, nothing forgotten comes back.

What is signed here stays as it was signed. What the other brings with a signature that can't be verified here is
claimed. Rows that are here already are changed only when that was agreed to (`changes`), each change said.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Table

from airwork.days import local_date
from airwork.errors import InputError
from airwork.logbook import carry, history, seal
from airwork.logbook.changes import in_words
from airwork.logbook.records import read_as
from airwork.logbook.schema import (
    TABLES,
    airplane,
    criterion,
    dated,
    debrief,
    endorsement,
    episode,
    flight,
    lesson,
    mark,
    movement,
    note,
    person,
    place,
    recording,
    recording_bytes,
    removed,
    signature,
    signing_key,
    stop,
)
from airwork.logbook.schema import history as history_table
from airwork.logbook.store import Store
from airwork.logbook.taken import at_once

_PERSONS = {c.name for t in TABLES for c in t.columns if any(k.column.table is person for k in c.foreign_keys)}
_DAYS = {"local_date", "given_on", "on_date", "born_on"}
_LATE_S = 300.0  # clocks that differ by less are let pass; a later moment than now is no record


@dataclass(slots=True)
class Merged:
    """What a merge did. added, changed : things by table. changes : each change to what was here, in words.

    said : what a person should look at.
    """

    added: dict[str, int] = field(default_factory=dict)
    changed: dict[str, int] = field(default_factory=dict)
    changes: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    @property
    def nothing_new(self) -> bool:
        """The other logbook had nothing this one hasn't."""
        return not any(self.added.values()) and not any(self.changed.values())


class NotAgreed(InputError):
    """A merge would change what is here, and nobody has agreed to it yet: nothing was changed."""

    def __init__(self, changes: list[str], where: str) -> None:
        shown = "\n  ".join(changes[:30])
        more = f"\n  and {len(changes) - 30} more" if len(changes) > 30 else ""
        count = f"{len(changes)} things that are" if len(changes) > 1 else "a thing that is"
        super().__init__(
            f"would change {count} here already; nothing was "
            f"changed. Look at them, then agree with --agree:\n  {shown}{more}",
            where=where,
        )
        self.changes = changes


def merge(into: Store, other: Store, *, same_names: bool = False, agreed: bool = True) -> Merged:
    """Bring everything of another logbook into this one, in one transaction.

    Parameters
    ----------
    same_names : take a person of the same name in both for the same person; without it such a pair is refused.
    agreed : take changes to what is here already.

    Raises
    ------
    NotAgreed : it would change what is here, and `agreed` is False.
    InputError : names that can't be told apart; a moment in the future.
    """
    with other.read() as source, into.change() as target:
        done = _Merge(source, target, same_names).run()
        if other.keeps_history and (wrong := history.verify(source)):
            said = f"the other logbook is not whole (airwork logbook check --data {other.where}): {wrong[0]}"
            (done.said if done.nothing_new else done.changes).insert(0, said)
        if done.changes and not agreed:
            raise NotAgreed(done.changes, "merge")
        if not done.nothing_new:
            history.mark(target, "joined", {"with": other.where, "newest": history.newest(source)})
        return done


class _Merge:
    """One merge under way: it remembers which identity of theirs is which of ours."""

    def __init__(self, source: Connection, target: Connection, same_names: bool) -> None:
        self.source, self.target, self.same_names = source, target, same_names
        self.latest_utc_s = time.time() + _LATE_S
        self.ours: dict[str, str] = {}  # their identity -> ours, where they differ
        self.gone = {row.id for row in target.execute(sa.select(removed.c.id))}
        self.skipped_flights: set[str] = set()
        self.touched: set[str] = set()  # flights this merge has added or changed
        self.done = Merged()

    def run(self) -> Merged:
        self._refuse_the_future()
        self._pair_people()
        for table, key in ((airplane, "registration"), (place, "ident")):
            self._pair(table, key)
        for table in (person, airplane, place, lesson):
            self._bring(table)
        self._flights()
        wanted = {row[0] for row in self.target.execute(sa.select(flight.c.recording_sha256))}
        self._bring_new(recording, ("sha256",), wanted)
        self._bring_new(recording_bytes, ("sha256",), wanted)
        for table in (mark, endorsement, dated, note):
            self._bring_new(table, ("id",))
        self._signatures()
        for batch in carry.rows(self.source, history_table):
            history.bring(self.target, batch)
        self._removed()
        self.done.said += [
            f"{said}: one flight entered twice?" for said in at_once(self.target, among=self.touched, most=20)
        ]
        return self.done

    def _pair_people(self) -> None:
        here = {row.id: row for row in self.target.execute(sa.select(person))}
        by_name = {read_as(row.name): row for row in here.values()}
        unsure = []
        for row in self.source.execute(sa.select(person)):
            twin = by_name.get(read_as(row.name))
            if row.id in here or row.id in self.gone or twin is None:
                continue
            different = row.born_on and twin.born_on and row.born_on != twin.born_on
            if different or not self.same_names:
                unsure.append(f"{row.name}{' (different birth dates)' if different else ''}")
            self.ours[row.id] = twin.id
        if unsure:
            raise InputError(
                f"in both logbooks there is {', '.join(unsure)}. If they are the same, --same-names joins them; "
                "if not, rename one first (airwork logbook change person).",
                where="merge",
            )

    def _pair(self, table: Table, key: str) -> None:
        here = {row[1]: row[0] for row in self.target.execute(sa.select(table.c.id, table.c[key]))}
        for identity, name in self.source.execute(sa.select(table.c.id, table.c[key])):
            if name in here and here[name] != identity:
                self.ours[identity] = here[name]

    def _ours(self, row: dict[str, Any]) -> dict[str, Any]:
        """A row of theirs with our identities; references to people forgotten here are cut."""
        new = dict(row)
        for name, value in row.items():
            if name == "id" or name.endswith("_id"):
                new[name] = self.ours.get(value, value)
                if name in _PERSONS and new[name] in self.gone and name not in {"student_id", "person_id"}:
                    new[name] = None
        return new

    def _refuse_the_future(self) -> None:
        """No row may tell of a moment or a day that hasn't come (a lesson planned for one may)."""
        tomorrow = local_date(self.latest_utc_s + 86400.0, "UTC")  # it is that day somewhere already
        for table in TABLES:
            told = [c for c in table.columns if c.name in _DAYS or c.name.endswith("utc_s")]
            told = [c for c in told if c is not lesson.c.planned_utc_s]
            found = self.source.execute(sa.select(*(sa.func.max(c) for c in told))).one() if told else ()
            for column, latest in zip(told, found, strict=True):
                day = column.name in _DAYS
                if latest is not None and latest > (tomorrow if day else self.latest_utc_s):
                    moment = column.name.removesuffix("_utc_s").replace("_", " ")
                    when = "is of a day in the future" if day else f"was {moment} in the future"
                    raise InputError(
                        f"a {table.name} in it {when}; nothing was taken in. Is a clock wrong, or the file made up?",
                        where="merge",
                    )

    def _unwanted(self, row: dict[str, Any]) -> bool:
        if row.get("id") in self.gone or row.get("flight_id") in self.skipped_flights:
            return True
        return any(row.get(name) in self.gone for name in ("student_id", "person_id", "pilot_id"))

    def _count(self, where: dict[str, int], table: Table, number: int) -> None:
        where[table.name] = where.get(table.name, 0) + number

    def _bring(self, table: Table) -> None:
        """Rows with a time of change: new ones are added, known ones replaced when theirs is later."""
        here = {row[0]: row[1] for row in self.target.execute(sa.select(table.c.id, table.c.changed_utc_s))}
        for batch in carry.rows(self.source, table):
            for theirs in batch:
                if self._unwanted(theirs):
                    continue
                row = self._ours(theirs)
                if row["id"] not in here:
                    self.target.execute(sa.insert(table), row)
                    self._count(self.done.added, table, 1)
                elif theirs["changed_utc_s"] > here[row["id"]]:
                    self._replace(table, row)

    def _replace(self, table: Table, row: dict[str, Any]) -> None:
        keep_ours = {"id", "registration", "ident", "came_from"}
        values = {name: value for name, value in row.items() if name not in keep_ours}
        before = self.target.execute(sa.select(table).where(table.c.id == row["id"])).mappings().one()
        changes = history.differences(dict(before), {**before, **values})
        if not changes:
            return
        self.target.execute(sa.update(table).where(table.c.id == row["id"]).values(**values))
        self._count(self.done.changed, table, 1)
        called = before.get("name") or before.get("registration") or before.get("title") or row["id"][:8]
        self.done.changes.append(f"{table.name} {called}: {in_words(changes)}")

    def _bring_new(self, table: Table, key: tuple[str, ...], wanted: set[str] | None = None) -> None:
        """Rows that are only ever added; `wanted` recordings are those a flight here refers to."""
        columns = [table.c[name] for name in key]
        here = {tuple(row) for row in self.target.execute(sa.select(*columns))}
        for batch in carry.rows(self.source, table):
            new = [self._ours(row) for row in batch if not self._unwanted(row)]
            new = [row for row in new if tuple(row[name] for name in key) not in here]
            new = [row for row in new if wanted is None or row["sha256"] in wanted]
            if new:
                self.target.execute(sa.insert(table), new)
                self._count(self.done.added, table, len(new))

    def _correction(self, row: dict[str, Any]) -> None:
        """An entry of theirs that is to count in the place of one of ours: said, and only of the same pilot's."""
        f = flight.c
        old = self.target.execute(sa.select(f.id, f.pilot_id).where(f.id == row["corrects_id"])).first()
        if old is None:
            return
        other = self.target.execute(sa.select(f.id).where(f.corrects_id == old.id, f.id != row["id"])).scalar()
        if old.pilot_id != row["pilot_id"]:
            self.done.said.append(
                f"flight {row['id'][:8]} was to correct {old.id[:8]}, which is somebody else's; it does not"
            )
        elif other is not None:
            said = f"is corrected by {other[:8]} already, and by {row['id'][:8]}; the one signed last counts"
            self.done.said.append(f"flight {old.id[:8]} {said}")
        elif old.id in self.flights_before:
            self.done.changes.append(
                f"flight {old.id[:8]}: {row['id'][:8]} is to count in its place once a key known here signs it"
            )

    def _flights(self) -> None:
        d = debrief.c
        here = {row.id: row for row in self.target.execute(sa.select(flight))}
        self.flights_before = set(here)
        by_recording = {(r.pilot_id, r.recording_sha256): r.id for r in here.values() if r.recording_sha256}
        debriefs = {
            r.flight_id: r for r in self.target.execute(sa.select(d.flight_id, d.imported_utc_s, d.content_sha256))
        }
        for batch in carry.rows(self.source, flight):
            for theirs in batch:
                if self._unwanted(theirs):
                    self.skipped_flights.add(theirs["id"])
                    continue
                row = self._ours(theirs)
                twin = by_recording.get((row["pilot_id"], row["recording_sha256"]))
                if row["id"] not in here and twin is not None:
                    self.ours[theirs["id"]] = row["id"] = twin
                self._flight(theirs["id"], row, here.get(row["id"]), debriefs.get(row["id"]))

    def _flight(self, their_id: str, row: dict[str, Any], ours: Any, our_debrief: Any) -> None:
        if ours is None:
            self._correction(row)
            self.target.execute(sa.insert(flight), row)
            self.touched.add(row["id"])
            self._count(self.done.added, flight, 1)
            self._children(their_id, row["id"], (stop, movement, debrief, episode, criterion))
            return
        if ours.signed_utc_s is not None or seal.seal_of(self.target, "flight", row["id"]).state != "not signed":
            debriefs = sa.select(debrief.c.content_sha256).where(debrief.c.flight_id == their_id)
            theirs = self.source.execute(debriefs).scalar()
            other = theirs is not None and our_debrief is not None and theirs != our_debrief.content_sha256
            if other or set(history.differences(dict(ours._mapping), row)) - {"came_from"}:
                self.done.said.append(
                    f"flight {row['id'][:8]} is signed here and another one there; it stays as it was signed"
                )
            return
        if row["changed_utc_s"] > ours.changed_utc_s:
            if row["corrects_id"] != ours.corrects_id:
                self._correction(row)
            self._replace(flight, row)
            self.touched.add(row["id"])
            for table in (stop, movement):
                self.target.execute(sa.delete(table).where(table.c.flight_id == row["id"]))
            self._children(their_id, row["id"], (stop, movement))
        theirs = self.source.execute(sa.select(debrief).where(debrief.c.flight_id == their_id)).first()
        if theirs is None or (our_debrief is not None and theirs.content_sha256 == our_debrief.content_sha256):
            return
        if our_debrief is None or theirs.imported_utc_s > our_debrief.imported_utc_s:
            for table in (criterion, episode, debrief):
                self.target.execute(sa.delete(table).where(table.c.flight_id == row["id"]))
            self._children(their_id, row["id"], (debrief, episode, criterion))
            self._count(self.done.changed, debrief, 1)
            if our_debrief is not None:
                self.done.changes.append(f"flight {row['id'][:8]}: another debrief, made later")

    def _children(self, their_id: str, our_id: str, tables: Iterable[Table]) -> None:
        for table in tables:
            for batch in carry.rows(self.source, table, table.c.flight_id == their_id):
                self.target.execute(sa.insert(table), [{**self._ours(row), "flight_id": our_id} for row in batch])

    def _signatures(self) -> None:
        """Their keys without the private part, known here only if we know them already; their signatures as they are.

        Whoever can write a file can write a key into it: what it signed is claimed until the chief has compared and
        accepted the key.
        """
        ours = {row.id: row.ended_utc_s for row in self.target.execute(sa.select(signing_key))}
        known = set(ours)
        self._ended_keys(ours)
        people = {row[0] for row in self.target.execute(sa.select(person.c.id))}
        for batch in carry.rows(self.source, signing_key):
            for theirs in batch:
                row = {**self._ours(theirs), "id": theirs["id"], "private_pem": "", "known_here": False}
                if row["id"] not in known and row["person_id"] in people:
                    self.target.execute(sa.insert(signing_key), row)
                    self._count(self.done.added, signing_key, 1)
                    known.add(row["id"])
                    self.done.said.append(
                        f"signed there with key {row['id'][:8]}, which nobody here has accepted: claimed until "
                        f"airwork logbook key --accept {row['id'][:8]}"
                    )
        here = {row.id: row.signature_hex for row in self.target.execute(sa.select(signature))}
        public = {r.id: r.public_hex for r in self.target.execute(sa.select(signing_key))}
        for batch in carry.rows(self.source, signature):
            for row in batch:
                lost = row["thing_id"] in self.skipped_flights or row["thing_id"] in self.ours
                if here.get(row["id"], row["signature_hex"]) != row["signature_hex"]:
                    self.done.said.append(
                        f"another signature is here over {row['what']} {row['thing_id'][:8]}; it stays"
                    )
                if row["id"] in here or row["key_id"] not in known or lost:
                    continue
                if not seal.verifies({**row, "public_hex": public[row["key_id"]]}):  # what was signed here stays signed
                    self.done.said.append(
                        f"a signature over {row['what']} {row['thing_id'][:8]} does not fit its key; left out"
                    )
                    continue
                if ours.get(row["key_id"]) is not None:  # who left may have it elsewhere, and a clock set back
                    which = f"{row['what']} {row['thing_id'][:8]}"
                    self.done.changes.append(f"{which}: signed with key {row['key_id'][:8]}, which has ended here")
                self.target.execute(sa.insert(signature), row)
                self._count(self.done.added, signature, 1)

    def _ended_keys(self, ours: dict[str, float | None]) -> None:
        """A key that has ended in another logbook ends here, once agreed to."""
        k = signing_key.c
        ended = self.source.execute(sa.select(k.id, k.ended_utc_s).where(k.ended_utc_s.is_not(None))).all()
        for key, utc_s in ended:
            if key not in ours or ours[key] is not None:
                continue
            self.target.execute(sa.update(signing_key).where(k.id == key).values(ended_utc_s=utc_s, private_pem=""))
            self._count(self.done.changed, signing_key, 1)
            self.done.changes.append(f"signing key {key[:8]}: has ended there, and ends here: it signs nothing more")

    def _removed(self) -> None:
        """Their removals are taken over; what they took out and is still here is only said."""
        things = {table.name: table for table in (person, flight, endorsement, dated, note)}
        for batch in carry.rows(self.source, removed):
            for row in batch:
                if row["id"] in self.gone:
                    continue
                table = things[row["what"]]
                still = self.target.execute(sa.select(table.c.id).where(table.c.id == row["id"])).first()
                if still is None:
                    self.target.execute(sa.insert(removed), row)
                    self._count(self.done.added, removed, 1)
                elif row["keep_until"] is None:
                    self.done.said.append(
                        f"the other logbook has taken out {row['what']} {row['id'][:8]}, which is still here"
                        + (f"; airwork logbook remove {row['id'][:8]} takes it out" if table is flight else "")
                    )
