"""Opening a recording: its bytes, unpacked within limits, and what kind of file they are; content decides, not name.

Limits keep a hostile file from filling the memory: packed or not, a recording is at most `MAX_BYTES`.
"""

from __future__ import annotations

import hashlib
import re
import zlib
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from io import BytesIO
from pathlib import Path

from airwork.errors import InputError
from airwork.recording.flight import Mend
from airwork.recording.read_workbook import is_workbook, text_of_workbook

MAX_BYTES = 120_000_000  # a 2-hour 10 Hz file with 30 columns is 15 MB
# Where a byte costs more time and memory to read: each keeps within 1 GB and 20 s (bench/attacks.py measures them).
LARGEST = {"gpx": 60_000_000, "kml": 60_000_000, "nmea": 25_000_000, "igc": 30_000_000, "xml": 30_000_000}
MAX_LINE = 1_000_000
_CHUNK = 1 << 20
_KNOWN_OTHERS = {  # what people pick by mistake
    b"%PDF": "a PDF document",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"SQLite format 3": "a database",
    b"\xd0\xcf\x11\xe0": "a spreadsheet or text document of an old kind",
}
_RECORDED = {
    ".csv",
    ".tsv",
    ".txt",
    ".log",
    ".igc",
    ".gpx",
    ".kml",
    ".tcx",
    ".geojson",
    ".nmea",
    ".parquet",
    ".json",
    ".jsonl",
}
_CONTROL = bytes(c for c in range(32) if c not in b"\t\n\r\f\x1a")


@dataclass(frozen=True, slots=True)
class Opened:
    """A recording's content.

    data : unpacked bytes.
    kind : "table", "json", "xml", "igc", "gpx", "kml", "nmea", "parquet" or "arrow".
    original : bytes as they lie on disk.
    mends : what was found at this level.
    """

    where: str
    data: bytes
    kind: str
    packed: str
    size: int
    original: bytes
    mends: tuple[Mend, ...] = field(default=())

    def start_digest(self) -> Future[str]:
        """SHA-256 of the original bytes, worked out beside other work: hashing frees the interpreter."""
        pool = ThreadPoolExecutor(1)
        digest = pool.submit(lambda: hashlib.sha256(self.original).hexdigest())
        pool.shutdown(wait=False)
        return digest


def open_recording(path: Path) -> Opened:
    """Read, unpack and recognize a recording.

    Raises
    ------
    InputError : missing, empty, too large, damaged, or of no kind airwork reads.
    """
    require_readable(path)
    try:
        raw = path.read_bytes()
    except OSError as problem:
        raise _unreadable(path, problem) from None
    return open_bytes(raw, str(path))


def require_readable(path: Path) -> None:
    """A file of a size that is read. InputError for anything else, before a byte of it is."""
    try:
        size = path.stat().st_size
        if not path.is_file():
            said = "is a folder or a device, not a recording; name one file, or a whole folder with debrief --into."
            raise InputError(said, where=str(path))
        if size > MAX_BYTES:
            said = f"is {size / 1e6:,.0f} MB; a recording is at most {MAX_BYTES / 1e6:,.0f} MB."
            raise InputError(said, where=str(path))
    except OSError as problem:
        raise _unreadable(path, problem) from None


def _unreadable(path: Path, problem: OSError) -> InputError:
    said = f"can't be read ({problem.strerror or problem}); check the name and the folder."
    return InputError(said, where=str(path))


def open_bytes(raw: bytes, where: str) -> Opened:
    """The same for bytes already in memory (an upload)."""
    if not raw:
        raise InputError("is empty; nothing was recorded.", where=where)
    for mark, what in _KNOWN_OTHERS.items():
        if raw[:64].startswith(mark):
            raise InputError(f"is {what}, no recording; export the recording as CSV, GPX or IGC.", where=where)
    if raw[8:12] == b".FIT":
        raise InputError("is a FIT recording, which isn't read; export it as GPX, TCX or CSV.", where=where)
    if is_workbook(raw):
        data, mends = text_of_workbook(raw, MAX_BYTES, where)
        return Opened(where, data, "table", "workbook", len(raw), raw, mends)
    data, packed, whole = _unpack(raw, where)
    opened = Opened(where, data, "", packed, len(raw), raw)
    if data[:4] == b"PAR1":
        return replace(opened, kind="parquet")
    if data[:6] == b"ARROW1":
        return replace(opened, kind="arrow")
    data, mends = _text(data, where)
    if not whole:
        mends = (Mend("the packed file is cut off or damaged: what was flown after its end is lost", 1), *mends)
    kind = _text_kind(data, where)
    if len(data) > LARGEST.get(kind, MAX_BYTES):
        raise InputError(
            f"is {len(data) / 1e6:,.0f} MB; of {kind.upper()} at most {LARGEST[kind] / 1e6:,.0f} MB are read.",
            where=where,
        )
    return replace(opened, data=data, mends=mends, kind=kind)


def _unpack(raw: bytes, where: str) -> tuple[bytes, str, bool]:
    """Unpacked bytes, how they were packed, and whether they are whole."""
    if raw[:2] == b"\x1f\x8b":
        data, whole = _gunzip(raw, where)
        return data, "gzip", whole
    if raw[:4] == b"PK\x03\x04":
        return _unzip(raw, where), "zip", True
    return raw, "", True


def _gunzip(raw: bytes, where: str) -> tuple[bytes, bool]:
    parts: list[bytes] = []
    total, rest, whole = 0, raw, True
    while rest[:2] == b"\x1f\x8b":  # a gzip file may hold several members
        unpacker = zlib.decompressobj(31)
        try:
            while not unpacker.eof:
                piece = unpacker.decompress(rest, _CHUNK)
                rest = unpacker.unconsumed_tail
                total += len(piece)
                if total > MAX_BYTES:
                    raise InputError(f"unpacks to more than {MAX_BYTES / 1e6:,.0f} MB; refused.", where=where)
                parts.append(piece)
                if not piece and not rest:
                    whole = False
                    break
        except zlib.error:
            if not total:
                raise InputError("is damaged: the gzip data can't be unpacked.", where=where) from None
            whole = False
            break  # the part before the damage is kept; the reader sees a truncated file
        rest = unpacker.unused_data
    return b"".join(parts), whole


def _unzip(raw: bytes, where: str) -> bytes:
    import zipfile

    try:
        with zipfile.ZipFile(BytesIO(raw)) as archive:
            if "[Content_Types].xml" in archive.namelist() or "content.xml" in archive.namelist():
                raise InputError("is a spreadsheet or text document; save it as CSV first.", where=where)
            members = [
                m
                for m in archive.infolist()
                if not m.is_dir() and not m.filename.startswith("__MACOSX") and m.file_size
            ]
            wanted = [m for m in members if _looks_recorded(m.filename)] or members
            plain = [m for m in wanted if not m.filename.lower().endswith((".txt", ".log"))]
            wanted = plain if len(wanted) > 1 and len(plain) == 1 else wanted  # a note beside it
            if len(wanted) != 1:
                names = ", ".join(m.filename for m in wanted[:4]) or "nothing"
                raise InputError(f"holds {len(wanted)} files ({names}); unpack it and name one recording.", where=where)
            with archive.open(wanted[0]) as member:
                data = member.read(MAX_BYTES + 1)
    except InputError:
        raise
    except Exception:  # zipfile raises many kinds on damaged or encrypted archives
        raise InputError("is a zip file that can't be unpacked (damaged or locked).", where=where) from None
    if len(data) > MAX_BYTES:
        raise InputError(f"unpacks to more than {MAX_BYTES / 1e6:,.0f} MB; refused.", where=where)
    return data


def _looks_recorded(name: str) -> bool:
    return Path(name).suffix.lower() in _RECORDED


def _text(data: bytes, where: str) -> tuple[bytes, tuple[Mend, ...]]:
    """UTF-8 without byte-order mark, unix line ends, no NULs, no endless line."""
    mends: list[Mend] = []
    for mark, codec in (
        (b"\xef\xbb\xbf", "utf-8"),
        (b"\xff\xfe\x00\x00", "utf-32"),
        (b"\xff\xfe", "utf-16"),
        (b"\xfe\xff", "utf-16"),
    ):
        if data.startswith(mark):
            text = data.decode(codec, errors="replace")
            data = text.lstrip("\ufeff").encode("utf-8", errors="replace")
            break
    else:
        if data[1:2] == b"\0" and data[3:4] == b"\0" and data[:1] != b"\0":  # UTF-16 without its mark
            data = data.decode("utf-16-le", errors="replace").encode()
    if b"\0" in data:
        data, mend = _without_nuls(data, where)
        mends.append(mend)
    if not data.isascii():
        try:
            data.decode("utf-8")
        except UnicodeDecodeError:
            data = data.decode(_old_encoding(data), errors="replace").encode()
        data = _usual_signs(data)
    if b"\r" in data[:_CHUNK]:
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n") if b"\r\n" not in data[:_CHUNK] else data
    head = data[:65_536]
    if len(head.translate(None, _CONTROL)) < 0.99 * len(head):
        raise InputError("holds binary data, no text recording; export it as CSV, IGC or GPX first.", where=where)
    if data[:1_024].lstrip()[:1] not in (b"<", b"{", b"["):  # XML and JSON are often one line
        _refuse_endless_line(data, where)
    if not data[:65_536].strip() and not data.strip():
        raise InputError("holds no text; nothing was recorded.", where=where)
    return data, tuple(mends)


def _old_encoding(data: bytes) -> str:
    """Of text that is no UTF-8: western where its letters stand alone (°, é), else what its words look like."""
    strange = b"\n".join(line for line in data[:262_144].split(b"\n")[:500] if not line.isascii())[:20_000]
    if not re.search(rb"[\x80-\xff]{2}", strange):
        return "cp1252"
    from charset_normalizer import from_bytes

    best = from_bytes(strange).best()
    return best.encoding if best is not None else "cp1252"


def _usual_signs(data: bytes) -> bytes:
    """Typographic minus signs, digits of other scripts and the lines of drawn tables as the usual characters."""
    if not _SIGNS.search(data[:_CHUNK].decode("utf-8", errors="replace")):
        return data
    text = data.decode("utf-8", errors="replace").translate(_USUAL)
    return "\n".join(line for line in text.split("\n") if not _RULED.fullmatch(line)).encode()


# Minus and plus signs, the Arabic decimal and thousands marks, uprights of drawn tables; digits of other scripts.
_USUAL: dict[int, str] = dict.fromkeys((0x2212, 0x2010, 0x2011, 0xFF0D), "-")
_USUAL |= {0xFF0B: "+", 0x066B: ".", 0x066C: "", **dict.fromkeys((0x2502, 0x2503, 0x2551), "|")}
_USUAL |= {base + k: str(k) for base in (0x660, 0x6F0, 0x966, 0xE50, 0xFF10) for k in range(10)}
_SIGNS = re.compile(f"[{''.join(map(chr, _USUAL))}]")
_RULED = re.compile(r"[\s|\u2500-\u257f]*[\u2500-\u257f][\s|\u2500-\u257f]*")


def _without_nuls(data: bytes, where: str) -> tuple[bytes, Mend]:
    """A recorder that lost power leaves a tail of NULs; a file full of them is no recording."""
    kept = data.replace(b"\0", b"")
    lost = len(data) - len(kept)
    if len(data.rstrip(b"\0")) - len(kept) > 0.02 * len(kept) or len(kept) < 20:
        raise InputError(
            "holds binary data (NUL bytes), no text recording; export it as CSV, IGC or GPX first.", where=where
        )
    return kept, Mend(f"{lost} NUL bytes left out (a recorder that lost power writes them)", lost)


def _refuse_endless_line(data: bytes, where: str) -> None:
    place = 0
    while place + MAX_LINE < len(data):
        found = data.rfind(b"\n", place, place + MAX_LINE)
        if found < 0:
            raise InputError(f"has a line longer than {MAX_LINE:,} characters; no recording looks so.", where=where)
        place = found + 1


_IGC = re.compile(rb"(?m)^B\d{6}\d{7}[NS]\d{8}[EW][AV]")
_NMEA = re.compile(rb"(?m)^[^$!\n]{0,200}\$[A-Z]{2}(?:RMC|GGA|GNS|VTG|GLL|GSA|GSV|ZDA),")
_SENTENCE = re.compile(rb"^[^$!]{0,200}[$!][A-Z]{5},.*\*[0-9A-Fa-f]{2}\s*$")


def _only_sentences(head: bytes) -> bool:
    """Each line ends in a sentence with its checksum, though one alone tells a place."""
    lines = [line for line in head.split(b"\n") if line.strip()]
    whole = lines[:-1] if len(lines) > 1 else lines  # the last may be cut
    return bool(whole) and all(map(_SENTENCE.match, whole))


def _text_kind(data: bytes, where: str) -> str:
    head = data[:65_536].lstrip()
    if head.startswith(b"<"):
        for root, kind in (("gpx", "gpx"), ("kml", "kml"), ("TrainingCenterDatabase", "gpx")):
            if re.search(rb"<(?:\w+:)?%s[\s>]" % root.encode(), head):
                return kind
        return "xml"
    if head[:1] in (b"{", b"[") and re.match(rb"[\[{]\s*[\[{\"\]}]", head):
        return "json"
    if b"B" in head and _IGC.search(head):
        return "igc"
    if b"$" in head and ((fixes := len(_NMEA.findall(head))) >= 2 or (fixes and _only_sentences(head))):
        return "nmea"
    return "table"
