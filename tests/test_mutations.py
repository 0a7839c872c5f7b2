"""The tool that puts faults into the code: which function a line is in, and what is no fault."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

TOOL = Path(__file__).parents[1] / "tools" / "mutations.py"
spec = importlib.util.spec_from_file_location("mutations", TOOL)
assert spec is not None
assert spec.loader is not None
mutations = importlib.util.module_from_spec(spec)
sys.modules["mutations"] = mutations
spec.loader.exec_module(mutations)

CODE = """LIMIT = 3

class Wing:
    span = 10

    @property
    def area(self):
        def chord(y):
            return 1
        return chord(0)

def lift(v):
    return v * v
"""


@pytest.mark.parametrize(("line", "name"), [(1, ""), (4, ""), (6, "area"), (9, "chord"), (10, "area"), (13, "lift")])
def test_the_function_of_a_line_is_called_as_the_interpreter_calls_it(tmp_path: Path, line: int, name: str) -> None:
    """Python's own qualified names are the reference: those of a trace are looked up by them."""
    file = tmp_path / "wing.py"
    file.write_text(CODE)
    names = {"": ""}

    def collect(code) -> None:
        names[code.co_name] = code.co_qualname
        for inner in code.co_consts:
            if hasattr(inner, "co_qualname"):
                collect(inner)

    collect(compile(CODE, "wing.py", "exec"))
    assert mutations.function_at(file, line) == names[name]


@pytest.mark.parametrize(
    ("code", "changed", "fault"),
    [
        ("def f(x: int | None) -> int: return x", "def f(x: int - None) -> int: return x", False),
        ("@dataclass(frozen=True)\nclass A: pass", "@dataclass(frozen=False)\nclass A: pass", False),
        ("zip(a, b, strict=True)", "zip(a, b, strict=False)", False),
        ("if TYPE_CHECKING:\n    import a", "if not TYPE_CHECKING:\n    import a", False),
        ("if TYPE_CHECKING:\n    import a", "if TYPE_CHECKING:\n    import b", False),
        ("if checking:\n    import a", "if not checking:\n    import a", True),
        ("def f(x): return x + 1", "def f(x): return x - 1", True),
        ("sorted(a, reverse=True)", "sorted(a, reverse=False)", True),
    ],
)
def test_what_changes_no_answer_is_no_fault(code: str, changed: str, fault: bool) -> None:
    assert (mutations.bare(code) != mutations.bare(changed)) == fault
    assert mutations.bare("x = (") is None


def test_a_loop_without_end_counts_as_noticed() -> None:
    def forever() -> int:
        while True:
            pass

    assert mutations.in_a_child(lambda: 0, 5) == 0
    assert mutations.in_a_child(forever, 1) != 0
