"""Hostile, truncated and random files get one line, never a traceback, never a hang."""

from __future__ import annotations

import gzip
import io
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from airwork.errors import AirworkError, InputError
from airwork.recording import open_file as of
from airwork.recording import read_flight
from recording.test_formats import MADE, gpx, kml, nmea
from recording.writing import FULL, save, table

CSV = table(MADE, FULL).encode()
IGC = (Path(__file__).parents[1] / "sources" / "recordings" / "fai_appendix_a.igc").read_bytes()
GOOD = {"csv": CSV, "igc": IGC, "gpx": gpx().encode(), "kml": kml().encode(), "nmea": "\n".join(nmea()).encode()}


def one_line(problem: AirworkError) -> None:
    assert "\n" not in str(problem)


def refused(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_flight(path)
    line = str(caught.value)
    assert "\n" not in line
    assert line.startswith(str(path))
    return line


def test_an_empty_file_a_folder_and_a_missing_file(tmp_path: Path) -> None:
    assert "empty" in refused(save(tmp_path, b""))
    assert "folder" in refused(tmp_path)
    assert "can't be read" in refused(tmp_path / "nowhere.csv")


def test_a_gzip_bomb_is_refused_early(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(of, "MAX_BYTES", 3_000_000)
    assert "unpacks to more than 3 MB" in refused(save(tmp_path, gzip.compress(b"1,2,3\n" * 1_000_000)))


def test_a_zip_bomb_is_refused_early(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(of, "MAX_BYTES", 3_000_000)
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.csv", b"0" * 20_000_000)
    assert "unpacks to more than" in refused(save(tmp_path, box.getvalue()))


def test_a_file_larger_than_any_recording_is_not_even_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.truncate(of.MAX_BYTES + 1)  # sparse: takes no room
    assert "at most" in refused(path)


def test_a_zip_of_several_recordings_asks_for_one(tmp_path: Path) -> None:
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w") as archive:
        archive.writestr("a.csv", CSV)
        archive.writestr("b.csv", CSV)
    assert "holds 2 files (a.csv, b.csv)" in refused(save(tmp_path, box.getvalue()))


def test_an_endless_line_is_refused(tmp_path: Path) -> None:
    assert "line longer than" in refused(save(tmp_path, CSV + b"7" * 5_000_000))


def test_nuls_at_the_end_are_a_lost_battery_nuls_everywhere_are_no_text(tmp_path: Path) -> None:
    flight = read_flight(save(tmp_path, CSV + b"\0" * 70_000))
    assert len(flight) == MADE.time_s.size
    assert any("NUL" in m.what for m in flight.mends)
    assert "binary data" in refused(save(tmp_path, b"\0" * 100_000))
    assert "binary data" in refused(save(tmp_path, bytes(range(256)) * 100))


@pytest.mark.parametrize("packer", [gzip.compress, lambda raw: raw])
def test_a_truncated_file_keeps_its_beginning_or_says_why(tmp_path: Path, packer: Callable[[bytes], bytes]) -> None:
    raw = packer(CSV)
    flight = read_flight(save(tmp_path, raw[: int(len(raw) * 0.7)]))
    assert len(flight) > 0.5 * MADE.time_s.size
    for keep in (3, 20, 60):
        try:
            read_flight(save(tmp_path, raw[:keep]))
        except InputError as problem:
            one_line(problem)


def test_a_file_of_prose_and_one_of_numbers_only(tmp_path: Path) -> None:
    assert "no row of column names" in refused(save(tmp_path, "The quick brown fox.\nIt jumps.\n" * 50))
    assert "no column tells the time" in refused(save(tmp_path, "1,2,3\n4,5,6\n7,8,9\n" * 20))
    assert "neither GPX nor KML" in refused(save(tmp_path, "<html><body>x</body></html>"))


def test_thousands_of_columns_are_refused(tmp_path: Path) -> None:
    names = ",".join(f"IAS {k}" for k in range(5_000))
    assert "columns" in refused(save(tmp_path, f"time,{names}\n" + ("1" + ",2" * 5_000 + "\n") * 3))


def test_a_damaged_parquet_is_refused(tmp_path: Path) -> None:
    assert "Parquet" in refused(save(tmp_path, b"PAR1" + b"\x15" * 500 + b"PAR1"))
    assert "Arrow" in refused(save(tmp_path, b"ARROW1\0\0" + b"\x15" * 500))


def reads_or_refuses(path: Path) -> None:
    """The whole promise: a Flight in order, or one line."""
    try:
        flight = read_flight(path)
    except AirworkError as problem:
        one_line(problem)
        return
    assert np.all(np.diff(flight.time_s) > 0)
    assert all(c.values.shape == flight.time_s.shape for c in flight.columns.values())


SETTINGS = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@SETTINGS
@given(st.binary(max_size=3_000))
def test_any_bytes(tmp_path: Path, raw: bytes) -> None:
    reads_or_refuses(save(tmp_path, raw, "x"))


@pytest.mark.parametrize("kind", sorted(GOOD))
@SETTINGS
@given(data=st.data())
def test_good_files_with_bytes_changed(tmp_path: Path, kind: str, data: st.DataObject) -> None:
    raw = bytearray(GOOD[kind][:20_000])
    for _ in range(data.draw(st.integers(1, 12))):
        at = data.draw(st.integers(0, len(raw) - 1))
        raw[at : at + data.draw(st.integers(0, 6))] = data.draw(st.binary(max_size=8))
    reads_or_refuses(save(tmp_path, bytes(raw), "x"))


CELL = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True).map(str), st.integers(-(10**20), 10**20).map(str),
    st.sampled_from(["", "-", "NaN", "1e308", "-1e308", "0", "12:00:00", "2026-05-28", "on", "LEFT", '"', "9" * 400]),
    st.text(st.characters(blacklist_categories=("Cs",), blacklist_characters="\n\r"), max_size=8),
)  # fmt: skip
NAMES = st.sampled_from([
    "time", "date", "UTC Time", "Lat", "Lon", "Latitude (deg)", "Altitude (ft)", "GPS Altitude (m)", "IAS (kt)", "GS",
    "TRK",
    "HDG", "Roll", "Pitch", "VS", "OAT", "RPM", "MAP", "Fuel L", "flap", "tank", "NormAc", "a_x", "a_y", "a_z",
    "on ground",
    "wind speed", "wind direction", "EGT1", "UTC Offset", "elapsed",
])  # fmt: skip


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(names=st.lists(NAMES, min_size=2, max_size=12), rows=st.integers(2, 60), data=st.data())
def test_any_cells_under_known_names(tmp_path: Path, names: list[str], rows: int, data: st.DataObject) -> None:
    """Extreme, absurd and mixed cells: half of the rows count up so that a time can be found."""
    lines = [",".join(names)]
    pool = data.draw(st.lists(CELL, min_size=4, max_size=24))
    for k in range(rows):
        row = [str(k * (j + 1)) if (k + j) % 3 else pool[(k * 7 + j) % len(pool)] for j in range(len(names))]
        lines.append(",".join(row))
    reads_or_refuses(save(tmp_path, "\n".join(lines) + "\n"))


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b'{"type": "FeatureCollection", "features": []}', "JSON"),
        (b"%PDF-1.7\n1 0 obj", "PDF"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "picture"),
        (b"SQLite format 3\0\x10\0", "database"),
    ],
)
def test_files_picked_by_mistake_are_named(tmp_path: Path, content: bytes, word: str) -> None:
    with pytest.raises(InputError, match=word) as problem:
        read_flight(save(tmp_path, content, "x.csv"))
    one_line(problem.value)


def test_a_spreadsheet_is_named(tmp_path: Path) -> None:
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w") as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("xl/workbook.xml", "<workbook/>")
    with pytest.raises(InputError, match="save it as CSV"):
        read_flight(save(tmp_path, box.getvalue(), "x.xlsx"))
