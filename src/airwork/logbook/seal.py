"""Signatures that hold: what an instructor signs is written down in one canonical form and signed with their own key.

The signed words (format 1, `docs/signatures.md`): `seal 1 of an airwork logbook`, what is signed, its identity,
the SHA-256 of its canonical form (RFC 8785 JSON), the key's identity, the time and the newest hash of the history, each
on a line of its own; the signature is Ed25519 (RFC 8032) over those bytes. The form itself is kept beside it, so that
others can read and verify it without airwork; once a student is forgotten only its hash stays.

A private key is kept packed with its owner's password (PKCS 8). A signature by a key that wasn't made here, or that the
chief hasn't accepted, is claimed: shown as such, counted for nothing.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.errors import InputError
from airwork.logbook import history, things
from airwork.logbook.passwords import require_strong
from airwork.logbook.records import Person, new_id, record
from airwork.logbook.schema import airplane, endorsement, flight, mark, person, place, signature, signing_key

FORMAT = 1
What = Literal["flight", "endorsement"]
State = Literal["sealed", "claimed", "broken", "not signed"]


@dataclass(frozen=True, slots=True)
class Seal:
    """How a thing is signed. by : the signer's name as they signed; why : what is wrong, or what is claimed."""

    state: State
    by: str = ""
    utc_s: float | None = None
    why: str = ""
    key_id: str = ""
    as_signed: tuple[str, ...] = ()  # who, what and where were called otherwise as it was signed


NOT_SIGNED = Seal("not signed")


def make_key(connection: Connection, who: Person, password: str, *, now_utc_s: float, agreed: bool = True) -> str:
    """A new key of an instructor; an earlier one signs nothing more. Returns its identity.

    agreed : to end the key there is.

    Raises
    ------
    InputError : not an instructor, a password that guards no signature, or a key that nobody has agreed to end.
    """
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    if not who.is_instructor:
        raise InputError(f"{who.name} is not entered as an instructor; only instructors sign.", where="key")
    there = _newest_key(connection, who)
    if there is not None and not agreed:
        raise InputError(
            f"{who.name} signs with key {there.id[:8]}, which a new one would end; --new-password keeps it, --agree "
            "ends it. Nothing was changed.",
            where="key",
        )
    private = Ed25519PrivateKey.generate()
    public_hex = private.public_key().public_bytes_raw().hex()
    key_id, packed = _key_id(public_hex), _packed(private, password, who.name)
    end_keys(connection, who, now_utc_s=now_utc_s)
    connection.execute(
        sa.insert(signing_key),
        {
            "id": key_id,
            "person_id": who.id,
            "public_hex": public_hex,
            "private_pem": packed,
            "known_here": True,
            "made_utc_s": now_utc_s,
            "ended_utc_s": None,
        },
    )
    return key_id


def end_keys(connection: Connection, who: Person, *, now_utc_s: float) -> int:
    """An instructor's keys sign nothing from now on (lost, or they have left); what they signed stands."""
    k = signing_key.c
    mine = sa.and_(k.person_id == who.id, k.ended_utc_s.is_(None))
    return connection.execute(sa.update(signing_key).where(mine).values(ended_utc_s=now_utc_s, private_pem="")).rowcount


def repack_key(connection: Connection, who: Person, old: str, new: str) -> None:
    """The same key under a new password."""
    row = _own_key(connection, who)
    connection.execute(
        sa.update(signing_key)
        .where(signing_key.c.id == row.id)
        .values(private_pem=_packed(_unpacked(row, old), new, who.name))
    )


def has_key(connection: Connection, who: Person) -> bool:
    """A key of this person can sign here."""
    return _newest_key(connection, who) is not None


def accept_key(connection: Connection, key_id: str) -> Person:
    """Take a key that came with another logbook for its owner's, who has compared it. Returns whose it is."""
    rows = connection.execute(sa.select(signing_key).where(signing_key.c.id.startswith(key_id.strip().lower()))).all()
    if len(key_id.strip()) < 8 or len(rows) != 1:
        raise InputError(
            f"{'no key' if not rows else 'more than one key'} {key_id!r}; write 8 characters or more of it."
        )
    connection.execute(sa.update(signing_key).where(signing_key.c.id == rows[0].id).values(known_here=True))
    return record(Person, connection.execute(sa.select(person).where(person.c.id == rows[0].person_id)).one())


def sign(
    connection: Connection, what: What, ids: Sequence[str], by: Person, password: str, *, now_utc_s: float
) -> None:
    """Sign flights or endorsements as they stand; the password opens the key.

    Raises
    ------
    InputError : no key yet, a wrong password, not this instructor's training, signed already, or a key that isn't the
        one it is kept as.
    """
    own = _own_key(connection, by)
    private = _unpacked(own, password)
    for identity in ids:
        if seal_of(connection, what, identity).state in {"sealed", "broken"}:
            raise InputError("is signed already; a correction is a new entry.", where=f"{what} {identity[:8]}")
        form = form_of(connection, what, identity, by)
        if (form["instructor"] or {}).get("id") != by.id:
            raise InputError(f"{by.name} did not give this training.", where=f"{what} {identity[:8]}")
        text = things.canonical(form).decode()
        row = {
            "what": what, "thing_id": identity, "key_id": own.id, "utc_s": float(now_utc_s),
            "form_sha256": hashlib.sha256(text.encode()).hexdigest(), "history_hash": history.newest(connection),
        }  # fmt: skip
        row["signature_hex"] = private.sign(_signed_words(row)).hex()
        if not verifies({**row, "public_hex": own.public_hex}):
            raise InputError(
                f"what is kept as key {own.id[:8]} is another; nothing was signed. Restore a backup or make a new key.",
                where="signature",
            )
        connection.execute(sa.insert(signature), {**row, "id": new_id(), "form_json": text})


def unsigned_endorsements(connection: Connection, by: Person, student: Person | None = None) -> list[str]:
    """What an instructor endorsed and nobody has signed yet, oldest first."""
    e = endorsement.c
    query = sa.select(e.id).where(e.instructor_id == by.id).order_by(e.utc_s, e.id)
    if student is not None:
        query = query.where(e.student_id == student.id)
    ids = [str(row[0]) for row in connection.execute(query)]
    return [i for i, one in seals_of(connection, "endorsement", ids).items() if one.state in {"not signed", "claimed"}]


def _signed_words(row: Any) -> bytes:
    """The bytes under the signature."""
    lines = (
        f"seal {FORMAT} of an airwork logbook", row["what"], row["thing_id"], row["form_sha256"], row["key_id"],
        f"{row['utc_s']:.3f}", row["history_hash"],
    )  # fmt: skip
    return "\n".join(lines).encode()


def form_of(connection: Connection, what: What, identity: str, by: Person | None) -> dict[str, Any]:
    """What is signed, in full: the thing as it stands, and the people, airplane, places and marks by their names."""
    ((_, state),) = things.states(connection, what, [identity])
    if state is None:
        raise InputError(f"no such {what}.", where=identity[:8])
    form: dict[str, Any] = {"format": FORMAT, what: _lasting(state), **_named(connection, state)}
    if by is not None:
        form["signer"] = {"id": by.id, "name": by.name, "certificate_number": by.certificate_number}
    if what == "flight":
        mine = sa.or_(mark.c.given_by == "student", mark.c.by_id == (by.id if by else None))
        given = sa.select(mark.c.id).where(mark.c.flight_id == identity, mine).order_by(mark.c.id)
        ids = [str(row[0]) for row in connection.execute(given)]
        form["marks"] = [s for _, s in things.states(connection, "mark", ids)]
    return form


# Who and where stand beside it by identity and name (`_named`); signing writes some; a lesson may be tidied away.
_NOT_LASTING = {
    "pilot_id", "student_id", "instructor_id", "airplane_id", "stop", "signed_by_id", "signed_utc_s", "changed_utc_s",
    "lesson_id", "came_from",
}  # fmt: skip


def _lasting(state: dict[str, Any]) -> dict[str, Any]:
    """Of a thing's state what stays as it is wherever it is kept."""
    return {k: v for k, v in state.items() if k not in _NOT_LASTING}


def _named(connection: Connection, state: dict[str, Any]) -> dict[str, Any]:
    """People, airplane and places of a thing, by identity and as they are called now."""

    def one(table: sa.Table, identity: str | None, *columns: str) -> dict[str, Any] | None:
        row = connection.execute(
            sa.select(*(table.c[c] for c in ("id", *columns))).where(table.c.id == identity)
        ).first()
        return None if row is None else dict(row._mapping)

    out: dict[str, Any] = {
        role: one(person, state[f"{role}_id"], "name", "certificate_number")
        for role in ("pilot", "student", "instructor")
        if f"{role}_id" in state
    }
    if "airplane_id" in state:
        out["airplane"] = one(airplane, state["airplane_id"], "registration", "make_model")
    if "stop" in state:
        at = ("ident", "name", "latitude_rad", "longitude_rad")
        out["route"] = [one(place, stop["place_id"], *at) for stop in state["stop"]]
    return out


def _same(then: Any, now: Any) -> bool:
    """The same person, airplane or places as were signed for: by identity, or, brought in from elsewhere, by name."""
    if isinstance(then, list) and isinstance(now, list):
        return len(then) == len(now) and all(map(_same, then, now))
    if then is None or now is None:
        return now is None  # forgotten since, or never there
    return any(then.get(key) == now.get(key) for key in ("id", "name", "registration", "ident") if key in then)


def seal_of(connection: Connection, what: What, identity: str) -> Seal:
    """How a thing is signed, the signature verified and the form held against the thing as it stands now."""
    return seals_of(connection, what, [identity])[identity]


def seals_of(connection: Connection, what: What, ids: Sequence[str]) -> dict[str, Seal]:
    """As `seal_of`, of many at once."""
    out = dict.fromkeys(ids, NOT_SIGNED)
    out |= {i: Seal("claimed", why=why) for i, why in _claims(connection, what, ids).items()}
    s, k = signature.c, signing_key.c
    weight = {"not signed": 0, "claimed": 1, "sealed": 2, "broken": 3}
    for first in range(0, len(ids), 400):
        query = (
            sa.select(signature, k.public_hex, k.known_here, k.ended_utc_s, k.person_id)
            .join(signing_key, k.id == s.key_id)
            .where(s.what == what, s.thing_id.in_(list(ids[first : first + 400])))
            .order_by(s.utc_s)
        )
        rows = connection.execute(query).mappings().all()
        states = dict(things.states(connection, what, sorted({row["thing_id"] for row in rows})))
        for row in rows:
            found = _judged(connection, what, row, states[row["thing_id"]])
            if weight[found.state] >= weight[out[row["thing_id"]].state]:
                out[row["thing_id"]] = found
    return out


def _claims(connection: Connection, what: What, ids: Sequence[str]) -> dict[str, str]:
    """Things that say they are signed, or were brought in, with no signature to show for it."""
    table = flight if what == "flight" else endorsement
    found: dict[str, str] = {}
    for first in range(0, len(ids), 400):
        for row in connection.execute(
            sa.select(table).where(table.c.id.in_(list(ids[first : first + 400])))
        ).mappings():
            if row["came_from"] and what == "endorsement":
                found[row["id"]] = f"brought in with {row['came_from']}; no signature that can be verified here"
            elif what == "flight" and row["signed_utc_s"] is not None:
                where = f"by {row['came_from']}" if row["came_from"] else "by an entry from before signatures"
                found[row["id"]] = f"said to be signed {where}; no signature that can be verified here"
    return found


def _judged(connection: Connection, what: What, row: Any, state: dict[str, Any] | None) -> Seal:
    form = None if row["form_json"] is None else json.loads(row["form_json"])
    by = "" if form is None else str((form.get("signer") or {}).get("name", ""))

    def seal(state_: State, why: str = "") -> Seal:
        return Seal(state_, by, row["utc_s"], why, row["key_id"])

    if not verifies(row) or (form is not None and things.digest(form) != row["form_sha256"]):
        return seal("broken" if row["known_here"] else "claimed", "the signature does not fit what was signed")
    if not row["known_here"]:
        return seal("claimed", f"signed with key {row['key_id'][:8]}, which nobody here has accepted")
    if row["ended_utc_s"] is not None and row["utc_s"] > row["ended_utc_s"]:
        return seal("claimed", "signed after the key had ended")
    if form is None:
        return seal("sealed", "its words were taken out when the student was forgotten")
    if state is None:
        return seal("broken", "it is gone")
    if state["instructor_id"] != row["person_id"]:
        return seal("claimed", "the key is not that of the instructor who gave the training")
    wanted, named = _lasting(state), _named(connection, state)
    changed = [
        *history.differences(form[what], wanted),
        *(k for k, now in named.items() if not _same(form.get(k), now)),
    ]
    if changed:
        return seal("broken", f"changed after it was signed: {', '.join(sorted(changed))}")
    here = {str(r[0]) for r in connection.execute(sa.select(mark.c.id).where(mark.c.flight_id == row["thing_id"]))}
    if any(m["id"] not in here for m in form.get("marks", [])):
        return seal("broken", "a mark that was signed with it is gone")
    named["signer"] = _signer(connection, form)
    return replace(seal("sealed"), as_signed=tuple(dict.fromkeys(_otherwise(form, named))))


def _signer(connection: Connection, form: dict[str, Any]) -> dict[str, Any] | None:
    row = connection.execute(
        sa.select(person.c.name).where(person.c.id == (form.get("signer") or {}).get("id"))
    ).first()
    return None if row is None else dict(row._mapping)


def _otherwise(form: dict[str, Any], named: dict[str, Any]) -> Iterator[str]:
    """What is called otherwise now than it was signed, "Ike Teacher, now Ike Tutor"; a place that was moved."""
    for key, now in named.items():
        then = form.get(key)
        pairs = zip(then or (), now, strict=False) if isinstance(now, list) else [(then, now)]
        for a, b in pairs:
            if a is None or b is None:
                continue
            for name in ("name", "certificate_number", "registration", "make_model", "ident"):
                if name in b and name in a and a[name] != b[name]:
                    yield f"{a[name] or 'nothing'}, now {b[name] or 'nothing'}"
            moved = [n for n in ("latitude_rad", "longitude_rad") if n in a and n in b and a[n] != b[n]]
            if moved:
                yield f"{a['ident']}, entered at another position now"


def signed_names(connection: Connection) -> Iterator[tuple[str, str]]:
    """(identity, name) of everybody as they were called in what is signed."""
    for (text,) in connection.execute(sa.select(signature.c.form_json).where(signature.c.form_json.is_not(None))):
        form = json.loads(text)
        yield from ((one["id"], one["name"]) for role in _PEOPLE if (one := form.get(role)))


_PEOPLE = ("pilot", "student", "instructor", "signer")


def verifies(row: Any) -> bool:
    """A signature fits the words it is over, and `public_hex` is the key it names."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        if _key_id(row["public_hex"]) != row["key_id"]:
            return False
        public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(row["public_hex"]))
        public.verify(bytes.fromhex(row["signature_hex"]), _signed_words(row))
    except (InvalidSignature, ValueError):
        return False
    return True


def _key_id(public_hex: str) -> str:
    return hashlib.sha256(bytes.fromhex(public_hex)).hexdigest()[:32]


def _newest_key(connection: Connection, who: Person) -> Any:
    k = signing_key.c
    mine = sa.and_(k.person_id == who.id, k.ended_utc_s.is_(None), k.private_pem != "")
    return connection.execute(sa.select(signing_key).where(mine).order_by(k.made_utc_s.desc())).first()


def _own_key(connection: Connection, who: Person) -> Any:
    row = _newest_key(connection, who)
    if row is None:
        raise InputError(
            f"{who.name} has no signing key yet; make one: airwork logbook key {who.name!r}.", where="signature"
        )
    return row


def _packed(private: Any, password: str, name: str) -> str:
    from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, Encoding, PrivateFormat

    require_strong(password, name)
    guarded = BestAvailableEncryption(password.encode())
    return str(private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, guarded).decode())


def _unpacked(row: Any, password: str) -> Any:
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        return load_pem_private_key(row.private_pem.encode(), password.encode())
    except (ValueError, TypeError):
        raise InputError("is not the one this key is guarded by.", where="password") from None
