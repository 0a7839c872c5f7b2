"""An airplane's numbers for today's air and weight: what an instructor reads off the handbook with a thumb.

`numbers_for` answers a `Question` with sections of lines; each number says how it was had. A number a table refuses is
a line that says so, not an error. Screens, pages and JSON only show the answer.
"""

from __future__ import annotations

from airwork.airplane.airplane import Airplane
from airwork.airplane.numbers import air, ground, power, speeds, turn
from airwork.airplane.numbers.lines import Line, Numbers, Section
from airwork.airplane.numbers.question import Field, Question, Today

__all__ = ["Field", "Line", "Numbers", "Question", "Section", "Today", "numbers_for"]


def numbers_for(airplane: Airplane, question: Question, *, model: bool = False) -> Numbers:
    """Every number of the day. model : also what the fitted model answers, as far as it is this airplane's own.

    Raises
    ------
    InputError : a station, tank, notch or mass that can't be; nothing to fit a model to.
    NotPossible : an altitude or temperature no airplane of this kind meets.
    """
    today = Today.of(airplane, question)
    sections = [air.section(today), power.section(today), speeds.section(today), power.climb_and_glide(today)]
    if question.bank_rad is not None:
        sections.append(turn.section(today))
    if question.loaded:
        sections.append(ground.loading_section(today))
    if question.field is not None:
        sections += ground.runway_sections(today)
    if model:
        from airwork.airplane.numbers import fitted  # which loads the whole model

        sections += fitted.sections(today)
    return Numbers(
        airplane_id=airplane.id,
        airplane_name=airplane.name,
        invented=airplane.file.airplane.invented,
        handbook=airplane.file.airplane.handbook,
        dial_unit=airplane.dial_unit,
        conditions=today.conditions(),
        sections=tuple(section for section in sections if section.lines),
        assumptions=(*airplane.assumptions, *today.assumptions()),
        cautions=tuple(today.cautions),
    )
