"""What in half a book's answers can't stand in an airplane file."""

from __future__ import annotations

from pydantic import ValidationError

from airwork.airplane.file.errors import explain
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import read_printed
from airwork.airplane.writing.assemble import assemble
from airwork.airplane.writing.question import Answers


def problems(answers: Answers) -> dict[str, list[str]]:
    """What in the answers so far can't stand in a file, by table; what is only still missing is no problem."""
    data, printed = read_printed(assemble(answers), AirplaneFile)
    found: dict[str, list[str]] = {}
    try:
        AirplaneFile.model_validate(data)
    except ValidationError as problem:
        for e in problem.errors(include_url=False):
            words = str(explain(e, AirplaneFile, {}, {}, printed))
            said = found.setdefault(str(e["loc"][0]) if e["loc"] else "", [])
            if e["type"] != "missing" and words not in said:
                said.append(words)
    return {table: said for table, said in found.items() if said}
