"""The logbook's tables: SI with the unit in each name, seconds since 1970-01-01 UTC, identities that survive a merge.

A row's `id` is random text, never a counter: two instructors can write apart and join their logbooks later. Tables of
things that happened (marks, endorsements, notes) are only ever added to; things that are put right (a person, an
airplane, a place, a flight) carry `changed_utc_s`, and in a merge the later change stands.
"""

from __future__ import annotations

from dataclasses import asdict, fields
from typing import Any

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Connection,
    Date,
    Double,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    insert,
    text,
    update,
)

from airwork.logbook.records import AirplaneEntry, FlightRow, Movement, Person, Place

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

ID = String(32)
SHA256 = String(64)


def _id() -> Column[str]:
    return Column("id", ID, primary_key=True)


def _refers(name: str, target: str, *, required: bool = False, on_delete: str = "RESTRICT") -> Column[str]:
    return Column(name, ID, ForeignKey(f"{target}.id", ondelete=on_delete), nullable=not required)


def _flag(name: str) -> Column[bool]:
    return Column(name, Boolean, nullable=False)


_KINDS = {"str": Text, "bool": Boolean, "int": Integer, "float": Double, "date": Date, "Role": Text}


def _of(record: type[Any], *special: Column[Any]) -> list[Column[Any]]:
    """A column for each field of a record, nullable where it may be None. special : those that are more than that."""
    given = {column.name: column for column in (_id(), *special)}
    found = []
    for field in fields(record):
        kind, _, none = str(field.type).partition(" | ")
        plain = _KINDS.get(kind, Text)
        found.append(given.get(field.name, Column(field.name, plain, nullable=bool(none))))
    return found


person = Table("person", metadata, *_of(Person), Column("changed_utc_s", Double, nullable=False), Index(None, "name"))

airplane = Table(
    "airplane",
    metadata,
    *_of(AirplaneEntry, Column("registration", Text, nullable=False, unique=True)),
    Column("changed_utc_s", Double, nullable=False),
)

place = Table(
    "place",
    metadata,
    *_of(Place, Column("ident", Text, nullable=False, unique=True)),
    Column("changed_utc_s", Double, nullable=False),
)

lesson = Table(
    "lesson",
    metadata,
    _id(),
    _refers("student_id", "person", required=True),
    _refers("instructor_id", "person"),
    Column("title", Text, nullable=False),
    Column("planned_utc_s", Double),
    Column("lesson_file", Text, nullable=False),  # the lesson file as written, TOML
    Column("briefing_json", Text, nullable=False),
    Column("changed_utc_s", Double, nullable=False),
    Index(None, "student_id", "planned_utc_s"),
)

recording = Table(
    "recording",
    metadata,
    Column("sha256", SHA256, primary_key=True),
    Column("file_name", Text, nullable=False),
    Column("format", Text, nullable=False),
    Column("size_bytes", Integer, nullable=False),
    Column("added_utc_s", Double, nullable=False),
)

# Apart from `recording`, so that listing recordings never reads megabytes.
recording_bytes = Table(
    "recording_bytes",
    metadata,
    Column("sha256", SHA256, ForeignKey("recording.sha256", ondelete="CASCADE"), primary_key=True),
    Column("packing", Text, nullable=False),  # how `original` is packed: zstd or none
    Column("original", LargeBinary, nullable=False),
    Column("columns_parquet", LargeBinary),  # the clean Flight's columns; null when it was never read
    Column("facts_json", Text, nullable=False),  # how each column is known, mends, contacts, source
)

flight = Table(
    "flight",
    metadata,
    *_of(
        FlightRow,
        _refers("pilot_id", "person"),
        _refers("instructor_id", "person"),
        _refers("airplane_id", "airplane"),
        _refers("lesson_id", "lesson", on_delete="SET NULL"),
        Column("recording_sha256", SHA256, nullable=False),
        _refers("signed_by_id", "person", on_delete="SET NULL"),
        Column("corrects_id", ID),
        Column("came_from", Text, nullable=False, server_default=""),
    ),
    Column("changed_utc_s", Double, nullable=False),
    CheckConstraint("role IN ('dual', 'solo', 'pic')", name="role"),
    CheckConstraint("dual_s <= total_s AND solo_s <= total_s AND pic_s <= total_s", name="who"),
    CheckConstraint("cross_country_s <= total_s AND night_s <= total_s", name="conditions"),
    CheckConstraint("total_s >= 0 AND dual_s >= 0 AND solo_s >= 0 AND pic_s >= 0", name="not_negative"),
    Index(None, "pilot_id", "local_date"),
    Index(None, "instructor_id", "start_utc_s"),
    Index(None, "airplane_id"),
    # One recording is one flight of one pilot, whoever imports it, at whatever moment.
    Index(
        None,
        "pilot_id",
        "recording_sha256",
        unique=True,
        sqlite_where=text("recording_sha256 <> ''"),
        postgresql_where=text("recording_sha256 <> ''"),
    ),
    Index(None, "recording_sha256"),
    Index(None, "corrects_id"),
)

stop = Table(
    "stop",
    metadata,
    Column("flight_id", ID, ForeignKey("flight.id", ondelete="CASCADE"), primary_key=True),
    Column("position", Integer, primary_key=True),  # 0 is the departure
    _refers("place_id", "place", required=True),
    Index(None, "place_id"),
)

# Take-offs and landings, alike ones counted together.
movement = Table(
    "movement",
    metadata,
    Column("flight_id", ID, ForeignKey("flight.id", ondelete="CASCADE"), primary_key=True),
    Column("position", Integer, primary_key=True),
    *_of(Movement),
    CheckConstraint("what IN ('takeoff', 'landing')", name="what"),
    CheckConstraint("number >= 0", name="number"),
)

debrief = Table(
    "debrief",
    metadata,
    Column("flight_id", ID, ForeignKey("flight.id", ondelete="CASCADE"), primary_key=True),
    Column("content_sha256", SHA256, nullable=False),
    Column("debrief_json", Text, nullable=False),
    Column("standard_name", Text, nullable=False),
    Column("standard_edition", Text, nullable=False),
    Column("program_version", Text, nullable=False),
    Column("imported_utc_s", Double, nullable=False),
    Index(None, "content_sha256"),
)

episode = Table(
    "episode",
    metadata,
    Column("flight_id", ID, ForeignKey("flight.id", ondelete="CASCADE"), primary_key=True),
    Column("position", Integer, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("start_s", Double, nullable=False),  # from the first sample
    Column("end_s", Double, nullable=False),
    Column("confidence", Double),
    Column("wind_mps", Double),
    Column("target_json", Text, nullable=False),  # printed units in the key names, as the debrief gives them
    Column("measured_json", Text, nullable=False),
    Column("causes_json", Text, nullable=False),
    Index(None, "kind"),
)

criterion = Table(
    "criterion",
    metadata,
    Column("flight_id", ID, primary_key=True),
    Column("position", Integer, primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("limit_text", Text, nullable=False),
    Column("worst", Double),
    Column("unit", Text, nullable=False),  # printed unit of `worst`
    Column("limit_ratio", Double),  # |worst| over the limit on that side: 1 is at the limit
    Column("within_fraction", Double),
    Column("verdict", Text, nullable=False),
    Column("why", Text, nullable=False),
    ForeignKeyConstraint(["flight_id", "position"], ["episode.flight_id", "episode.position"], ondelete="CASCADE"),
)

mark = Table(
    "mark",
    metadata,
    _id(),
    _refers("student_id", "person", required=True),
    Column("flight_id", ID, ForeignKey("flight.id", ondelete="CASCADE")),
    Column("kind", Text, nullable=False),
    Column("episode_position", Integer),  # null: the task as a whole in that flight
    Column("given_by", Text, nullable=False),  # instructor or student
    _refers("by_id", "person"),
    Column("level", Text, nullable=False),
    Column("remark", Text, nullable=False),
    Column("utc_s", Double, nullable=False),
    CheckConstraint("given_by IN ('instructor', 'student')", name="given_by"),
    Index(None, "student_id", "kind", "utc_s"),
    Index(None, "flight_id"),
)

endorsement = Table(
    "endorsement",
    metadata,
    _id(),
    _refers("student_id", "person", required=True),
    _refers("instructor_id", "person"),
    Column("kind", Text, nullable=False),  # id in the rules file
    Column("given_on", Date, nullable=False),
    Column("expires_on", Date),  # null: as the rules file says
    Column("make_model", Text, nullable=False),
    Column("place", Text, nullable=False),
    Column("words", Text, nullable=False),
    Column("result", Text, nullable=False),  # of the test endorsed for, where there is one
    Column("came_from", Text, nullable=False, server_default=""),  # as of a flight
    Column("utc_s", Double, nullable=False),
    Index(None, "student_id", "kind"),
)

dated = Table(
    "dated",
    metadata,
    _id(),
    _refers("person_id", "person", required=True),
    Column("kind", Text, nullable=False),  # id in the rules file
    Column("on_date", Date, nullable=False),
    Column("expires_on", Date),  # null: as the rules file says
    Column("remark", Text, nullable=False),
    Column("utc_s", Double, nullable=False),
    Index(None, "person_id", "kind"),
)

note = Table(
    "note",
    metadata,
    _id(),
    _refers("person_id", "person", required=True),
    Column("flight_id", ID, ForeignKey("flight.id", ondelete="CASCADE")),
    _refers("by_id", "person"),
    Column("words", Text, nullable=False),
    _flag("for_instructors"),  # not shown to the student
    Column("utc_s", Double, nullable=False),
    Index(None, "person_id", "utc_s"),
)

# What must not come back with a merge or a restored copy: a forgotten student, a flight taken out.
removed = Table(
    "removed",
    metadata,
    Column("id", ID, primary_key=True),
    Column("what", Text, nullable=False),
    Column("utc_s", Double, nullable=False),
    Column("keep_until", Date),  # what the law makes one keep is kept to this day
)

# Whose signature is whose (Ed25519). An instructor's own key is packed with their password.
signing_key = Table(
    "signing_key",
    metadata,
    _id(),  # of the public key: the first 32 hexadecimal digits of its SHA-256
    _refers("person_id", "person", required=True),
    Column("public_hex", String(64), nullable=False),
    Column("private_pem", Text, nullable=False),  # PKCS 8, encrypted with the password; "" when it is not kept here
    _flag("known_here"),  # made here, or accepted by the chief; what any other key signed is only claimed
    Column("made_utc_s", Double, nullable=False),
    Column("ended_utc_s", Double),  # after this moment it signs nothing more; what it signed before stands
    Index(None, "person_id"),
)

# What was signed, word for word, and the signature over it.
signature = Table(
    "signature",
    metadata,
    _id(),
    Column("what", Text, nullable=False),  # flight or endorsement
    Column("thing_id", ID, nullable=False),
    _refers("key_id", "signing_key", required=True),
    Column("form_sha256", SHA256, nullable=False),
    Column("form_json", Text),  # canonical JSON (RFC 8785); null once the student was forgotten
    Column("history_hash", SHA256, nullable=False),  # the newest entry of the history as it was signed
    Column("signature_hex", String(128), nullable=False),
    Column("utc_s", Double, nullable=False),
    CheckConstraint("what IN ('flight', 'endorsement')", name="what"),
    Index(None, "what", "thing_id"),
)

# Who changed what, when, into what; each entry names the one before it by its hash. Never changed; a forgotten
# student's words are taken out of it (`state_json`), the hashes stay.
history = Table(
    "history",
    metadata,
    Column("hash", SHA256, primary_key=True),
    Column("number", Integer, nullable=False, unique=True),
    _flag("own"),  # written by this logbook; false: brought in with another one
    Column("previous_hash", String(64), nullable=False),  # "" for the first
    Column("utc_s", Double, nullable=False),
    Column("by", Text, nullable=False),
    Column("what", Text, nullable=False),
    Column("thing_id", Text, nullable=False),
    Column("action", Text, nullable=False),
    Column("state_sha256", String(64), nullable=False),  # "" when it was taken out
    Column("state_json", Text),
    Index(None, "what", "thing_id"),
)


def write_new(connection: Connection, table: Table, entry: Any, now_utc_s: float) -> None:
    """Enter a record in its table."""
    connection.execute(insert(table), {**asdict(entry), "changed_utc_s": now_utc_s})


def write_again(connection: Connection, table: Table, entry: Any, now_utc_s: float) -> None:
    """A record in the place of the one that has its identity."""
    connection.execute(update(table).where(table.c.id == entry.id).values(**asdict(entry), changed_utc_s=now_utc_s))


# The parts of a flight, and of the others whose each row is.
OF_FLIGHT = (stop, movement, debrief, episode, criterion)
WHOSE: dict[Table, str] = {
    flight: "pilot_id", lesson: "student_id", mark: "student_id", endorsement: "student_id", dated: "person_id",
    note: "person_id",
}  # fmt: skip
# In the order rows may be written: what is referred to comes first.
TABLES: tuple[Table, ...] = (
    person, airplane, place, lesson, recording, recording_bytes, flight, stop, movement, debrief, episode, criterion,
    mark, endorsement, dated, note, removed, signing_key, signature, history,
)  # fmt: skip
