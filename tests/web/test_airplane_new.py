"""An airplane typed from its handbook in the browser: its questions, and the file out of them."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest

from airwork.airplane.writing import assemble, questions, toml_text
from airwork.web import airplane_steps
from typed_books import EVENING, answered

KEY = "testbird_160"


def _evening() -> tuple[dict[str, object], dict[str, object]]:
    """(what is typed for each question: a text, or rows of cells; the answers as read)."""
    found = list(answered(EVENING))
    return {q.key: typed for q, typed, _ in found}, {q.key: answer for q, _, answer in found}


def _form(step: airplane_steps.Step, typed: dict[str, object]) -> dict[str, str]:
    form = {"part": step.name}
    for q in step.questions:
        given = typed.get(q.key)
        if not q.columns:
            form[f"q:{q.key}"] = str(given or "")
            continue
        form[f"order:{q.key}"] = ",".join(str(n) for n in range(max(1, len(given or ()))))
        for n, cells in enumerate(given or ()):
            form |= {f"{q.key}/{n}/{c.key}": cell for c, cell in zip(q.columns, cells, strict=False)}
    return form


def _kept(tmp_path: Path) -> dict[str, object]:
    return json.loads((tmp_path / "airplanes" / f"{KEY}.toml.unfinished").read_text())


def test_an_evening_in_the_browser_makes_the_file_of_its_answers(alone, tmp_path: Path) -> None:
    typed, answers = _evening()
    assert alone.post("/airplanes/new", {"name": "Testbird 160"}).headers["location"] == f"/airplanes/new/{KEY}"
    done: list[str] = []
    while True:  # answers ask for other questions: a part is sent again until nothing new is asked
        kept = _kept(tmp_path)
        part = next((name for name, _, _ in airplane_steps.steps(kept) if name not in done), None)
        if part is None:
            break
        for _ in range(3):
            step = airplane_steps.step(_kept(tmp_path), part)
            answer = alone.post(f"/airplanes/new/{KEY}", {**_form(step, typed), "what": "look"})
            assert answer.status_code == 200
            assert 'class="said"' not in answer.text, re.findall(r'said">([^<]*)', answer.text)
        done.append(part)
    first = done[0]
    step = airplane_steps.step(_kept(tmp_path), first)
    answer = alone.post(f"/airplanes/new/{KEY}", {**_form(step, typed), "what": "finish"})
    assert answer.status_code == 303, re.findall(r'role="alert">([^<]*)', answer.text)
    made = (tmp_path / "airplanes" / f"{KEY}.toml").read_text()
    assert tomllib.loads(made) == tomllib.loads(toml_text(assemble(answers)))
    assert not (tmp_path / "airplanes" / f"{KEY}.toml.unfinished").exists()
    back = alone.get(answer.headers["location"]).text
    assert "2,300 lb" in back  # the numbers no check can see, to hold beside the book
    assert "1,795" in back  # and every table as printed


def test_every_answer_shown_again_is_read_as_the_same(alone) -> None:
    """What stands in a field after a night is what was typed, and means the same."""
    _, answers = _evening()
    for q in questions(answers):
        value = answers.get(q.key)
        for one in value if q.columns and value else [None] if q.columns else [value]:
            if q.columns and one:
                assert q.row_of([airplane_steps.text_of(one.get(c.key)) for c in q.columns]) == one
            elif not q.columns and value not in (None, []):
                text = airplane_steps.text_of(value)
                assert q.read(text.replace(" + ", " ") if q.key == "category" else text) == value, q.key


def test_it_is_gone_on_with_where_one_stopped_and_a_wrong_row_costs_no_good_one(alone, tmp_path: Path) -> None:
    alone.post("/airplanes/new", {"name": "Testbird 160"})
    form = {"part": "Fuel", "order:tanks": "0,1", "tanks/0/name": "left", "tanks/0/usable_us_gal": "20",
            "tanks/1/name": "right", "tanks/1/usable_us_gal": "a lot", "q:switching": "30", "what": "look"}  # fmt: skip
    found = alone.client.post(
        f"/airplanes/new/{KEY}", data={**form, "token": alone.token("/airplanes/new")},
        headers={"origin": "http://localhost", "accept": "application/json"},
    ).json()  # fmt: skip
    assert list(found["rows"]) == ["tanks/1"]
    assert "a lot" in found["rows"]["tanks/1"][0]
    page = alone.get(f"/airplanes/new/{KEY}?part=Fuel").text  # another evening, another browser
    assert 'name="tanks/0/name" value="left"' in page
    assert 'name="q:switching" value="30"' in page
    assert "go on with Testbird 160" in alone.get("/airplanes/new").text
    again = alone.post(f"/airplanes/new/{KEY}", {"part": "Fuel", "q:switching": "30", "what": "finish"})
    assert again.status_code == 422
    assert re.search("can&#39;t be read yet|still needed", again.text)


def test_the_other_kind_of_airspeed_is_asked_about_and_the_check_speaks_while_typing(alone, tmp_path: Path) -> None:
    alone.post("/airplanes/new", {"name": "Testbird 160"})
    said = alone.post(f"/airplanes/new/{KEY}", {"part": "Limits", "q:never_exceed": "140 KCAS", "what": "look"}).text
    assert "calibrated airspeed, and the indicated one is asked" in said
    form = {"part": "Fuel", "order:tanks": "0", "tanks/0/name": "left", "tanks/0/usable_us_gal": "20",
            "order:selector": "0", "selector/0/name": "both", "selector/0/feeds": "left + right",
            "what": "look"}  # fmt: skip
    assert "feeds from &#39;right&#39;" in alone.post(f"/airplanes/new/{KEY}", form).text.partition('id="left"')[2]


def test_a_slip_in_a_table_is_asked_about_at_its_row_while_the_book_is_half_typed(alone, tmp_path: Path) -> None:
    """A takeoff table whose third row lost a figure: said at that row, before climb, landing or cruise are typed."""
    _, answers = _evening()
    early = ("name", "dial", "category", "takeoff_weight", "rated_power", "rated_rpm", "fuel_system", "propeller",
             "tanks", "selector", "v_more", "notches", "carburetor_heat")  # fmt: skip
    airplane_steps.keep(tmp_path / "airplanes" / f"{KEY}.toml.unfinished", {k: answers[k] for k in early})
    rows = [(0, 700, 1465), (2000, 840, 1795), (4000, 1010, 2200), (6000, 121, 2700), (8000, 1480, 3400)]
    form = {"part": "Takeoff distance", "order:takeoff": "0,1,2,3,4", "what": "look"}
    for n, (height, roll, total) in enumerate(rows):
        cells = (2300, height, 20, roll, total)
        form |= {f"takeoff/{n}/{c.key}": str(v) for c, v in zip(
            next(q for q in questions(answers) if q.key == "takeoff").columns, cells, strict=True)}  # fmt: skip
    page = alone.post(f"/airplanes/new/{KEY}", form).text
    row = page[page.index('data-row="3"') :].partition('data-row="4"')[0]
    assert 'class="said"' in row
    assert "<svg" in page.partition('data-drawn="takeoff"')[2]


@pytest.mark.parametrize("key", ["../x", "X", "a.b"])
def test_only_a_name_of_its_own_is_a_file(alone, key: str) -> None:
    answer = alone.get(f"/airplanes/new/{key}")
    assert answer.status_code in (404, 422)
    assert "unfinished airplane" in answer.text or answer.status_code == 404


def test_a_student_types_no_airplane(school) -> None:
    assert school.as_("Nora Whitlock").get("/airplanes/new").status_code == 403


def test_a_row_is_not_asked_for_its_end_before_one_gets_there() -> None:
    form = {"order:tanks": "0", "tanks/0/name": "left", "tanks/0/capacity_us_gal": "12"}
    assert airplane_steps.take({}, "Fuel", form, patient=True).said == {}
    assert "usable (gal) is needed" in airplane_steps.take({}, "Fuel", form).said["tanks/0"][0]
    wrong = {**form, "tanks/0/capacity_us_gal": "a lot"}
    assert airplane_steps.take({}, "Fuel", wrong, patient=True).said["tanks/0"]


def test_one_fault_does_not_hide_the_other_checks() -> None:
    """A selector that names no tank stops [fuel]; the climb's wrong row is asked about all the same."""
    _, answers = _evening()
    answers["selector"] = [{"name": "left", "feeds": ["no such tank"]}]
    answers["climb"] = [dict(row) for row in answers["climb"]]  # type: ignore[attr-defined]
    answers["climb"][1]["rate_of_climb_fpm"] = 900  # type: ignore[index]
    left, _ = airplane_steps.look_over(answers, airplane_steps.step(answers, "Fuel"))
    assert any("no such tank" in words for words in left)
    assert any("performance.climb" in words for words in left)
