"""A spreadsheet's workbook reads like the CSV of its sheet. Made by hand after ECMA-376, from memory."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np
import pytest

from airwork.errors import InputError
from airwork.recording import read_flight
from recording.made_flight import START_UTC_S, lesson
from recording.writing import GET, save

pytestmark = pytest.mark.usefixtures("columns_alone")

MADE = lesson(1_500.0, 1.0)
_DAY, _SPAN = 25_569.0, 86_400.0  # 1970-01-01 in days from 1899-12-30
_OF = "http://schemas.openxmlformats.org"
_MAIN, _RELS = f'xmlns="{_OF}/spreadsheetml/2006/main"', f"{_OF}/officeDocument/2006/relationships"


def column(k: int) -> str:
    return chr(65 + k)


def cell(k: int, row: int, value: str | float, style: int = 0) -> str:
    if isinstance(value, str):
        return f'<c r="{column(k)}{row}" t="inlineStr"><is><t>{escape(value)}</t></is></c>'
    return f'<c r="{column(k)}{row}" s="{style}"><v>{value!r}</v></c>'


def workbook(sheets: dict[str, list[list[str | float]]], styles: tuple[int, ...] = ()) -> bytes:
    """styles : of each column: 0 plain, 1 date and time, 2 date, 3 time."""
    formats = "".join(f'<xf numFmtId="{n}"/>' for n in (0, 22, 14, 21))
    names = "".join(f'<sheet name="{n}" sheetId="{k}" r:id="r{k}"/>' for k, n in enumerate(sheets, 1))
    links = "".join(
        f'<Relationship Id="r{k}" Type="{_RELS}/worksheet" Target="worksheets/s{k}.xml"/>'
        for k in range(1, len(sheets) + 1)
    )
    links += f'<Relationship Id="st" Type="{_RELS}/styles" Target="styles.xml"/>'
    relations = f'xmlns="{_OF}/package/2006/relationships"'
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{_OF}/package/2006/content-types"/>',
        "_rels/.rels": f'<Relationships {relations}><Relationship Id="w" Type="{_RELS}/officeDocument" '
        'Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook {_MAIN} xmlns:r="{_RELS}"><sheets>{names}</sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f"<Relationships {relations}>{links}</Relationships>",
        "xl/styles.xml": f"<styleSheet {_MAIN}><cellXfs>{formats}</cellXfs></styleSheet>",
    }
    for k, rows in enumerate(sheets.values(), 1):
        text = ""
        for r, row in enumerate(rows, 1):
            styled = enumerate(zip(row, (*styles, *[0] * len(row)), strict=False))
            text += f'<row r="{r}">{"".join(cell(c, r, v, s) for c, (v, s) in styled if v != "")}</row>'
        parts[f"xl/worksheets/s{k}.xml"] = f"<worksheet {_MAIN}><sheetData>{text}</sheetData></worksheet>"
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts.items():
            archive.writestr(name, text)
    return out.getvalue()


def moments() -> list[float]:
    return [_DAY + (START_UTC_S + t) / _SPAN for t in MADE.time_s.tolist()]


def track(when: list[list[float]]) -> list[list[str | float]]:
    places = [GET[k](MADE).round(7).tolist() for k in ("lat_deg", "lon_deg", "alt_ft", "gs_kt")]
    return [[*at, *row] for at, row in zip(when, zip(*places, strict=True), strict=True)]  # type: ignore[list-item]


def is_made(path: Path) -> None:
    flight = read_flight(path)
    assert len(flight) == MADE.time_s.size
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=0.6)
    np.testing.assert_allclose(flight["latitude_rad"], MADE.latitude_rad, atol=2e-7)
    np.testing.assert_allclose(flight["altitude_m"], MADE.altitude_m, atol=0.1)


def test_a_workbook_reads_like_its_sheet_as_csv(tmp_path: Path) -> None:
    """The sheet with the track among others; a moment in one cell."""
    rows = [
        ["UTC time", "Latitude", "Longitude", "Altitude (ft)", "Ground speed (kt)"],
        *track([[m] for m in moments()]),
    ]
    notes = [["Flight", "Student", "Remark"], *([f"{k}", "N", "pattern"] for k in range(2_000))]
    is_made(save(tmp_path, workbook({"Notes": notes, "Track": rows}, (1,)), "flight.xlsx"))
    said = [m.what for m in read_flight(tmp_path / "flight.xlsx").mends]
    assert any("'Track' is read" in what and "'Notes'" in what for what in said)


def test_day_and_clock_apart_under_merged_names(tmp_path: Path) -> None:
    """Of a merged cell the first alone holds its words."""
    when = [[float(int(m)), m % 1.0] for m in moments()]
    names: list[list[str | float]] = [
        ["When", "", "Position", "", "Altitude", "Speed"], ["Date", "Time UTC", "Lat", "Lon", "ft", "GS kt"]
    ]  # fmt: skip
    is_made(save(tmp_path, workbook({"Sheet1": [*names, *track(when)]}, (2, 3)), "flight.bin"))


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (workbook({"Empty": []}), "without rows"),
        (
            workbook({"Far": [["time", "lat", "lon"], [1.0, 2.0, 3.0]]}).replace(
                b"xl/workbook.xml", b"xl/workbook.xxx"
            ),
            "save",
        ),
        (workbook({"A": [["time", "lat"], [1.0, 2.0], [2.0, 2.0]]})[:900], "open|unpacked"),
    ],
)
def test_what_is_no_recording_is_refused_in_one_line(tmp_path: Path, data: bytes, words: str) -> None:
    with pytest.raises(InputError, match=words) as found:
        read_flight(save(tmp_path, data, "x.xlsx"))
    assert "\n" not in str(found.value)


def test_a_cell_far_away_takes_no_memory(tmp_path: Path) -> None:
    """Its sheet would have 17 billion cells."""
    rows = [["time", "lat", "lon"], [1.0, 2.0, 3.0], [2.0, 2.0, 3.0]]
    data = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook({"Far": rows}))) as old, zipfile.ZipFile(data, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b'r="C3"', b'r="XFD1048576"'))
    with pytest.raises(InputError, match="larger than any recording"):
        read_flight(save(tmp_path, data.getvalue(), "far.xlsx"))
