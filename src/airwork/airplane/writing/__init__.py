"""Writing an airplane file: the questions in the order of a handbook, the answers put together, the TOML text."""

from __future__ import annotations

from airwork.airplane.writing.assemble import assemble
from airwork.airplane.writing.problems import problems
from airwork.airplane.writing.progress import progress
from airwork.airplane.writing.question import Question
from airwork.airplane.writing.questions import questions
from airwork.airplane.writing.reading_back import proof, read_back
from airwork.airplane.writing.toml import toml_text

__all__ = [
    "Question",
    "assemble",
    "problems",
    "progress",
    "proof",
    "questions",
    "read_back",
    "toml_text",
]
