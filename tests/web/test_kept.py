"""What many ask alike is worked out once, and anew when anything it came from changes."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from airwork.logbook.people import add_person
from airwork.logbook.store import open_store
from airwork.web import day, planned
from airwork.web.kept import Kept
from airwork.web.settings import Settings
from web.conftest import Browser, new_app


def test_fifty_who_ask_at_once_wait_for_one_answer() -> None:
    kept, made, begun = Kept[str](2), [], threading.Barrier(50)

    def ask(_n: int) -> str:
        begun.wait()
        return kept.of(("lesson",), lambda: made.append(1) or f"answer {len(made)}")  # type: ignore[func-returns-value]

    with ThreadPoolExecutor(50) as people:
        assert set(people.map(ask, range(50))) == {"answer 1"}
    assert kept.of(("another lesson",), lambda: "other") == "other"
    assert kept.of(("lesson",), lambda: "made anew") == "answer 1"
    kept.of(("a third",), lambda: "third")
    assert kept.of(("lesson",), lambda: "made anew") == "made anew"  # no more are kept than was said


def test_what_fails_is_tried_again() -> None:
    kept = Kept[str](2)
    with pytest.raises(ZeroDivisionError):
        kept.of(("lesson",), lambda: str(1 / 0))
    assert kept.of(("lesson",), lambda: "good") == "good"


def test_today_is_briefed_anew_when_lesson_airplane_or_logbook_change(
    tmp_path: Path, make_folder: Callable[[Path], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    make_folder(tmp_path)
    (tmp_path / "airplanes" / "larkmoor_155.toml").rename(tmp_path / "lessons" / "larkmoor_155.toml")
    store = open_store(tmp_path / "logbook.sqlite", create=True)
    anybody = Browser(new_app(Settings(folder=tmp_path, data=str(tmp_path / "logbook.sqlite"))))
    worked, judged = planned.work_out, day._currency
    plans: list[int] = []
    asked: list[int] = []
    monkeypatch.setattr(planned, "work_out", lambda *a: plans.append(1) or worked(*a))
    monkeypatch.setattr(day, "_currency", lambda *a: asked.append(1) or judged(*a))

    def look() -> tuple[int, int]:
        """How often the lesson was planned for it, and the logbook asked."""
        before = len(plans), len(asked)
        assert "Nora Whitlock" in anybody.get("/").text
        return len(plans) - before[0], len(asked) - before[1]

    def change(file: str, was: str, now: str) -> None:
        path = tmp_path / file
        text = path.read_text("utf-8")
        assert was in text
        path.write_text(text.replace(was, now, 1), "utf-8")

    assert [look(), look()] == [(1, 1), (0, 0)]
    change("lessons/stalls_over_the_lake.toml", '"18 gal"', '"17 gal"')
    assert [look(), look()] == [(1, 1), (0, 0)]
    change("lessons/larkmoor_155.toml", "empty_weight_lb = 1385", "empty_weight_lb = 1391")
    assert [look(), look()] == [(1, 1), (0, 0)]
    with store.change() as connection:
        add_person(connection, "Nora Whitlock", now_utc_s=1.7e9, student=True)
    store.close()
    assert [look(), look()] == [(0, 1), (0, 0)]  # what the logbook says is no part of the plan


def test_the_day_plans_each_lesson_once_for_every_page(
    tmp_path: Path, make_folder: Callable[[Path], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Today looks at the lessons around its own, but for those of other people in another airplane; the day's page at
    all of them.
    """
    make_folder(tmp_path)
    text = (tmp_path / "lessons" / "stalls_over_the_lake.toml").read_text("utf-8")
    anybody = Browser(new_app(Settings(folder=tmp_path)))
    for n in range(3):
        own = text.replace('time = "08:30"', f'time = "{11 + 2 * n}:00"').replace("18 gal", f"{15 + n} gal")
        (tmp_path / "lessons" / f"later_{n}.toml").write_text(own, "utf-8")
    stranger = text.replace("Nora Whitlock", "Kit Moor").replace("Emmett Dray", "Ada Moor")
    stranger = stranger.replace('"larkmoor_155"', '"caldmere_200"')
    (tmp_path / "lessons" / "stranger.toml").write_text(stranger, "utf-8")
    worked, plans = planned.work_out, []
    monkeypatch.setattr(planned, "work_out", lambda lesson, airplane: plans.append(1) or worked(lesson, airplane))
    assert anybody.get("/?lesson=later_0").status_code == 200
    assert len(plans) == 4
    date = re.search(r"(?m)^date = (\S+)", text)[1]  # type: ignore[index]
    assert anybody.get(f"/day?on={date}").text.count("/?lesson=") == 5
    assert anybody.get("/?lesson=later_2").status_code == 200
    assert len(plans) == 5  # and the stranger's
