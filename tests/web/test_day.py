"""The day without a terminal: a new lesson from what the logbook would fly next, the area as text, what if."""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from pathlib import Path
from urllib.parse import urlencode

import pytest

from airwork.errors import InputError, Where
from airwork.jobs.briefing import brief_lesson
from airwork.lesson.file import parse_lesson
from airwork.web.area_text import corners_text, places_text, read_corners, read_places
from airwork.web.lesson_form import read_form

LESSON = "stalls_over_the_lake"
HERE = Where("", "area", dotted=True)


def _text(folder: Path) -> str:
    return (folder / "lessons" / f"{LESSON}.toml").read_text(encoding="utf-8")


def test_corners_and_places_stand_as_text_and_come_back_the_same(alone, tmp_path: Path) -> None:
    area = tomllib.loads(_text(tmp_path))["area"]
    assert read_corners(corners_text(area["polygon"]), HERE) == area["polygon"]
    assert read_places(places_text(area["landing_places"]), HERE) == area["landing_places"]
    lit = [{"name": "mill", "position": [41.123456, -101.5], "lit": True}]
    assert read_places(places_text(lit), HERE) == lit


@pytest.mark.parametrize(
    ("text", "said"),
    [("41.2 -101; 41.3 -101", "three corners"), ("41,2 -101,5; a b; 1 2", "expected latitude"),
     ("91 0; 1 1; 2 2", "nowhere on Earth"), ("-101.9 41.2; 1 1; 2 2", "latitude")],
)  # fmt: skip
def test_corners_that_are_none_are_said(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_corners(text, HERE)


def test_an_area_pointed_is_written_into_the_file_and_takes_a_circle_s_place(alone, tmp_path: Path) -> None:
    path = tmp_path / "lessons" / f"{LESSON}.toml"
    text = re.sub(r"polygon = .*", 'center = [41.38, -101.8]\nradius = "6 NM"', _text(tmp_path))
    path.write_text(text, encoding="utf-8")
    asked = {"lesson": LESSON, "area/polygon": "41.2 -101.9; 41.4 -101.9; 41.4 -101.6; 41.2 -101.6",
             "area/landing_places": "meadow: 41.3 -101.8, 3,650 ft"}  # fmt: skip
    assert alone.post("/today/save", {"lesson": LESSON, "query": urlencode(asked)}).status_code == 303
    area = tomllib.loads(path.read_text(encoding="utf-8"))["area"]
    assert area["polygon"] == [[41.2, -101.9], [41.4, -101.9], [41.4, -101.6], [41.2, -101.6]]
    assert not {"center", "radius"} & set(area)
    assert area["landing_places"] == [{"name": "meadow", "position": [41.3, -101.8], "elevation": "3,650 ft"}]
    assert area["name"] == "North shore"


def test_a_value_that_can_not_be_read_stays_as_typed_with_its_words(alone) -> None:
    page = alone.get("/", params={"lesson": LESSON, "area/polygon": "here and there", "time": "10:10"}).text
    assert "here and there</textarea>" in page
    assert 'value="10:10"' in page
    assert re.search(r'said here">[^<]*expected latitude', page)


def test_what_if_is_the_briefing_of_a_file_with_those_values(alone, tmp_path: Path) -> None:
    """+10 °C and −5 gal typed into the file give the numbers the sliders show."""
    asked = {"lesson": LESSON, "new/if/temperature": "10", "new/if/fuel": "-5", "new/if/weight": "50",
             "new/if/station": "baggage"}  # fmt: skip
    shown = alone.get("/today/what-if", params=asked).text
    text = _text(tmp_path).replace("[weather]", '[weather]\ntemperature = "27 °C"')
    text = text.replace('"18 gal"', '"15.5 gal"').replace('"16.5 gal"', '"14 gal"').replace('"22 lb"', '"72 lb"')
    b = brief_lesson(parse_lesson(text, where="lesson", folder=tmp_path / "lessons"))
    assert f"<b>{b.style.altitude(b.weather.density_altitude_m)}</b>" in shown
    assert f"<b>{b.style.mass(b.balance.points[0].mass_kg)}</b>" in shown
    assert f"<b>{b.style.fuel(b.fuel.aboard_m3)}</b>" in shown
    assert f"<b>{b.style.runway(b.runway.takeoff.needed_m)}</b>" in shown


@pytest.mark.parametrize(
    ("more", "said"),
    [({"new/if/fuel": "-90"}, "less than nothing"), ({"new/if/temperature": "x"}, "expected a number"),
     ({"new/if/weight": "-60", "new/if/station": "rear seats"}, "nothing sits there"),
     ({"new/if/fuel": "90"}, "more than it holds")],
)  # fmt: skip
def test_a_change_that_can_not_be_is_said(alone, more: dict[str, str], said: str) -> None:
    assert said in alone.get("/today/what-if", params={"lesson": LESSON, **more}).text


def test_who_a_new_lesson_is_for_is_chosen_without_losing_what_is_typed(school) -> None:
    typed = {"date": "2027-01-05", "time": "10:00", "title": "Stalls, again", "airport": "KXYZ", "units": "metric"}
    page = school.as_("Emmett Dray").get("/lessons/new", params={"student": school.jan, **typed}).text
    for name in ("date", "time", "title", "airport"):
        assert re.search(rf'name="{name}" value="{typed[name]}"', page), name
    assert '<option value="metric" selected>' in page
    assert f'value="{school.jan}" selected' in page
    without_scripts = school.as_("Emmett Dray").get("/lessons/new?on=2027-01-05").text
    assert 'name="on" value="2027-01-05"' in without_scripts  # goes along with "take"


def test_a_new_lesson_flies_what_the_logbook_would_fly_next(school) -> None:
    teacher = school.as_("Emmett Dray")
    bare = teacher.get(f"/lessons/new?student={school.jan}").text
    assert 'name="fly"' in bare
    assert not re.findall(r'name="fly" value="(\w+)" checked', bare)  # ticked by who asks for these
    page = teacher.get(f"/lessons/new?student={school.jan}&these=yes").text
    wanted = re.findall(r'name="fly" value="(\w+)" checked', page)
    assert wanted
    sent = {"student": school.jan, "date": "2027-01-05", "time": "10:00", "begin": LESSON, "fly": wanted}
    answer = teacher.post("/lessons/new", sent)
    assert answer.status_code == 303, answer.text
    key = answer.headers["location"].rpartition("=")[2]
    path = school.folder / "lessons" / f"{key}.toml"
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    path.unlink()
    assert [e["kind"] for e in data["exercises"]] == wanted
    assert data["student"] == {
        "name": "Jan Ruiz",
        "certificate": "private",
    }  # as the logbook says, not the lesson before
    assert data["instructor"]["name"] == "Emmett Dray"
    assert data["people"][0]["weight"] == "FILL IN"
    assert data["date"] == dt.date(2027, 1, 5)


def test_an_empty_lesson_is_begun_from_an_airport_and_nothing_is_written_over(alone, tmp_path: Path) -> None:
    sent = {"begin": "", "airplane": "larkmoor_155", "airport": "KOGA", "zone": "America/Denver", "name": "Kit Moor"}
    first, second = (alone.post("/lessons/new", {**sent, "date": "2027-01-05"}) for _ in range(2))
    assert [a.headers["location"] for a in (first, second)] == [
        "/?lesson=2027-01-05_Kit_Moor", "/?lesson=2027-01-05_Kit_Moor_2",
    ]  # fmt: skip
    other = alone.post("/lessons/new", {**sent, "date": "2027-01-05", "name": "Ægir Ørsted-Łódź Groß"})
    assert other.headers["location"] == "/?lesson=2027-01-05_AEgir_Orsted-Lodz_Gross"
    page = alone.get(first.headers["location"]).text
    assert page.count('<p class="said here">') >= 4  # two weights, the bags, the tanks: each beside its field
    assert "&#34;KOGA&#34;" in page or '"KOGA"' in page  # the map is there to point the area on
    half = {"lesson": "2027-01-05_Kit_Moor", "area/name": "north"}
    assert alone.get("/", params=half).text.count('here">still empty') == 3  # ground, floor and ceiling, at once
    heights = {"area/ground": "3,700 ft", "area/floor": "4,300 ft", "area/ceiling": "8,500 ft"}
    shapeless = alone.get("/", params=half | heights).text
    assert 'here">the area needs its edge.<' in shapeless
    assert "polygon =" not in shapeless
    bad = alone.post("/lessons/new", {**sent, "airport": "", "date": "2027-01-05"})
    assert bad.status_code == 422
    assert "From which airport" in bad.text or "from which airport" in bad.text


def test_a_student_writes_no_lesson(school) -> None:
    student = school.as_("Nora Whitlock")
    assert student.get("/lessons/new").status_code == 403
    assert student.post("/lessons/new", {"begin": LESSON}).status_code == 403


def test_today_opens_on_todays_lesson_whatever_was_changed_last(alone, tmp_path: Path) -> None:
    day = dt.datetime.now(dt.UTC).date()
    for name, on in (("now", day), ("later", day + dt.timedelta(9)), ("old", day - dt.timedelta(9))):
        text = _text(tmp_path).replace("2025-09-20", on.isoformat()).replace("America/Denver", "UTC")
        (tmp_path / "lessons" / f"{name}.toml").write_text(text, encoding="utf-8")
    assert 'name="lesson" value="now"' in alone.get("/").text
    assert "9 days ago" in alone.get("/?lesson=old").text
    assert "days ago" not in alone.get("/?lesson=later").text


def test_the_form_moves_a_row_to_the_place_it_is_dropped_at() -> None:
    from airwork.web.lesson_rows import done

    data = {"exercises": [{}, {}, {}, {}]}
    assert done(data, {}, "exercises/3/to/0")["exercises"] == "3,0,1,2"
    assert done(data, {}, "exercises/0/to/2")["exercises"] == "1,2,0,3"
    assert "exercises" not in done(data, {}, "exercises/1/to/1")


def test_a_form_of_something_else_stands_all_the_same() -> None:
    form = read_form('area = 3\npeople = "nobody"\n', {"area/name": "x"})
    assert all(g.title != "Practice area" for g in form.groups)
