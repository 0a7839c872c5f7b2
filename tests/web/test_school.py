"""The chief's page: who is due, what runs out, what is unsigned, who is stuck, who changed what. Nobody else's."""

from __future__ import annotations

import html
import time
from datetime import date, timedelta

import pytest
from sqlalchemy import Connection

from airwork.logbook import worked_out
from airwork.logbook.keeping import put_on_record
from airwork.logbook.people import people, person_by_id
from airwork.logbook.questions import ask, questions
from airwork.logbook.records import Held, Person, new_id
from airwork.logbook.school import DUE_DAYS, Due, _stuck
from airwork.logbook.school import school as look
from airwork.web.kept import Kept
from airwork.web.pages import school as school_page


@pytest.mark.parametrize("who", ["Nora Whitlock", "Jan Ruiz"])
def test_it_is_the_chiefs_alone(school, who: str) -> None:
    assert school.as_(who).get("/school").status_code == 403


@pytest.mark.parametrize("question", questions())
def test_what_a_school_asks_has_a_page_with_the_commands_table(school, question: str) -> None:
    """The same rows as `airwork logbook school`, the chief's alone; names only where they are asked for."""
    chief = school.as_("Emmett Dray")
    page = html.unescape(chief.get(f"/school/{question}").text)
    with school.app.state.store.read() as connection:
        frame = ask(connection, question).frame
        called = [p.name for p in people(connection) if p.is_instructor]
    body = page.partition("<tbody>")[2].partition("</tbody>")[0]
    assert body.count("<tr>") == frame.height
    assert all(f">{cell}<" in body for cell in frame.to_series(0)) or not frame.height
    assert not any(name in body for name in called)
    assert school.as_("Nora Whitlock").get(f"/school/{question}").status_code == 403
    assert f'href="/school/{question}"' in chief.get("/school").text or question == "weak"


def test_instructors_are_named_where_the_chief_asks(school) -> None:
    page = school.as_("Emmett Dray").get("/school/teaching", params={"names": "yes"}).text
    with school.app.state.store.read() as connection:
        frame = ask(connection, "teaching", names=True).frame
    assert frame.height
    assert all(f">{html.escape(name)}<" in page for name in frame["instructor"])
    assert school.as_("Emmett Dray").get("/school/everything").status_code == 422


def _checked_out(connection: Connection, who: Person, on: date, until: date) -> None:
    put_on_record(connection, who, Held(new_id(), "rental checkout", on, until), now_utc_s=time.time())


def test_due_unsigned_expiring_and_changes_stand_there(school) -> None:
    store, chief = school.app.state.store, school.as_("Emmett Dray")
    with store.change() as connection:
        nora = person_by_id(connection, school.nora)
        _checked_out(connection, nora, date.today() - timedelta(days=345), date.today() + timedelta(days=20))
    page = html.unescape(chief.get("/school").text)
    students = page.partition('id="due"')[2].partition('id="expiring"')[0]
    assert students.count("○ due") == 2  # flown in 2025, nothing planned
    assert "plan a lesson" in students
    expiring = page.partition('id="expiring"')[2].partition('id="unsigned"')[0]
    assert "Nora Whitlock" in expiring
    assert "◐ runs out" in expiring
    unsigned = page.partition('id="unsigned"')[2].partition('id="stuck"')[0]
    assert school.flights["nora"] in unsigned
    assert "Emmett Dray" in page.partition('id="changes"')[2]
    assert ">School</a>" in page
    assert ">School</a>" not in school.as_("Nora Whitlock").get("/debriefs").text
    only = chief.get("/school", params={"by": "nobody at all"}).text
    assert "nothing yet" in only


def test_a_lesson_planned_takes_a_student_off_the_due(school) -> None:
    path = school.folder / "lessons" / "soon.toml"
    text = (school.folder / "lessons" / "stalls_over_the_lake.toml").read_text()
    path.write_text(text.replace("2025-09-20", (date.today() + timedelta(days=3)).isoformat()))
    page = school.as_("Emmett Dray").get("/school").text
    path.unlink()
    assert page.partition('id="due"')[2].partition('id="expiring"')[0].count("○ due") == 1


def test_two_weeks_without_flight_or_plan_is_due(school) -> None:
    with school.app.state.store.read() as connection:
        nora = person_by_id(connection, school.nora)
    for days, planned, due in (
        (DUE_DAYS, "", True),
        (DUE_DAYS - 1, "", False),
        (90, "2027-01-01", False),
        (None, "", True),
    ):
        assert Due(nora, None, days, planned, "", ()).due is due


def test_a_task_flown_again_and_again_without_an_end_in_sight_is_stuck() -> None:
    from types import SimpleNamespace

    def task(**more):
        return SimpleNamespace(**{"title": "Steep turns", "status": "not ready", "why": "bank", "flights": 6,
                                  "warned": False, "forecast": None, "forecast_why": "no forecast: no change",
                                  **more})  # fmt: skip

    stuck = [
        task(),
        task(status="slipped", flights=2),
        task(flights=1),
        task(forecast=object()),
        task(status="ready"),
        task(warned=True),
    ]
    told = _stuck(SimpleNamespace(tasks=stuck))
    assert told == [("Steep turns", "not ready after 6 flights: no change"), ("Steep turns", "bank")]


def test_the_whole_school_is_worked_out_from_the_record(school) -> None:
    with school.app.state.store.read() as connection:
        found = look(connection, now_utc_s=time.time(), planned={"nora whitlock": "2031-01-01"})
    assert {d.student.name: d.due for d in found.students} == {"Nora Whitlock": False, "Jan Ruiz": True}
    assert all(u.instructor == "Emmett Dray" for u in found.unsigned)


def test_a_page_that_would_take_long_says_for_whom_it_is_still_being_worked_out(
    school, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[object] = []
    look_at_all = school_page._look_at_all
    monkeypatch.setattr(worked_out, "_held", {})
    monkeypatch.setattr(school_page, "MOST_S", -1.0)
    monkeypatch.setattr(school_page, "_looked", Kept(2))
    monkeypatch.setattr(school_page, "_look_at_all", asked.append)
    chief = school.as_("Emmett Dray")
    for _ in range(2):  # what isn't whole is not kept for the next
        assert "still being worked out for 2 of 2" in chief.get("/school").text
    look_at_all(school.app.state.store)
    assert "still being worked out" not in chief.get("/school").text
    assert asked == [school.app.state.store] * 2


def test_the_page_is_worked_out_once_and_anew_when_something_is_entered(
    school, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[int] = []
    look = school_page.look
    monkeypatch.setattr(school_page, "look", lambda *a, **k: looked.append(1) or look(*a, **k))
    monkeypatch.setattr(school_page, "HOUR_S", 1e12)  # no hour ends meanwhile
    monkeypatch.setattr(school_page, "_looked", Kept(2))
    chief = school.as_("Emmett Dray")
    assert [chief.get("/school").status_code for _ in range(3)] == [200] * 3
    assert len(looked) == 1
    with school.app.state.store.change() as connection:
        nora = person_by_id(connection, school.nora)
        _checked_out(connection, nora, date.today() - timedelta(days=9), date.today() + timedelta(days=9))
    assert "rental checkout" in chief.get("/school").text
    assert len(looked) == 2
