"""A flight of the logbook on its page: what was flown in plain words, its debrief from the kept recording."""

from __future__ import annotations

import re


def test_a_student_opens_the_debrief_of_a_flight_that_was_entered_elsewhere(school) -> None:
    """Entered by another machine's command: on the desk there is nothing, in the logbook the recording."""
    nora, desk = school.as_("Nora Whitlock"), school.app.state.desk
    flight = school.flights["nora"]
    before = desk.find(school.debriefs["nora"])
    address = f"/flights/{flight}"
    assert f'href="/debriefs/{before.id}"' in nora.get(address).text
    desk.remove(before)
    page = nora.get(address).text
    assert f'action="{address}/debrief"' in page
    answer = nora.post(f"{address}/debrief")
    assert answer.status_code == 303
    made = answer.headers["location"].rsplit("/", 1)[1]
    school.debriefs["nora"] = made
    about = desk.find(made)
    assert (about.flight_id, about.student, about.airplane, about.standard) == (flight, school.nora, "", "private")
    shown = nora.get(f"/debriefs/{made}")
    assert shown.status_code == 200
    assert "Straight and level" in shown.text
    again = nora.post(f"{address}/debrief")
    assert again.headers["location"].endswith(made), "the one on the desk is opened, not another made"


def test_what_was_flown_is_named_as_people_say_it(school) -> None:
    page = school.as_("Emmett Dray").get(f"/flights/{school.flights['nora']}").text
    named = re.findall(r'<th scope="row">([^<]+)</th>', page)
    assert "Straight and level" in named
    assert re.search(r"Measured by airwork \d", page)
    assert not [name for name in named if "_" in name or name != name[0].upper() + name[1:]]


def test_a_schools_own_standard_in_the_folder_is_chosen_and_held_against(school, short_csv) -> None:
    """The debrief names the school's title; a name that is not in the list is never opened."""
    text = 'extends = "us_private"\n[standard]\nid = "our_school"\ntitle = "Our school, private"\n'
    (school.folder / "standards").mkdir(exist_ok=True)
    (school.folder / "standards" / "our_school.toml").write_text(text)
    teacher = school.as_("Emmett Dray")
    assert '<option value="our_school"' in teacher.get("/debriefs").text
    sent = {"standard": "our_school", "student": school.jan}
    made = teacher.post("/debriefs", sent, files={"recording": ("own.csv", short_csv)})
    assert made.status_code == 303, made.text
    assert "Our school, private" in teacher.get(made.headers["location"]).text
    refused = teacher.post("/debriefs", {**sent, "standard": "../our_school.toml"}, files={"recording": ("x.csv", b"")})
    assert refused.status_code == 422


def test_what_is_counted_is_left_in_whole_numbers_and_hours_in_tenths(school) -> None:
    page = school.as_("Emmett Dray").get(f"/students/{school.nora}").text
    have = re.findall(r'data-name="needed">[\d.]+ (\w*)</td><td class="number" data-name="have">([\d.]+)<', page)
    assert {unit == "h" for unit, _ in have} == {True, False}
    assert all(("." in figure) == (unit == "h") for unit, figure in have), have
