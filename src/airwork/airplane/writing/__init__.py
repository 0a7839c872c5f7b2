"""Writing an airplane file: the questions in the order of a handbook, the answers put together, the TOML text."""

from __future__ import annotations

from airwork.airplane.writing.assemble import assemble
from airwork.airplane.writing.continued import added, answered_by, problems, together
from airwork.airplane.writing.progress import progress
from airwork.airplane.writing.question import Question
from airwork.airplane.writing.questions import next_question, questions
from airwork.airplane.writing.reading_back import proof, read_back
from airwork.airplane.writing.toml import tables_text, toml_text

__all__ = [
    "Question",
    "added",
    "answered_by",
    "assemble",
    "next_question",
    "problems",
    "progress",
    "proof",
    "questions",
    "read_back",
    "tables_text",
    "together",
    "toml_text",
]
