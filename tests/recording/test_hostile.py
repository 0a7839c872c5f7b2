"""Hostile, truncated and random files get one line, never a traceback, never a hang."""

from __future__ import annotations

import gzip
import io
import zipfile
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from airwork.debrief import debrief
from airwork.errors import AirworkError, InputError
from airwork.recording import open_file as of
from airwork.recording import read_flight
from airwork.recording.rolls import first_touch
from airwork.standards import load_standard
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
    assert "no GPX, KML or TCX" in refused(save(tmp_path, "<html><body>x</body></html>"))


def test_thousands_of_columns_are_refused(tmp_path: Path) -> None:
    names = ",".join(f"IAS {k}" for k in range(5_000))
    assert "columns" in refused(save(tmp_path, f"time,{names}\n" + ("1" + ",2" * 5_000 + "\n") * 3))


def test_a_damaged_parquet_is_refused(tmp_path: Path) -> None:
    assert "Parquet" in refused(save(tmp_path, b"PAR1" + b"\x15" * 500 + b"PAR1"))
    assert "Arrow" in refused(save(tmp_path, b"ARROW1\0\0" + b"\x15" * 500))


def test_an_aircraft_named_by_a_span_of_time_names_none(tmp_path: Path) -> None:
    """A column of durations called icao24 (found by fuzzing) ended in the tables' library's own error."""
    columns = {"time": np.arange(90.0) + 1.75e9, "lat": np.linspace(41.0, 41.1, 90), "lon": np.full(90, -101.7),
               "altitude (ft)": np.full(90, 4500.0)}  # fmt: skip
    held = pl.DataFrame(columns).with_columns(pl.lit(timedelta(seconds=5)).alias("icao24"))
    held.write_parquet(tmp_path / "held.parquet")
    assert len(read_flight(tmp_path / "held.parquet")) == 90


def reads_or_refuses(path: Path) -> None:
    """The whole promise: a Flight in order, or one line."""
    try:
        flight = read_flight(path)
    except AirworkError as problem:
        one_line(problem)
        return
    assert np.all(np.diff(flight.time_s) > 0)
    assert all(c.values.shape == flight.time_s.shape for c in flight.columns.values())


SETTINGS = settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


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


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
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


# ---- files that once broke something (issue: a record that can be trusted, "Input"); each in its smallest form


def rows_at(times: list[str]) -> str:
    lines = [f"{t},{50 + k * 4e-4:.6f},10.0,{500 + k % 7}" for k, t in enumerate(times)]
    return "\n".join(["time,latitude,longitude,altitude", *lines]) + "\n"


def test_an_arrow_file_cut_in_its_middle_is_one_line(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """The library panics with something that is no Exception, and writes pages to the standard error meanwhile."""
    box = io.BytesIO()
    pl.DataFrame({"time": np.arange(4000.0), "latitude": np.linspace(50, 51, 4000)}).write_ipc(box)
    whole = box.getvalue()
    for cut in (20_000, 30_000):  # the index at the end then points beyond it
        assert "Arrow" in refused(save(tmp_path, whole[:1_000] + whole[1_000 + cut :], "x.arrow"))
    assert "cut off" in refused(save(tmp_path, whole[:-4], "y.arrow"))
    assert capfd.readouterr().err == ""


def test_an_unknown_encoding_is_one_line(tmp_path: Path) -> None:
    text = gpx().replace('encoding="UTF-8"', 'encoding="x-nothing"')
    text = text if "x-nothing" in text else '<?xml version="1.0" encoding="x-nothing"?>' + text[text.index("<gpx") :]
    assert "encoding" in refused(save(tmp_path, text, "x.gpx"))


def test_a_year_of_no_calendar_leaves_the_time_from_the_start(tmp_path: Path) -> None:
    times = [f"-0999-05-01T10:00:{k:02d}Z" for k in range(50)]
    body = "".join(
        f'<trkpt lat="50.{k:03d}" lon="10"><ele>5</ele><time>{t}</time></trkpt>' for k, t in enumerate(times)
    )
    path = save(tmp_path, f"<gpx><trk><trkseg>{body}</trkseg></trk></gpx>", "x.gpx")
    try:
        flight = read_flight(path)
    except InputError as problem:
        one_line(problem)
        return
    assert np.isnan(flight.start_utc_s) or 1 <= int(str(np.datetime64(int(flight.start_utc_s), "s"))[:4]) <= 9999


def test_flights_years_apart_are_two_flights(tmp_path: Path) -> None:
    """Memory follows the samples: the years between take none."""
    clock = [f"T10:{k // 60:02d}:{k % 60:02d}Z" for k in range(120)]
    for other in ("2016-05-01", "1956-05-01", "2026-05-29"):
        days = ["2026-05-01"] * 100 + [other] * 20
        flight = read_flight(save(tmp_path, rows_at([d + c for d, c in zip(days, clock, strict=True)])))
        assert flight.time_s[-1] < 36 * 3600.0
        assert len(flight) in (100, 120)


def test_hourly_fixes_for_a_month_are_a_coarse_track(tmp_path: Path) -> None:
    times = [f"2026-05-{1 + k // 24:02d}T{k % 24:02d}:00:00Z" for k in range(24 * 30)]
    flight = read_flight(save(tmp_path, rows_at(times)))
    assert len(flight) == 720
    assert flight.step_s == 3600.0
    found = debrief(flight, standard=load_standard("private"))
    assert found.episodes == ()
    assert "coarse track" in found.first[0].text


def test_latitudes_beyond_the_pole_are_no_positions(tmp_path: Path) -> None:
    text = rows_at([f"2026-05-01T10:00:{k:02d}Z" for k in range(60)]).replace(",50.", ",91.")
    flight = read_flight(save(tmp_path, text))
    assert not flight.has("latitude_rad") or not (np.abs(flight["latitude_rad"]) > np.pi / 2).any()


def test_longitudes_without_one_latitude_are_no_fault(tmp_path: Path) -> None:
    text = rows_at([f"2026-05-01T10:00:{k:02d}Z" for k in range(60)]).replace(",50.", ",1e15")
    reads_or_refuses(save(tmp_path, text.replace(",10.0,", ",40.0,", 3)))


def test_a_landing_roll_without_a_height_is_no_fault() -> None:
    """Its middle height was asked for all the same, which ends in a warning of the library."""
    t = np.arange(60.0)
    assert first_touch(t, np.where(t < 40.0, 500.0 - 0.1 * t, np.nan), 40, 60) == 40


@pytest.mark.parametrize("write", ["write_parquet", "write_ipc"])
def test_what_a_small_file_declares_is_looked_at_before_it_is_read(tmp_path: Path, write: str) -> None:
    """570 kB that declared 180 million numbers took 3.4 GB."""
    box = io.BytesIO()
    column = pl.Series([0.0]).new_from_index(0, 14_000_000)
    frame = pl.DataFrame({"time": column, "latitude": column, "longitude": column})
    getattr(frame, write)(box, compression="zstd")
    assert box.tell() < 1_000_000
    assert "declares 14,000,000 rows of 3 columns" in refused(save(tmp_path, box.getvalue()))


def test_a_column_of_categories_is_text_as_any_other(tmp_path: Path) -> None:
    """As other programs write text that repeats; it was taken for numbers, and ended in a fault."""
    text = rows_at([f"2026-05-01T10:{k // 60:02d}:{k % 60:02d}Z" for k in range(90)])
    frame, box = pl.read_csv(io.StringIO(text)), io.BytesIO()
    frame.with_columns(pl.col(frame.columns[0]).cast(pl.Categorical)).write_parquet(box)
    assert len(read_flight(save(tmp_path, box.getvalue()))) == len(read_flight(save(tmp_path, text)))


@pytest.mark.parametrize("kind", [pl.String, pl.Categorical])
@pytest.mark.parametrize("write", ["write_parquet", "write_ipc"])
def test_a_long_text_repeated_in_every_row_is_refused_before_it_is_looked_at(
    tmp_path: Path, write: str, kind: type[pl.DataType]
) -> None:
    """30,000 rows of one text of 100 kB, 3 kB of Parquet, took 6.2 GB."""
    box = io.BytesIO()
    text = pl.Series("time", ["x" * 100_000], dtype=kind).new_from_index(0, 1300)
    getattr(pl.DataFrame({"time": text, "altitude": range(1300)}), write)(box, compression="zstd")
    assert "declares 130 MB of text" in refused(save(tmp_path, box.getvalue()))


def test_a_kind_that_is_dear_to_read_ends_earlier(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(of.LARGEST, "igc", 500)
    assert "of IGC at most" in refused(save(tmp_path, IGC))


def test_a_number_too_large_in_nmea_is_a_broken_sentence(tmp_path: Path) -> None:
    lines = nmea()
    lines[4] = "$GPRMC,121000.00,A,1e999,N,01000.0,E,90,90,010526,,"
    flight = read_flight(save(tmp_path, "\n".join(lines)))
    assert any("wrong checksum or form" in m.what for m in flight.mends)


@pytest.mark.parametrize("kind", ["arrow", "parquet"])
@pytest.mark.parametrize("odd", [pl.Datetime("ms"), pl.Datetime("us", "UTC"), pl.Date])
def test_a_date_no_calendar_has_is_an_empty_cell(tmp_path: Path, kind: str, odd: pl.DataType) -> None:
    """The tables' library panics over one as soon as it is looked at, and a panic is no Exception."""
    counted = (
        pl.Series("time", [3_000_000] * 60, dtype=pl.Int32) if odd == pl.Date else pl.Series("time", [10**18] * 60)
    )
    frame = pl.DataFrame([counted.cast(odd), pl.Series("altitude (ft)", [3000.0 + k for k in range(60)])])
    path = tmp_path / f"beyond.{kind}"
    (frame.write_ipc if kind == "arrow" else frame.write_parquet)(path)
    with pytest.raises(InputError, match="time"):
        read_flight(path)
