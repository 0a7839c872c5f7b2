"""An airplane typed from its handbook step by step: its questions, a part of the book at a time.

What was answered is kept after each value in KEY.toml.unfinished beside the airplane files.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from airwork.airplane.airplane import Airplane
from airwork.airplane.check import check_airplane
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.writing import Question, assemble, problems, questions, toml_text
from airwork.airplane.writing.across import places
from airwork.airplane.writing.across import text_of as across_text
from airwork.airplane.writing.units_of_book import said as units_said
from airwork.errors import AirworkError, InputError
from airwork.files import write_whole
from airwork.web.airplane_begin import TABLES
from airwork.web.airplane_drawing import drawing
from airwork.web.airplane_form import MOST_ROWS, Said, sections
from airwork.web.form_rows import order

ENDING = ".toml.unfinished"
PARTS = "rows of "  # before a table's key: rows typed while one of them can't be read yet
ONE = "q:"  # before a question's key in the form
Answers = dict[str, Any]


@dataclass(slots=True)
class Step:
    """One part of the book. shown : what stands in each field. said : words about fields, rows ("KEY/3") and tables."""

    name: str
    questions: list[Question]
    shown: dict[str, str] = field(default_factory=dict)
    rows: dict[str, list[int]] = field(default_factory=dict)  # numbers of a table's rows
    said: dict[str, list[str]] = field(default_factory=dict)

    @property
    def asks(self) -> str:
        """What is asked, in its words: they change with the units, a table's columns with what the book prints."""
        return "|".join(f"{q.key} {q.text} {','.join(c.name for c in q.columns)}" for q in self.questions)

    def words(self, name: str) -> list[str]:
        """What is said about a field, a row or a table."""
        return self.said.get(name, [])


def place_of(folder: Path, key: str) -> Path:
    """Where the answers of an unfinished airplane are kept. InputError for a name that is none."""
    if not re.fullmatch(r"[a-z0-9][a-z0-9_]{0,59}", key):
        raise InputError("there is no such unfinished airplane.", where=key[:60] or "airplane")
    return folder / "airplanes" / f"{key}{ENDING}"


def unfinished(folder: Path) -> list[tuple[str, str]]:
    """(key, name) of the airplanes begun, the newest first."""
    found = sorted((folder / "airplanes").glob(f"*{ENDING}"), key=lambda p: -p.stat().st_mtime)
    keys = [
        p.name.removesuffix(ENDING) for p in found if re.fullmatch(r"[a-z0-9][a-z0-9_]{0,59}", p.name.split(".")[0])
    ]
    return [(k, str(read(place_of(folder, k)).get("name") or k)) for k in keys]


def read(path: Path) -> Answers:
    """The answers kept. InputError when there are none."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        found = None
    if not isinstance(found, dict):
        raise InputError("there is no such unfinished airplane, or its answers can't be read.", where=path.name)
    return found


def keep(path: Path, answers: Answers) -> None:
    """Write the answers whole."""
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, json.dumps(answers, ensure_ascii=False, indent=1) + "\n")


def steps(answers: Answers) -> list[tuple[str, str, bool]]:
    """(part of the book, how far it is in words, is nothing answered) in a handbook's order."""
    found: dict[str, list[tuple[bool, bool]]] = {}
    for q in questions(answers):
        there = answers.get(q.key) not in (None, [])
        found.setdefault(q.section, []).append((there, _is_needed(q) and not there))
    out = []
    for name, asked in found.items():
        given, needed = sum(a for a, _ in asked), sum(b for _, b in asked)
        more = f", {needed} needed" if needed and given else ""  # a part not begun yet is asked nothing
        out.append((name, f"{given} of {len(asked)}{more}", not given))
    return out


def go_on_at(answers: Answers) -> str:
    """The first part in which something needed is not answered, else the first without an answer."""
    needed = (q.section for q in questions(answers) if q.key not in answers and _is_needed(q))
    empty = (name for name, _, nothing in steps(answers) if nothing)
    return next(needed, next(empty, steps(answers)[0][0]))


def _is_needed(q: Question) -> bool:
    return bool(q.least_rows) if q.columns else not q.optional and not q.default


def step(answers: Answers, name: str) -> Step:
    """A part with what was answered in it. InputError for one there isn't."""
    asked = [q for q in questions(answers) if q.section == name]
    if not asked:
        raise InputError("there is no such part of a handbook.", where=name[:60] or "part")
    found = Step(name, asked)
    for q in asked:
        if not q.columns:
            found.shown[ONE + q.key] = text_of(answers.get(q.key))
            continue
        rows = answers.get(q.key) or answers.get(PARTS + q.key) or []
        found.rows[q.key] = list(range(max(1, len(rows))))
        for n, row in enumerate(rows):
            for c in q.columns:
                found.shown[f"{q.key}/{n}/{c.key}"] = text_of(row.get(c.key))
    return found


def text_of(value: Any) -> str:
    """An answer as it would be typed."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list) and value and all(isinstance(v, str) for v in value):
        return " + ".join(value)
    if isinstance(value, list):
        return " ".join(text_of(v) for v in value) or "none"
    if isinstance(value, dict):
        if "what" in value:
            return across_text(value)
        return rule_text(value) if any(k.startswith("change_") for k in value) else units_said(value)
    return str(value)


def rule_text(rule: Mapping[str, Any]) -> str:
    """The climb's rule for warmth."""
    key, change = next((k, v) for k, v in rule.items() if k.startswith("change_"))
    unit = {"change_percent": "%", "change_mps": "m/s"}.get(key, "fpm")
    per, degree = (rule["per_c"], "C") if "per_c" in rule else (rule["per_f"], "F")
    return f"{change} {unit} per {per} {degree}"


def take(answers: Answers, name: str, typed: Mapping[str, str], *, patient: bool = False) -> Step:
    """A part as it was typed: what can be read goes into the answers, the rest is said beside its field.

    patient : it is being typed; a row that is not at its end yet is not asked for the rest.
    """
    found = Step(name, [q for q in questions(answers) if q.section == name])
    for q in found.questions:
        if q.columns:
            _take_rows(answers, q, typed, found, patient)
        else:
            _take_one(answers, q, typed, found)
    # an answer may ask for others: the propeller's kind, the units
    found.questions = [q for q in questions(answers) if q.section == name]
    for q in found.questions:
        if q.columns:
            found.rows.setdefault(q.key, [0])
    return found


def _take_one(answers: Answers, q: Question, typed: Mapping[str, str], found: Step) -> None:
    name = ONE + q.key
    text = " ".join(typed.get(name, text_of(answers.get(q.key))).split())[:400]
    found.shown[name] = text
    if not text:
        answers.pop(q.key, None)
        return
    try:
        value = q.read(text)
        if value != answers.get(q.key):
            answers.pop(q.key, None)
        answers.setdefault(q.key, value)
    except AirworkError as problem:
        found.said[name] = [problem.problem if isinstance(problem, InputError) else str(problem)]


def _take_rows(answers: Answers, q: Question, typed: Mapping[str, str], found: Step, patient: bool) -> None:
    if f"order:{q.key}" not in typed:  # not asked when the form was made
        return
    numbers = order(MOST_ROWS, typed[f"order:{q.key}"], MOST_ROWS) or [0]
    found.rows[q.key], good, wrong = numbers, [], False
    for n in numbers:
        parts = [typed.get(f"{q.key}/{n}/{c.key}", "").strip()[:200] for c in q.columns]
        for c, text in zip(q.columns, parts, strict=True):
            found.shown[f"{q.key}/{n}/{c.key}"] = text
        if not any(parts):
            continue
        try:
            row = q.row_of(parts)
            if q.look is not None:
                q.look(row)
            good.append(row)
        except AirworkError as problem:
            wrong = True
            if patient and _on_the_way(q, parts):
                continue
            words = problem.problem if isinstance(problem, InputError) else str(problem)
            found.said[f"{q.key}/{n}"] = [words]
    answers.pop(q.key, None)
    answers.pop(PARTS + q.key, None)
    if good:
        answers[PARTS + q.key if wrong else q.key] = good


def _on_the_way(q: Question, parts: list[str]) -> bool:
    """Is a row good so far, its last needed cells still empty?"""
    count = max(i for i, part in enumerate(parts, start=1) if part)
    if all(c.optional for c in q.columns[count:]):
        return False
    try:
        for column, part in zip(q.columns[:count], parts, strict=False):
            if part or not column.optional:
                column.read(part)
    except AirworkError:
        return False
    return True


def button(typed: Mapping[str, str], do: str) -> dict[str, str]:
    """The form after a row's button: "climb/add", "climb/3/remove"."""
    out = dict(typed)
    found = re.fullmatch(r"(\w+)/(?:(add)|(\d{1,4})/remove)", do)
    if found is None or f"order:{found[1]}" not in typed:
        raise InputError(f"there is no button {do[:40]!r}.", where="do")
    numbers = order(MOST_ROWS, typed[f"order:{found[1]}"], MOST_ROWS)
    numbers = [*numbers, max(numbers, default=-1) + 1] if found[2] else [n for n in numbers if n != int(found[3])]
    out[f"order:{found[1]}"] = ",".join(str(n) for n in numbers or [0])
    return out


def look_over(answers: Answers, here: Step) -> tuple[list[str], dict[str, str]]:
    """(what the checks say of the whole so far, drawings of this part's tables); rows it is about get it too."""
    whole = _filled(answers)[0]
    wrong = problems(whole) if whole.get("name") else {}
    left = [words for said in wrong.values() for words in said]
    drawn: dict[str, str] = {}
    try:
        text = toml_text({table: found for table, found in assemble(whole).items() if table not in wrong})
        tables = {question: part for part, question in TABLES.items()}
        for q in here.questions:
            if q.key in tables and whole.get(q.key):
                grids = [g for s in sections(text, tables[q.key], Said(), None) for g in s.grids]
                drawn[q.key] = "".join(drawing(g) for g in grids)
        asked = check_airplane(Airplane(parse_airplane_file(text, where="the answers")))
    except AirworkError:  # not all of it is there yet
        return [*left, *(["The other checks wait until this is mended."] if left else [])], drawn
    keys = {q.key for q in here.questions}
    for c in asked:
        key = TABLES.get(c.where.table, "")
        typed = [n for n, _ in places(whole.get(key) or (), whole.get(f"{key}_across"))] if key in keys else []
        if c.where.row is not None and c.where.row < len(typed) and typed[c.where.row] < len(here.rows.get(key, ())):
            here.said.setdefault(f"{key}/{here.rows[key][typed[c.where.row]]}", []).append(f"{c.what}. {c.why}")
        else:
            left.append(str(c))
    return left, drawn


def _filled(answers: Answers) -> tuple[Answers, list[str]]:
    """(the answers, what nobody answered by its default or skipped; what is still needed)."""
    whole: Answers = {}
    lacking: list[str] = []
    for _ in range(200):  # an answer may ask for others
        q = next((q for q in questions(whole) if q.key not in whole), None)
        if q is None:
            break
        value = answers.get(q.key)
        if value in (None, []):
            value = [] if q.columns else q.read(q.default) if q.default else None
            if _is_needed(q):
                lacking.append(f"{q.text} ({q.section})")
        whole[q.key] = value
    return whole, lacking


def finished(answers: Answers) -> str:
    """The airplane file of the answers; questions nobody answered take their default, or are skipped.

    Raises
    ------
    InputError : what is still needed, or what doesn't fit.
    """
    whole, lacking = _filled(answers)
    if typed := [k.removeprefix(PARTS) for k in answers if k.startswith(PARTS)]:
        raise InputError(f"a row of {', '.join(typed)} can't be read yet.", where="airplane")
    if lacking:
        raise InputError(f"still needed: {'; '.join(lacking)}.", where="airplane")
    text = toml_text(assemble(whole))
    parse_airplane_file(text, where="the answers")
    return text
