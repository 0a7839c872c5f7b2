"""Recordings, each kept once by the hash of its bytes: the original as it came, and the clean Flight as columns."""

from __future__ import annotations

import hashlib
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.errors import AirworkError, InputError
from airwork.logbook.records import clean
from airwork.logbook.schema import flight, recording, recording_bytes
from airwork.recording.flight import Flight
from airwork.recording.packed import columns_of, facts_of, flight_of

_PART = 2_000_000  # bytes squeezed at a time


@dataclass(frozen=True, slots=True)
class Packed:
    """A recording ready to be kept: packing takes longer than writing and needs no transaction."""

    sha256: str
    file_name: str
    format: str
    size_bytes: int
    packing: str
    original: bytes
    columns_parquet: bytes | None
    facts_json: str


def sha256_of(raw: bytes) -> str:
    """The recording's identity: SHA-256 of its bytes, in hex."""
    return hashlib.sha256(raw).hexdigest()


class Packing:
    """A recording being packed on threads of its own, beside other work (its debrief): packing frees the interpreter.

    sha256 : of the bytes, when it is known.
    """

    def __init__(self, raw: bytes, file_name: str) -> None:
        self._raw, self._file_name = raw, file_name
        self._pool = ThreadPoolExecutor(2)
        self.sha256: Future[str] = self._pool.submit(sha256_of, raw)
        # zstd frames one behind the other are one zstd file
        parts = (raw[at : at + _PART] for at in range(0, max(len(raw), 1), _PART))
        self._parts = [self._pool.submit(_squeeze, part) for part in parts]
        self._read: Flight | None = None
        self._columns: Future[bytes] | None = None

    def was_read(self, read: Flight) -> None:
        """Pack the columns too."""
        self._read, self._columns = read, self._pool.submit(columns_of, read)

    def done(self) -> Packed:
        """The packed recording, when it is packed."""
        squeezed = b"".join(part.result() for part in self._parts)
        parquet = None if self._columns is None else self._columns.result()
        self._pool.shutdown()
        read, name = self._read, clean(self._file_name, "recording's name", longest=255) or "recording"
        packing, original = ("zstd", squeezed) if len(squeezed) < len(self._raw) else ("none", self._raw)
        kind = str(read.source.get("format", "")) if read is not None else ""
        facts = facts_of(read) if read is not None else "{}"
        return Packed(self.sha256.result(), name, kind, len(self._raw), packing, original, parquet, facts)


def pack(raw: bytes, file_name: str, read: Flight | None = None) -> Packed:
    """Pack a recording's bytes and, where it has been read, its columns; the two at the same time."""
    packing = Packing(raw, file_name)
    if read is not None:
        packing.was_read(read)
    return packing.done()


def is_kept(connection: Connection, sha256: str) -> bool:
    """The recording is here, bytes and columns: it need not be packed again."""
    b = recording_bytes.c
    return connection.execute(sa.select(b.columns_parquet.is_not(None)).where(b.sha256 == sha256)).scalar() is True


def keep(connection: Connection, packed: Packed, *, now_utc_s: float) -> bool:
    """Keep a packed recording; False when its bytes are here already (columns are added if they were missing)."""
    r, b = recording.c, recording_bytes.c
    there = connection.execute(sa.select(r.sha256).where(r.sha256 == packed.sha256)).first() is not None
    if not there:
        connection.execute(
            sa.insert(recording),
            {
                "sha256": packed.sha256,
                "file_name": packed.file_name,
                "format": packed.format,
                "size_bytes": packed.size_bytes,
                "added_utc_s": now_utc_s,
            },
        )
        connection.execute(
            sa.insert(recording_bytes),
            {
                "sha256": packed.sha256,
                "packing": packed.packing,
                "original": packed.original,
                "columns_parquet": packed.columns_parquet,
                "facts_json": packed.facts_json,
            },
        )
    elif packed.columns_parquet is not None:
        connection.execute(
            sa.update(recording_bytes)
            .where(b.sha256 == packed.sha256, b.columns_parquet.is_(None))
            .values(columns_parquet=packed.columns_parquet, facts_json=packed.facts_json)
        )
    return not there


def original(connection: Connection, sha256: str) -> tuple[str, bytes]:
    """File name and the bytes as they came, checked against their hash."""
    row = connection.execute(
        sa.select(recording.c.file_name, recording_bytes.c.packing, recording_bytes.c.original)
        .join(recording_bytes, recording.c.sha256 == recording_bytes.c.sha256)
        .where(recording.c.sha256 == sha256)
    ).first()
    if row is None:
        raise InputError("the recording is not kept in this logbook.", where=sha256[:12])
    raw = unpack(row.packing, row.original)
    if sha256_of(raw) != sha256:
        raise AirworkError(f"recording {sha256[:12]} is damaged: its bytes don't match its hash. Restore a backup.")
    return row.file_name, raw


def unpack(packing: str, packed: bytes) -> bytes:
    """The bytes as they came."""
    if packing == "none":
        return bytes(packed)
    import zstandard

    with zstandard.ZstdDecompressor().stream_reader(packed, read_across_frames=True) as reader:
        return reader.read()


def columns(connection: Connection, sha256: str) -> Flight | None:
    """The clean Flight of a recording, to 7 digits; None when it was kept without having been read."""
    row = connection.execute(
        sa.select(recording_bytes.c.columns_parquet, recording_bytes.c.facts_json).where(
            recording_bytes.c.sha256 == sha256
        )
    ).first()
    if row is None or row.columns_parquet is None:
        return None
    return flight_of(row.columns_parquet, row.facts_json)


def drop_unused(connection: Connection) -> int:
    """Recordings no flight refers to any more are taken out; returns how many."""
    used = sa.select(flight.c.recording_sha256)
    done = connection.execute(sa.delete(recording).where(recording.c.sha256.not_in(used)))
    return int(done.rowcount)


def _squeeze(raw: bytes) -> bytes:
    import zstandard

    # On recordings higher levels gain a few per cent and take twice as long. What a row repeats stands in the rows
    # just before it: a table of 256 places finds as much as the usual one and is a fifth quicker.
    how = zstandard.ZstdCompressionParameters.from_level(1, hash_log=8, min_match=7)
    return zstandard.ZstdCompressor(compression_params=how).compress(raw)
