"""People, bags and exercises that come, go and change places: by plain links and forms, the address holding them."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from urllib.parse import parse_qsl, urlsplit

import pytest

import airwork
from airwork.airplane import load_airplane
from airwork.errors import InputError
from airwork.lesson.file import parse_lesson
from airwork.lesson.plan import build_briefing
from airwork.web.lesson_form import read_form
from airwork.web.lesson_rows import MOST_ROWS, done

LESSON = "stalls_over_the_lake"


def _press(alone, do: str, **asked: str) -> dict[str, str]:
    """The address a button leads to."""
    answer = alone.get("/", params={"lesson": LESSON, "do": do, **{k.replace("__", "/"): v for k, v in asked.items()}})
    assert answer.status_code == 303, answer.text
    return dict(parse_qsl(urlsplit(answer.headers["location"]).query, keep_blank_values=True))


def _kinds(alone, asked: dict[str, str]) -> list[str]:
    return list(dict.fromkeys(e["kind"] for e in alone.get("/today.json", params=asked).json()["exercises"]))


def test_an_exercise_goes_one_place_earlier_and_its_values_go_with_it(alone) -> None:
    before = _kinds(alone, {"lesson": LESSON})
    asked = _press(alone, "exercises/3/up", exercises__3__altitude="7,200 ft")
    assert asked["exercises"] == "0,1,3,2,4,5"
    after = alone.get("/today.json", params=asked).json()["exercises"]
    assert _kinds(alone, asked) == [before[0], before[1], before[3], before[2], *before[4:]]
    moved = next(e for e in after if e["kind"] == "steep_turn")
    assert moved["set_up"]["entry_altitude_m"] == pytest.approx(7200 * 0.3048)
    back = _press(alone, "exercises/3/down", **{k: v for k, v in asked.items() if k != "lesson"})
    assert "exercises" not in back  # as in the file again


def test_the_first_goes_no_earlier_and_the_last_no_later(alone) -> None:
    assert "exercises" not in _press(alone, "exercises/0/up")
    assert "exercises" not in _press(alone, "exercises/5/down")


def test_an_exercise_added_on_the_page_is_briefed_as_one_written_in_the_file(alone, tmp_path: Path) -> None:
    asked = _press(alone, "exercises/add", **{"new/exercises": "chandelle"})
    found = alone.get("/today.json", params={**asked, "exercises/6/altitude": "6,500 ft"}).json()
    path = tmp_path / "lessons" / f"{LESSON}.toml"
    text = path.read_text(encoding="utf-8") + '\n[[exercises]]\nkind = "chandelle"\naltitude = "6,500 ft"\n'
    lesson = parse_lesson(text, folder=path.parent)
    expected = build_briefing(lesson, load_airplane(lesson.airplane_path)).as_json()
    assert found["exercises"] == expected["exercises"]
    assert found["fuel"] == expected["fuel"]


def test_an_exercise_taken_out_takes_its_fuel_with_it(alone) -> None:
    asked = _press(alone, "exercises/5/remove", **{"exercises/5/altitude": "7,500 ft"})
    assert asked == {"lesson": LESSON, "exercises": "0,1,2,3,4"}
    before = alone.get("/today.json", params={"lesson": LESSON}).json()
    after = alone.get("/today.json", params=asked).json()
    assert after["fuel"]["burned_m3"] < before["fuel"]["burned_m3"]
    assert "emergency_descent" not in _kinds(alone, asked)


def test_a_passenger_sits_down_once_their_weight_is_known(alone) -> None:
    asked = _press(alone, "people/add", **{"new/people": "rear seats"})
    page = alone.get("/", params=asked)
    assert re.search(r"<p>weight of passenger \d: ", page.text)  # no weight is made up
    field = page.text[page.text.index('name="people/2/weight"') :][:300]
    assert 'aria-invalid="true"' in field
    heavy = alone.get("/today.json", params={**asked, "people/2/weight": "160 lb"}).json()
    light = alone.get("/today.json", params={"lesson": LESSON}).json()
    first = [b["balance"]["points"][0] for b in (heavy, light)]
    assert first[0]["mass_kg"] - first[1]["mass_kg"] == pytest.approx(160 * 0.45359237, abs=0.01)
    assert first[0]["arm_m"] > first[1]["arm_m"]  # sits behind the others
    fewer = alone.get("/today.json", params=_press(alone, "people/1/remove")).json()
    assert fewer["balance"]["points"][0]["mass_kg"] < first[1]["mass_kg"]


def test_a_wish_opens_a_field_of_its_own(alone) -> None:
    asked = _press(alone, "exercises/3/wish", **{"new/exercises/3": "speed"})
    page = alone.get("/", params=asked).text
    assert 'name="exercises/3/target/speed"' in page
    faster = alone.get("/today.json", params={**asked, "exercises/3/target/speed": "100 mph"}).json()
    said = next(e for e in faster["exercises"] if e["kind"] == "steep_turn")["set_up"]["targets"]
    assert said["ias_mps"] == pytest.approx(100 * 0.44704, rel=1e-3)


def test_rows_changed_on_the_page_are_saved_and_the_files_comments_stay(alone, tmp_path: Path) -> None:
    path = tmp_path / "lessons" / f"{LESSON}.toml"
    query = (
        f"lesson={LESSON}&exercises=3,0,1,6&exercises/6/kind=chandelle&exercises/6/altitude=6,500 ft"
        "&exercises/3/target/bank=50 deg&people=1,0,2&bags="
        "&people/2/name=Kit&people/2/station=rear seats&people/2/weight=90 lb"
    )
    before = alone.get(f"/today.json?{query}").json()
    assert alone.post("/today/save", {"lesson": LESSON, "query": query}).status_code == 303
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    assert [e["kind"] for e in data["exercises"]] == ["steep_turn", "slow_flight", "power_off_stall", "chandelle"]
    assert data["exercises"][0]["target"]["bank"] == "50 deg"
    assert [p["name"] for p in data["people"]] == ["Emmett Dray", "Nora Whitlock", "Kit"]
    assert "bags" not in data
    assert "# from the offline airport data" in path.read_text(encoding="utf-8")
    after = alone.get("/today.json", params={"lesson": LESSON}).json()
    for part in ("exercises", "balance", "fuel"):
        assert after[part] == before[part]


@pytest.mark.parametrize(
    "do", ["exercises/99/up", "exercises/add", "weather/0/up", "../x", "people/0/up/up", "exercises/0/fly"]
)
def test_a_button_that_is_none_is_said_in_words(alone, do: str) -> None:
    answer = alone.get("/", params={"lesson": LESSON, "do": do})
    assert answer.status_code == 200
    assert 'class="problem"' in answer.text


@pytest.mark.parametrize("rows", ["a", "0,0", "0,900", "1,", "-1", ",".join(str(k) for k in range(36))])
def test_rows_that_can_not_be_are_said_in_words(alone, rows: str) -> None:
    answer = alone.get("/", params={"lesson": LESSON, "exercises": rows})
    assert answer.status_code == 200
    assert "exercises: " in answer.text


def test_no_more_rows_than_a_lesson_holds() -> None:
    data = {"people": [{"name": str(k)} for k in range(MOST_ROWS["people"])]}
    with pytest.raises(InputError, match="at most 8"):
        done(data, {"new/people": "rear seats"}, "people/add")


def test_a_table_the_form_can_not_show_is_left_for_the_core_to_complain_of() -> None:
    form = read_form('people = "nobody"\n', {})
    assert form.rows["people"] == ()
    assert form.data["people"] == "nobody"


def test_enter_works_the_numbers_out_and_presses_no_row_button(alone) -> None:
    """Without scripts Enter presses the form's first button."""
    page = alone.get("/").text
    form = page[page.index('id="lesson-form"') :]
    assert re.search(r"<button[^>]*>", form)[0] == '<button class="first" tabindex="-1" aria-hidden="true">'


def test_the_json_twin_without_a_lesson_is_the_lesson_the_page_opens(alone, tmp_path: Path) -> None:
    assert (
        alone.get("/today.json").json()["title"] == alone.get("/today.json", params={"lesson": LESSON}).json()["title"]
    )
    assert alone.get("/today/card.pdf").content.startswith(b"%PDF-")
    missing = alone.get("/today.json", params={"lesson": "none such"})
    assert missing.status_code == 404
    assert missing.json() == {"error": "There is no such page."}


def test_a_bare_number_takes_the_unit_its_field_shows_and_reports_are_pasted_whole() -> None:
    """148 in a weight field is 148 lb; a METAR in the form wins over the file's."""
    text = (Path(airwork.__file__).parent / "demo_files" / "lessons" / f"{LESSON}.toml").read_text("utf-8")
    taf = "TAF KOGA 201130Z 2012/2112 24010KT P6SM FEW060\n FM201700 25014G22KT P6SM SCT070"
    aloft = "FT  3000    6000    9000\nOGA      2518+11 2624+05"
    asked = {"people/0/weight": "150", "fuel/left wing": "17", "weather/temperature": "21", "weather/wind": "270 8",
             "weather/taf": taf, "weather/winds_aloft": aloft, "exercises/0/altitude": "6,400"}  # fmt: skip
    form = read_form(text, asked)
    lesson = parse_lesson(form.text, where="lesson")
    assert form.data["people"][0]["weight"] == "150 lb"
    assert form.data["fuel"]["left wing"] == "17 gal"
    assert form.data["exercises"][0]["altitude"] == "6,400 ft"
    assert round(lesson.weather.temperature_k - 273.15) == 21
    assert [round(a.altitude_m / 0.3048) for a in lesson.weather.winds_aloft] == [6000, 9000]
    assert len(lesson.weather.taf.periods) == 2
    other = read_form(text, {"fuel/left wing": "3/4", "weather/ceiling": "25", "weather/visibility": "2000"})
    assert other.data["fuel"]["left wing"] == "3/4"  # a gauge's? the reader of the lesson asks for the unit
    assert other.data["weather"]["ceiling"] == "25"
    assert other.data["weather"]["visibility"] == "2000"  # four figures are a report's meters
    assert {f.name for f in form.fields if f.long} >= {"weather/metar", "weather/taf", "weather/winds_aloft"}


def test_a_row_taken_out_by_mistake_comes_back_alone_to_its_place(alone) -> None:
    """Everything else that was changed stays; what is not in the file, or not out, has no way back."""
    before = _kinds(alone, {"lesson": LESSON})
    out = _press(alone, "exercises/2/remove", time="10:15")
    page = alone.get("/", params=out).text
    assert 'value="exercises/2/back">put back: Power-on stall<' in page
    back = _press(alone, "exercises/2/back", **{**out, "people/0/weight": "150 lb"})
    assert _kinds(alone, back) == before
    assert (back["time"], back["people/0/weight"]) == ("10:15", "150 lb")
    assert "put back:" not in alone.get("/", params=back).text
    for wrong in ("exercises/1/back", "exercises/6/back"):
        with pytest.raises(InputError, match="no such row"):
            done({"exercises": [{}] * 6}, {}, wrong)
    alone_again = _press(alone, "people/1/back", **_press(alone, "people/1/remove"))
    assert "people" not in alone_again
