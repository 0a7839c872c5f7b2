"""Writes docs/api.md, the reference of `import airwork`, from signatures and docstrings.

python tools/api_page.py          rewrite the page
python tools/api_page.py --check  exit 1 if it is behind
"""

from __future__ import annotations

import inspect
import re
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import airwork
from airwork import errors
from airwork.airplane import Airplane
from airwork.debrief import Debrief, Graded, LessonPlan
from airwork.jobs.learning import Learned
from airwork.lesson.briefing import Briefing, PlannedExercise
from airwork.logbook.importing import Imported
from airwork.maneuvers.episode import Cause, Episode, Finding, Grade
from airwork.recording.flight import COLUMNS, Column, Flight
from airwork.standards import Standard

PAGE = Path(__file__).parent.parent / "docs" / "api.md"
VALUES = (
    Airplane, Briefing, PlannedExercise, Flight, Column, Debrief, Graded, Episode, Grade, Finding, Cause, LessonPlan,
    Standard, Learned, Imported,
)  # fmt: skip
HEAD = """# Reference of `import airwork`

Made from the program's own docstrings by `python tools/api_page.py`. Quantities are SI with the unit in the name, times
UTC, directions true unless named magnetic; text such as "2150 lb" is read where a parameter says so. How they work
together: [in a notebook](notebook.md). The handbook, the authority's rules and the instructor decide; not for
navigation.
"""


def lines(doc: str) -> Iterator[str]:
    """A docstring as Markdown: its sections become bold words, their entries a list."""
    section = False
    for line in inspect.cleandoc(doc).splitlines():
        entry = re.match(r"(\w\S*(?:, \S+)*) : (.*)", line)
        if re.fullmatch(r"-{3,}", line):
            continue
        if line in {"Parameters", "Raises", "Returns"}:
            section = True
            yield f"**{line}**\n"
        elif entry:
            yield f"- `{entry[1]}`: {entry[2]}"
        else:
            yield f"  {line.strip()}" if section and line.strip() else line.rstrip()


def signature(function: Callable[..., Any], name: str) -> str:
    """The call as one writes it, a parameter to a line where it is long."""
    found = inspect.signature(function)
    text = _unquoted(f"{name}{found}")
    if len(text) <= 100:
        return text
    parts = []
    for parameter in found.parameters.values():
        if parameter.kind is parameter.KEYWORD_ONLY and "*" not in parts:
            parts.append("*")
        parts.append(_unquoted(str(parameter)))
    inside = "".join(f"    {part},\n" for part in parts)
    return f"{name}(\n{inside}) -> {found.return_annotation}"


def _unquoted(text: str) -> str:
    """Annotations as they stand in the code."""
    return re.sub(r"(: |-> )'([^']*)'", r"\1\2", text)


def methods(kind: type) -> Iterator[str]:
    """Public methods and properties that say what they are."""
    for name, member in vars(kind).items():
        of = member.fget if isinstance(member, property) else member
        if name.startswith("_") or not inspect.isfunction(of) or not of.__doc__:
            continue
        call = name
        if not isinstance(member, property):
            call = signature(of, name).replace("(self, ", "(").replace("(self)", "()").replace("    self,\n", "")
        yield f"- `{' '.join(call.split())}`: {inspect.cleandoc(of.__doc__).splitlines()[0]}"


def fields(kind: type) -> str:
    """The fields of a record with their types."""
    named = getattr(kind, "__dataclass_fields__", {})
    return ", ".join(f"`{name}: {field.type}`" for name, field in named.items() if not name.startswith("_"))


def page() -> str:
    """The whole page."""
    out = [HEAD, "## Jobs\n"]
    for name in sorted(set(airwork.__all__) - {"__version__"}):
        function = getattr(airwork, name)
        out += [f"### {name}\n", f"```python\n{signature(function, name)}\n```\n", *lines(function.__doc__ or ""), ""]
    out.append("## Values\n")
    for kind in VALUES:
        out += [f"### {kind.__name__}\n", *lines(kind.__doc__ or ""), ""]
        if said := fields(kind):
            out += [f"Fields: {said}\n"]
        if told := list(methods(kind)):
            out += [*told, ""]
    out += ["## Columns of a Flight\n", "| name | unit | what it is |", "| --- | --- | --- |"]
    out += [f"| `{name}` | {unit} | {what} |" for name, (unit, what) in COLUMNS.items()]
    out += ["", "## Errors\n", f"```text\n{inspect.cleandoc(errors.__doc__ or '')}\n```"]
    return re.sub(r"\n{3,}", "\n\n", "\n".join(out)) + "\n"


def main() -> int:
    """Write, or compare."""
    made = page()
    if "--check" in sys.argv[1:]:
        return 0 if PAGE.exists() and PAGE.read_text(encoding="utf-8") == made else 1
    PAGE.write_text(made, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
