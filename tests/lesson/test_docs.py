"""docs/lesson-file.md names every field a lesson may have, and every target word."""

from __future__ import annotations

from pathlib import Path

from airwork.fitting import fields_of
from airwork.lesson import lesson, schema
from airwork.lesson.target import WORDS

PAGE = (Path(__file__).parents[2] / "docs" / "lesson-file.md").read_text()


def test_every_field_of_the_lesson_file_is_documented():
    read = {**vars(schema), **vars(lesson)}
    parts = [
        m
        for m in read.values()
        if isinstance(m, type) and (issubclass(m, schema.Strict) or hasattr(m, "__pydantic_config__"))
    ]
    assert len(parts) >= 16
    missing = [f"{m.__name__}.{name}" for m in parts for name in fields_of(m) if name not in PAGE]
    assert missing == []


def test_every_target_word_is_documented():
    assert [word for word in WORDS if f"`{word}`" not in PAGE] == []
