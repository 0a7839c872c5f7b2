"""The lesson as a form: what is changed is asked of the core, and the page shows what the core says."""

from __future__ import annotations

import re
import tomllib
from datetime import datetime, timedelta
from html import unescape
from pathlib import Path
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

import pytest

from airwork.airplane import load_airplane
from airwork.errors import InputError
from airwork.lesson.file import load_lesson
from airwork.lesson.plan import build_briefing
from airwork.web.folder import Entry
from airwork.web.lesson_form import read_form
from airwork.web.which_lesson import newest
from web.conftest import DEMO

LESSON = "stalls_over_the_lake"
LESSON_TEXT = (DEMO / "lessons" / f"{LESSON}.toml").read_text(encoding="utf-8")


def _changed(**fields: str) -> dict[str, str]:
    return {"lesson": LESSON, **{k.replace("__", "/"): v for k, v in fields.items()}}


def test_the_pages_numbers_are_the_cores(alone, tmp_path: Path) -> None:
    """The JSON twin is the briefing `airwork brief` makes of the same file."""
    path = tmp_path / "lessons" / f"{LESSON}.toml"
    lesson = load_lesson(path, {"temperature": "31 °C"})
    expected = build_briefing(lesson, load_airplane(lesson.airplane_path)).as_json()
    found = alone.get("/today.json", params=_changed(weather__temperature="31 °C")).json()
    assert found["weather"]["density_altitude_m"] == expected["weather"]["density_altitude_m"]
    assert found["runway"] == expected["runway"]
    assert found["fuel"] == expected["fuel"]
    assert [r["level"] for r in found["verdict"]["reasons"]] == [r["level"] for r in expected["verdict"]["reasons"]]


@pytest.mark.parametrize(
    ("field", "value", "moved"),
    [
        ("weather/temperature", "36 °C", lambda b: b["weather"]["density_altitude_m"]),
        ("people/0/weight", "248 lb", lambda b: b["balance"]["points"][0]["mass_kg"]),
        ("fuel/left wing", "10 gal", lambda b: b["fuel"]["aboard_m3"]),
        ("exercises/0/altitude", "7,500 ft", lambda b: b["exercises"][0]["set_up"]["entry_altitude_m"]),
        ("exercises/0/target/flaps", "0", lambda b: b["exercises"][0]["set_up"]["targets"]),
        ("exercises/3/target/bank", "50 deg", lambda b: b["exercises"][5]["set_up"]["targets"]),
        ("weather/wind", "260/25G34 kt", lambda b: b["verdict"]["reasons"]),
        ("time", "10:30", lambda b: b["start_utc_s"]),
    ],
)
def test_a_change_of_a_field_changes_the_briefing(alone, field: str, value: str, moved) -> None:
    before = alone.get("/today.json", params={"lesson": LESSON}).json()
    after = alone.get("/today.json", params={"lesson": LESSON, field: value}).json()
    assert moved(before) != moved(after)


@pytest.mark.parametrize("typed", ["17 1/2", "17½", "17 ½ gal", "17 1/2 gal"])
def test_a_dipstick_s_half_is_a_half(alone, typed: str) -> None:
    """With a unit or without one, as where airplanes are typed: 17.5."""
    half, same = (
        alone.get("/today.json", params={"lesson": LESSON, "fuel/left wing": t}).json()
        for t in (typed, typed.replace(" 1/2", ".5").replace(" ½", ".5").replace("½", ".5"))
    )
    assert half["fuel"]["aboard_m3"] == same["fuel"]["aboard_m3"]


def test_the_address_is_the_state_and_the_file_stays(alone, tmp_path: Path) -> None:
    path = tmp_path / "lessons" / f"{LESSON}.toml"
    before = path.read_bytes()
    page = alone.get("/", params=_changed(weather__temperature="36 °C")).text
    assert 'value="36 °C"' in page
    assert path.read_bytes() == before


def test_a_wrong_value_is_said_beside_its_field_and_keeps_what_was_typed(alone) -> None:
    page = alone.get("/", params=_changed(people__1__weight="heavy")).text
    assert 'value="heavy"' in page
    field = page[page.index('name="people/1/weight"') :][:300]
    assert 'aria-invalid="true"' in field
    assert "weight of Emmett Dray: can&#39;t read" in page
    assert re.search(r'<p class="said here">can&#39;t read', page)  # in words beside it, scripts or not
    answer = alone.get("/today/numbers.json", params=_changed(people__1__weight="heavy")).json()
    assert list(answer["at"]) == ["people/1/weight"]
    assert "heavy" in answer["problem"]


@pytest.mark.parametrize(
    "value", ["<script>alert(1)</script>", '"><img src=x>', "☃" * 300, "1e999 ft", "-5 ft", "nan ft"]
)
def test_nonsense_in_a_field_is_words_not_markup_and_not_a_fault(alone, value: str) -> None:
    for field in ("exercises/0/altitude", "weather/wind", "date", "exercises/0/times", "people/0/weight"):
        answer = alone.get("/", params={"lesson": LESSON, field: value})
        assert answer.status_code == 200
        assert "<script>alert" not in answer.text
        assert "<img src=x>" not in answer.text
        assert "fault in airwork" not in answer.text


def test_saving_writes_the_changes_and_keeps_the_files_comments(alone, tmp_path: Path) -> None:
    path = tmp_path / "lessons" / f"{LESSON}.toml"
    query = "lesson=stalls_over_the_lake&weather%2Ftemperature=21+%C2%B0C&exercises%2F1%2Ftimes=3"
    assert alone.post("/today/save", {"lesson": LESSON, "query": query}).status_code == 303
    text = path.read_text(encoding="utf-8")
    data = tomllib.loads(text)
    assert data["weather"]["temperature"] == "21 °C"
    assert data["exercises"][1]["times"] == 3
    assert "# from the offline airport data" in text


def test_writing_says_what_changed_once(alone, tmp_path: Path) -> None:
    query = f"lesson={LESSON}&people%2F0%2Fweight=150+lb&weather%2Ftemperature=21+%C2%B0C"
    assert alone.post("/today/save", {"lesson": LESSON, "query": query}).status_code == 303
    first, second = (alone.get("/", params={"lesson": LESSON}).text for _ in range(2))
    said = re.search(r'role="status">(Written: [^<]*)<', first)
    assert said
    assert re.search(r"\d+ lb → 150 lb", said[1])
    assert "Written: temperature 21 °C;" in said[1]  # there was none
    assert "Written:" not in second


def test_an_edit_in_another_window_is_told_and_neither_is_lost(alone, tmp_path: Path) -> None:
    """The whole form is sent: the old temperature in it is not this window's change, the weight is."""
    path = tmp_path / "lessons" / f"{LESSON}.toml"
    read = re.search(r'name="read" value="([^"]+)"', alone.get("/", params={"lesson": LESSON}).text)
    assert read
    other = {"lesson": LESSON, "query": f"lesson={LESSON}&weather%2Ftemperature=21+%C2%B0C", "read": read[1]}
    assert alone.post("/today/save", other).status_code == 303
    between = path.read_bytes()
    before = tomllib.loads(LESSON_TEXT)["weather"].get("temperature", "")
    query = {"lesson": LESSON, "people/0/weight": "150 lb", "weather/temperature": before}
    mine = {"lesson": LESSON, "query": urlencode(query), "read": read[1]}
    answer = alone.post("/today/save", mine)
    assert answer.status_code == 409
    assert "was changed meanwhile" in answer.text
    assert path.read_bytes() == between
    assert 'name="people/0/weight" value="150 lb"' in answer.text
    assert 'name="weather/temperature" value="21 °C"' in answer.text
    again = {n: unescape(re.search(rf'name="{n}"[^>]* value="([^"]*)"', answer.text)[1]) for n in ("query", "read")}
    assert alone.post("/today/save", {"lesson": LESSON, **again}).status_code == 303
    after = tomllib.loads(path.read_text(encoding="utf-8"))
    assert (after["people"][0]["weight"], after["weather"]["temperature"]) == ("150 lb", "21 °C")


def test_what_can_not_be_briefed_is_not_saved(alone, tmp_path: Path) -> None:
    path = tmp_path / "lessons" / f"{LESSON}.toml"
    before = path.read_bytes()
    query = f"lesson={LESSON}&people%2F0%2Fweight=heavy"
    answer = alone.post("/today/save", {"lesson": LESSON, "query": query})
    assert answer.status_code == 422
    assert path.read_bytes() == before
    assert "Nothing was written" in answer.text
    assert 'value="heavy"' in answer.text  # what was typed is there to be put right


def test_the_card_is_a_pdf_with_the_changes_in_it(alone) -> None:
    plain = alone.get("/today/card.pdf", params={"lesson": LESSON})
    hot = alone.get("/today/card.pdf", params=_changed(weather__temperature="36 °C"))
    assert plain.content.startswith(b"%PDF-")
    assert plain.content != hot.content


def test_a_field_emptied_is_taken_out_of_the_lesson() -> None:
    text = '[people_]\n[[people]]\nname = "A"\nweight = "1 lb"\n[weather]\nwind = "240/11 kt"\n'
    form = read_form(text, {"weather/wind": ""})
    assert "wind" not in tomllib.loads(form.text)["weather"]
    assert "wind" not in tomllib.loads(form.write_into(text))["weather"]
    assert form.changes == {"weather/wind": ""}


def test_a_text_that_is_no_toml_is_said_plainly() -> None:
    with pytest.raises(InputError, match="not valid TOML"):
        read_form("people = [", {})


def test_limits_go_with_the_person_and_not_with_the_seat(alone, tmp_path: Path) -> None:
    """Somebody else in a seat has none of the limits of the one before: the form says so and asks for theirs."""
    old = tomllib.loads(LESSON_TEXT)
    assert {"student", "instructor"} <= old.keys()
    assert old["student"]["limits"]["crosswind"]
    asked = {n: str(one["name"]) for n, one in enumerate(old["people"])}
    student = next(n for n, one in enumerate(old["people"]) if one.get("role") == "student")
    change = {"lesson": LESSON, f"people/{student}/name": "Tomas Rehling"}
    page = unescape(alone.get("/", params=change).text)
    assert "No limits of Tomas Rehling known" in page
    assert re.search(r'name="student/limits/crosswind" value="" placeholder="none known"', page)
    form = read_form(LESSON_TEXT, {f"people/{student}/name": "Tomas Rehling", "student/limits/crosswind": "7",
                                    "limits-of/student": "Tomas Rehling"})  # fmt: skip
    stood = {
        f"people/{student}/name": "Tomas Rehling",
        "student/limits/crosswind": old["student"]["limits"]["crosswind"],
    }
    assert "limits" not in tomllib.loads(read_form(LESSON_TEXT, stood).write_into(LESSON_TEXT))["student"]
    back = read_form(LESSON_TEXT, {"limits-of/student": "Tomas Rehling", "student/limits/crosswind": "7"})
    assert tomllib.loads(back.write_into(LESSON_TEXT))["student"] == old["student"]  # theirs went with them
    written = tomllib.loads(form.write_into(LESSON_TEXT))
    assert written["student"]["name"] == "Tomas Rehling"
    assert written["student"]["limits"] == {"crosswind": "7 kt"}
    assert written["instructor"] == old["instructor"]
    slip = read_form(LESSON_TEXT, {f"people/{student}/name": f"{asked[student]}s"})  # a slip put right is nobody else
    assert tomllib.loads(slip.write_into(LESSON_TEXT))["student"]["limits"] == old["student"]["limits"]


def test_what_is_missing_is_named_in_the_words_of_the_page(alone, tmp_path: Path) -> None:
    path = tmp_path / "lessons" / f"{LESSON}.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('weight = "181 lb"', 'weight = "FILL IN"'), encoding="utf-8")
    page = unescape(alone.get("/", params={"lesson": LESSON}).text)
    name = next(p["name"] for p in tomllib.loads(text)["people"] if p.get("weight") == "181 lb")
    assert f"weight of {name}: is still to be filled in" in page
    assert "people 1" not in page


def test_the_chair_flies_the_lesson_as_it_was_changed(alone) -> None:
    """It flew the file's own lesson, whatever the address asked for. The slow flight is at 6,500 ft there."""
    as_written, changed = (
        alone.get("/chair", params=_changed(**fields)).text for fields in ({}, {"exercises__0__altitude": "7,500 ft"})
    )
    assert '"aim":6500.0' in as_written
    assert '"aim":7500.0' not in as_written
    assert '"aim":7500.0' in changed


@pytest.mark.parametrize(
    ("starts", "opened"),
    [((30, 120, 240), "first"), ((-45, 120, 240), "first"), ((-200, 120, 240), "second"), ((-400, -300, 30), "third")],
)
def test_of_several_lessons_today_the_one_going_on_or_next_is_opened(starts: tuple[int, ...], opened: str) -> None:
    """However they were changed; begun an hour and a half ago a lesson is over. Minutes from now."""
    now = datetime(2026, 6, 14, 13, 0, tzinfo=ZoneInfo("America/Denver"))
    entries = []
    for n, (key, minutes) in enumerate(zip(("first", "second", "third"), starts, strict=True)):
        at = now + timedelta(minutes=minutes)
        day, clock = f"{at:%Y-%m-%d}", f"{at:%H:%M}"
        entries.append(Entry(key, "lesson", key, Path(key), False, "", float(n), day, "America/Denver", clock))
    assert newest(entries, now) == opened


def test_everything_that_is_wrong_is_said_at_once_each_at_its_field_in_the_page_s_words(alone) -> None:
    """What is wrong with a weight hides what is wrong with a runway or a forecast: each is looked for."""
    wrong = {"people/0/weight": "heavy", "weather/wind": "abc", "weather/taf": "TAF KOGA nonsense"}
    wrong |= {"place/runway": "62", "time": "25:00"}
    said = alone.get("/today/numbers.json", params={"lesson": LESSON, **wrong}).json()
    assert set(said["at"]) == set(wrong)
    assert said["at"]["place/runway"] == "KOGA has no runway '62' (known: 08, 26, 13, 31)."
    assert not any("[[" in words or words.startswith("lesson:") for words in (*said["at"].values(), said["problem"]))
    for label in ("runway: KOGA has no", "TAF, as received: ", "weight of Nora Whitlock: ", "wind: "):
        assert label in said["problem"]
    one = alone.get("/today/numbers.json", params={"lesson": LESSON, "place/runway": "62", "time": "10:10"}).json()
    assert set(one["at"]) == {"place/runway"}
    assert alone.get("/today/numbers.json", params={"lesson": LESSON, "time": "1010"}).json()["at"] == {}


@pytest.mark.parametrize(
    ("typed", "read"),
    [("2pm", "14:00"), ("2:30 PM", "14:30"), ("12 am", "00:00"), ("12:15 p.m.", "12:15"), ("14pm", "14pm")],
)
def test_a_time_of_twelve_hours_is_one_of_twenty_four(typed: str, read: str) -> None:
    """ISO 8601 has hours of 24; noon is 12 p.m., midnight 12 a.m. [common practice, no source]."""
    form = read_form('time = "08:30"\n', {"time": typed})
    assert next(f.shown for f in form.fields if f.name == "time") == read


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [("exercises/3/target/bank", "450 deg", "Steep turn: bank 450° is outside 30° to 60°"),
     ("exercises/3/times", "-1", "expected at least 1"),
     ("exercises/3/target/bank", "50 deg", "")],
)  # fmt: skip
def test_a_wish_no_exercise_takes_is_said_at_its_field(alone, name: str, typed: str, said: str) -> None:
    got = alone.get("/today/numbers.json", params={"lesson": "stalls_over_the_lake", name: typed}).json()
    assert said in got["at"].get(name, "")
    assert list(got["at"]) == [name] * bool(said)
    assert "exercises 4" not in got["problem"]


def test_an_airplane_with_open_questions_is_a_thought_in_each_of_its_lessons(alone, tmp_path: Path) -> None:
    """Two digits exchanged in a takeoff table are in the lesson's distances; the demo's own airplane asks nothing."""
    assert "about its typed handbook" not in alone.get("/today/numbers.json", params={"lesson": LESSON}).json()["html"]
    path = tmp_path / "airplanes" / "larkmoor_155.toml"
    text = path.read_text(encoding="utf-8")
    assert "total_over_50_ft = 2115 }" in text
    path.write_text(text.replace("total_over_50_ft = 2115 }", "total_over_50_ft = 2511 }"), encoding="utf-8")
    html = alone.get("/today/numbers.json", params={"lesson": LESSON}).json()["html"]
    assert "about its typed handbook" in html


def test_an_airplane_typed_half_is_said_in_words_with_the_way_to_go_on(alone, tmp_path: Path) -> None:
    from airwork.airplane.file.load import blank_text

    (tmp_path / "airplanes" / "kestrel.toml").write_text(blank_text("kestrel", "Kestrel"), encoding="utf-8")
    page = alone.get("/", params={"lesson": LESSON, "airplane/file": "kestrel", "weather/wind": "200/9 kt"}).text
    assert 'value="200/9 kt"' in page  # what else is typed stays
    assert "Kestrel can&#39;t be used yet" in page
    assert 'href="/airplanes/kestrel/fields"' in page
    for programs in (str(tmp_path), "maximum_takeoff_weight_lb", "(line"):
        assert programs not in page
    assert "be used yet" not in alone.get("/", params={"lesson": LESSON}).text
