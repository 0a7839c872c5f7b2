"""The day's page: who flies when and in which airplane, and what is asked for twice at one time."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from types import SimpleNamespace

import pytest

from airwork.web import which_lesson
from web.conftest import School, build_school

LESSON = "stalls_over_the_lake"
ON = "2026-11-30"


def plan(folder: Path, key: str, clock: str, *, student: str = "Nora Whitlock", teacher: str = "Emmett Dray",
         airplane: str = "larkmoor_155") -> None:  # fmt: skip
    """The demo's lesson on another day, for others."""
    text = (folder / "lessons" / f"{LESSON}.toml").read_text(encoding="utf-8")
    for old, new in (
        ('title = "Slow flight, stalls, steep turns"', f'title = "{key}"'), ("date = 2025-09-20", f"date = {ON}"),
        ('time = "08:30"', f'time = "{clock}"'), ('"Nora Whitlock"', f'"{student}"'), ('"Emmett Dray"', f'"{teacher}"'),
        ('file = "larkmoor_155"', f'file = "{airplane}"'),
    ):  # fmt: skip
        assert old in text
        text = text.replace(old, new)
    (folder / "lessons" / f"{key}.toml").write_text(text, encoding="utf-8")


def rows(html: str) -> list[list[str]]:
    """The cells of the page's lines as read."""
    body = html.partition("<tbody>")[2].partition("</tbody>")[0]
    return [
        [re.sub(r"<[^>]+>", "", cell).strip() for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.DOTALL)]
        for row in re.findall(r"<tr>(.*?)</tr>", body, re.DOTALL)
    ]


def test_today_is_the_day_where_one_flies_and_not_the_machines(monkeypatch) -> None:
    """UTC+14 and UTC−11 never have the same day; one's own lesson goes before the invented one."""
    invented, own = (
        SimpleNamespace(zone=zone, shipped=shipped, changed_s=1.0)
        for zone, shipped in (("Pacific/Kiritimati", True), ("Pacific/Pago_Pago", False))
    )
    monkeypatch.setattr(which_lesson, "seen", lambda lessons: lessons)
    assert which_lesson.today([invented, own]) == which_lesson.today([own]) < which_lesson.today([invented])
    assert which_lesson.today([SimpleNamespace(zone="", shipped=False, changed_s=2.0), own]) == which_lesson.today(
        [own]
    )


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> School:
    """A school whose instructor has two lessons at one time."""
    made = build_school(tmp_path_factory.mktemp("day"))
    plan(made.folder, "Noras", "13:00")
    plan(made.folder, "Jans", "13:30", student="Jan Ruiz")
    plan(made.folder, "Later", "16:00", student="Jan Ruiz")
    return made


def test_the_day_lists_its_lessons_in_order_and_says_what_is_asked_for_twice(own: School) -> None:
    page = own.as_("Emmett Dray").get(f"/day?on={ON}").text
    lines = rows(page)
    assert [line[4] for line in lines] == ["Noras", "Jans", "Later"]
    assert re.fullmatch(r"13:00–14:1\d MST ✗ twice", lines[0][0])
    assert lines[1][1:4] == ["Jan Ruiz", "Emmett Dray", "Larkmoor 155"]
    assert lines[2][0].startswith("16:00–17:1")
    assert "twice" not in lines[2][0]
    assert [line[5] for line in lines] == ["NO-GO"] * 3  # the weather in the file is of another day
    (said,) = re.findall(r"<li>(.*?)</li>", page.partition("Asked for twice")[2].partition("</ul>")[0])
    assert re.sub(r"<[^>]+>", "", said).startswith("Emmett Dray and larkmoor_155: “Noras” of Nora Whitlock, 13:00 to")
    assert f'href="/day?on={dt.date.fromisoformat(ON) + dt.timedelta(days=1)}"' in page
    alone = own.as_("Emmett Dray").get(f"/day?on={ON}&who=Nora Whitlock").text
    assert [line[1] for line in rows(alone)] == ["Nora Whitlock"]
    assert "“Jans” of Jan Ruiz" in alone  # whom she shares the hour with is still told


def test_a_day_without_anything_and_one_that_is_none(own: School) -> None:
    teacher = own.as_("Emmett Dray")
    assert "Nothing planned, nothing flown" in teacher.get("/day?on=2026-12-01").text
    assert teacher.get("/day?on=2026-13-01").status_code == 422
    assert teacher.get("/day").status_code == 200


def test_a_student_sees_their_own_day_alone(own: School) -> None:
    page = own.as_("Jan Ruiz").get(f"/day?on={ON}").text
    assert [line[4] for line in rows(page)] == ["Jans", "Later"]
    assert "Nora" not in page
    assert "Asked for twice" not in page
    briefed = own.as_("Jan Ruiz").get("/?lesson=Jans").text
    assert "Emmett Dray and larkmoor_155 are taken by another lesson, 13:00 to" in briefed
    assert "Nora" not in briefed


def test_a_lesson_says_who_and_what_of_it_is_taken(own: School) -> None:
    teacher = own.as_("Emmett Dray")
    page = teacher.get("/?lesson=Jans").text
    assert "Emmett Dray and larkmoor_155 are taken by another lesson, 13:00 to" in page
    assert f'<a href="/day?on={ON}">the day</a>' in page
    assert "Nora" not in page.partition('id="numbers"')[2].partition("</ul>")[0]  # it stands on Jan's card too
    assert "are taken by" not in teacher.get("/?lesson=Jans&time=15:30&date=2026-12-01").text
    assert "are taken by" not in teacher.get("/?lesson=Jans&time=10:00").text
    later = teacher.get("/today.json?lesson=Later").json()
    assert not any(r["topic"] == "the same time" for r in later["verdict"]["reasons"])


def test_flights_on_record_stand_in_the_day_and_planned_training_counts(own: School) -> None:
    """14 CFR 61.195(a): 8 hours of training in 24; the other lessons of the day are part of it."""
    teacher = own.as_("Emmett Dray")
    (line,) = [one for one in rows(teacher.get("/day?on=2025-09-20").text) if one[4] == "flown" and "Jan" in one[1]]
    assert line[5] == ""
    with_all = re.search(r"Emmett Dray: ([\d.]+) h of training in 24 h", teacher.get("/?lesson=Later").text)
    assert with_all
    assert float(with_all[1]) > 3.0  # three lessons of 1.2 h
