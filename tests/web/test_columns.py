"""A recording whose columns say nothing: pointed at on the page, debriefed at once, kept for the next one like it."""

from __future__ import annotations

import csv
import gzip
import io
import re

import pytest

from airwork.recording.mapping import FILE_NAME
from recording.test_layouts import MADE
from recording.test_mapping import ODD
from recording.writing import table
from web.conftest import RECORDING

# The demo's recording under names that mean nothing to anybody, in its own units: time to the second, UTC.
WANTED = {"a": ("time", ""), "b": ("latitude", "deg"), "c": ("longitude", "deg"), "d": ("indicated_altitude", "ft"),
          "e": ("indicated_airspeed", "mph")}  # fmt: skip
WORDS = ("utc time", "latitude", "longitude", "indicated altitude", "indicated airspeed")


def nameless(rows: int = 1500, day: str = "2025-09-20") -> bytes:
    """The first rows of the demo's recording, five columns of it, named a … e, and one nobody knows.

    Places to a tenth of a degree: finer ones would be known by the way they cover.
    """
    with gzip.open(RECORDING, "rt", encoding="utf-8") as whole:
        lines = [line for _, line in zip(range(rows), whole, strict=False) if not line.startswith("#")]
    table = list(csv.reader(lines))
    head = [name.lower() for name in table[0]]
    at = [next(i for i, name in enumerate(head) if word in name) for word in WORDS]
    out = io.StringIO()
    write = csv.writer(out)
    write.writerow([*WANTED, "q"])
    for row in table[1:]:
        stamp, latitude, longitude, *others = (row[i] for i in at)
        write.writerow([stamp, f"{float(latitude):.1f}", f"{float(longitude):.1f}", *others, 7])
    return out.getvalue().replace("2025-09-20", day).encode()


def bring(browser, raw: bytes, name: str = "unknown.csv") -> str:
    answer = browser.post("/debriefs", {"airplane": "larkmoor_155"}, files={"recording": (name, raw)})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def pointed(page: str, said: dict[str, tuple[str, str]]) -> dict[str, str]:
    """The form as somebody fills it in, by the names of the columns on the page."""
    names = re.findall(r'<h2 id="c(\d+)">([^<]+)</h2>', page)
    out = {}
    for number, name in names:
        what, unit = said.get(name, ("", ""))
        out |= {f"what/{number}": what, f"unit/{number}": unit}
    return out


def test_an_unknown_recording_stays_on_the_desk_and_is_debriefed_as_soon_as_its_columns_are_said(alone, tmp_path):
    at = bring(alone, nameless())
    assert alone.get(at).headers["location"] == f"{at}/columns"
    page = alone.get(f"{at}/columns").text
    assert "tell a flight from this file yet" in page
    assert page.count('class="spark"') >= 4
    assert "say what its columns are" in alone.get("/debriefs").text
    answer = alone.post(f"{at}/columns", pointed(page, WANTED))
    assert answer.headers["location"] == at
    shown = alone.get(at)
    assert shown.status_code == 200
    assert "Slow flight" in shown.text or "Climb" in shown.text or "Takeoff" in shown.text
    flight = alone.get(f"{at}.json").json()
    assert flight
    assert (tmp_path / FILE_NAME).is_file()
    # the next file of that layout is read by itself
    again = bring(alone, nameless(day="2025-09-21"), "next.csv")
    assert alone.get(again).status_code == 200


def test_a_flight_without_its_place_asks_what_the_strange_columns_are(alone):
    told = {"alt_m": "Altitude (m)", "bank_deg": "Roll"}  # enough for a flight, not for where it was
    raw = table(MADE, {told.get(key, name): (key, min(digits, 2)) for name, (key, digits) in ODD.items()})
    at = bring(alone, raw.encode(), "half.csv")
    page = alone.get(at).text
    assert "does not know what Qx, Qy, Qv are" in page
    assert f'href="{at}/columns">say what' in page


@pytest.mark.parametrize(
    ("said", "words"),
    [({**WANTED, "e": ("indicated_airspeed", "ft")}, "no unit of indicated_airspeed"),
     ({**WANTED, "e": ("warp_factor", "")}, "no quantity"), ({}, "")],
)  # fmt: skip
def test_what_can_not_be_is_said_at_its_column_and_nothing_is_kept(alone, tmp_path, said, words: str) -> None:
    at = bring(alone, nameless(300))
    answer = alone.post(f"{at}/columns", pointed(alone.get(f"{at}/columns").text, said))
    assert answer.status_code == 422
    assert words in answer.text.replace("&#39;", "'")
    assert not (tmp_path / FILE_NAME).exists()
    assert alone.get(at).headers["location"] == f"{at}/columns"  # still there


def test_a_good_recording_pointed_wrongly_stays_and_is_put_right(alone, short_csv: bytes) -> None:
    at = bring(alone, short_csv, "good.csv")
    page = alone.get(f"{at}/columns").text
    assert alone.get(at).status_code == 200
    selects = re.findall(r'<select name="(what/\d+)".*?</select>', page, re.S)
    parts = re.split(r'<select name="what/\d+"', page)[1:]
    first = {
        name: found[1] if (found := re.search(r'<option value="(\w+)" selected', part)) else ""
        for name, part in zip(selects, parts, strict=True)
    }
    assert {"time", "latitude", "indicated_airspeed", "rpm"} <= set(first.values())  # what its names say stands there
    time_only = {key: value if value == "time" else "" for key, value in first.items()}
    answer = alone.post(f"{at}/columns", time_only)
    assert answer.status_code == 422
    assert alone.get(at).status_code == 200


def test_a_file_that_is_no_table_is_refused_as_before(alone) -> None:
    answer = alone.post("/debriefs", {}, files={"recording": ("x.csv", b"nothing here")})
    assert answer.status_code == 422
    assert "Nothing yet" in alone.get("/debriefs").text


def test_a_students_pointing_is_for_their_own_recording_only(school, tmp_path) -> None:
    nora = school.as_("Nora Whitlock")
    answer = nora.post("/debriefs", {}, files={"recording": ("mine.csv", nameless(day="2025-11-02"))})
    at = answer.headers["location"]
    answer = nora.post(f"{at}/columns", pointed(nora.get(f"{at}/columns").text, WANTED))
    assert answer.status_code == 303, answer.text
    assert nora.get(at).status_code == 200
    assert not (school.folder / FILE_NAME).exists()
    school.app.state.desk.remove(school.app.state.desk.find(at.rsplit("/", 1)[1]))
