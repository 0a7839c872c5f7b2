"""Moments marked in flight: kept beside the recording at once, told in its debrief. A JSON object a line."""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

MOST = 2000  # lines read of a file; a lesson has a handful


@dataclass(frozen=True, slots=True)
class Mark:
    """A moment marked. utc_s : seconds since 1970; words : as given, may be empty."""

    utc_s: float
    words: str


def marks_path(recording: Path) -> Path:
    """Where a recording's marks are kept: NAME.marks.jsonl for NAME.csv."""
    return recording.with_suffix(".marks.jsonl")


def keep_mark(recording: Path, mark: Mark) -> None:
    """Appended, and on the disk before this returns."""
    when = datetime.fromtimestamp(mark.utc_s, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    with marks_path(recording).open("a", encoding="utf-8") as out:
        out.write(json.dumps({"utc": when, "words": mark.words}, ensure_ascii=False) + "\n")
        out.flush()
        os.fsync(out.fileno())


def marks_beside(recording: Path) -> tuple[Mark, ...]:
    """The marks kept beside a recording; a torn or foreign line is passed over, no file is no marks."""
    try:
        lines = marks_path(recording).read_text("utf-8", errors="replace").splitlines()[:MOST]
    except OSError:
        return ()
    found = []
    for line in lines:
        try:
            said = json.loads(line)
            found.append(Mark(datetime.fromisoformat(said["utc"]).timestamp(), str(said.get("words", ""))))
        except (ValueError, KeyError, TypeError, AttributeError, OverflowError):
            continue
    return tuple(found)
