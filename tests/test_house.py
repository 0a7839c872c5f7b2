"""The house rules that a machine can check: imports without circles, one place for factors, commands that explain."""

from __future__ import annotations

import ast
import importlib
import re
import sys
from collections.abc import Iterable
from functools import cache
from pathlib import Path

import pytest

import airwork
from airwork.cli import COMMANDS, main
from airwork.maneuvers.seeing.view import STEP_S

SOURCE = Path(airwork.__file__).parent
MODULES = {
    ".".join(("airwork", *path.relative_to(SOURCE).with_suffix("").parts)).removesuffix(".__init__"): path
    for path in SOURCE.rglob("*.py")
}


@cache
def _parsed(path: Path) -> ast.Module:
    """The code of a module, read once for all rules."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def _nodes(path: Path) -> tuple[ast.AST, ...]:
    """Every node of a module, gone through once for all rules."""
    return tuple(ast.walk(_parsed(path)))


def _imports(path: Path) -> set[str]:
    """Modules of ours that a file names: at its top, inside functions, and for types alone."""
    found: set[str] = set()
    for node in _nodes(path):
        if isinstance(node, ast.ImportFrom) and node.module and not node.level:
            for name in node.names:
                whole = f"{node.module}.{name.name}"
                found.add(whole if whole in MODULES else node.module)
        elif isinstance(node, ast.Import):
            found.update(name.name for name in node.names)
    return found & MODULES.keys()


def test_no_module_needs_itself_by_a_detour() -> None:
    """Imports that wait in a function or stand for types alone are counted too: they bind as tightly to a reader."""
    left = {name: _imports(path) - {name} for name, path in MODULES.items()}
    while free := [name for name, needs in left.items() if not needs & left.keys()]:
        for name in free:
            del left[name]
    while ends := left.keys() - set().union(*left.values()):  # what only leads to a circle is not of it
        for name in ends:
            del left[name]
    assert not left, f"a circle of imports among {sorted(left)}"


def _named(node: ast.stmt) -> set[str]:
    """Modules that an import statement names: ours whole, of others as it names them."""
    if isinstance(node, ast.ImportFrom) and node.module and not node.level:
        wholes = {f"{node.module}.{name.name}" for name in node.names}
        return (wholes & MODULES.keys()) or {node.module}
    return {name.name for name in node.names} if isinstance(node, ast.Import) else set()


@cache
def _needed(name: str) -> set[str]:
    """What loading a module of ours needs at once: all it imports at its top, and the package it lies in."""
    return {m for node in _parsed(MODULES[name]).body for m in _named(node)} | {name.rpartition(".")[0]}


def _loaded_with(name: str) -> set[str]:
    """Modules that importing one of ours loads; of others' the packages."""
    seen, waiting = {name}, [name]
    while waiting:
        new = _needed(waiting.pop()) - seen
        seen |= new
        waiting += new & MODULES.keys()
    return seen | {name.partition(".")[0] for name in seen - MODULES.keys()} | sys.stdlib_module_names


def test_an_import_for_types_alone_spares_loading_something() -> None:
    """Otherwise it hides from a reader what a module needs, and saves nothing."""
    culprits = []
    for name, path in MODULES.items():
        guards = [n for n in _parsed(path).body if isinstance(n, ast.If) and "TYPE_CHECKING" in ast.unparse(n.test)]
        if not guards or name in {"airwork", "airwork.cli"}:  # `airwork --help` spares even the standard library's
            continue
        loaded = _loaded_with(name)
        for node in (node for guard in guards for node in guard.body):
            if all(m in loaded or (m not in MODULES and m.partition(".")[0] in loaded) for m in _named(node)):
                culprits.append(f"{name}: {ast.unparse(node)}")
    assert not culprits, f"move to the top: {culprits}"


def test_no_module_takes_a_name_another_keeps_to_itself() -> None:
    culprits = [
        f"{name}: {node.module}.{taken.name}"
        for name, path in MODULES.items()
        for node in _nodes(path)
        if isinstance(node, ast.ImportFrom) and node.module in MODULES
        for taken in node.names
        if taken.name.startswith("_") and not taken.name.startswith("__")
    ]
    assert not culprits


def test_conversion_factors_stand_in_units_alone_and_the_standard_air_in_its_module() -> None:
    factors = re.compile(r"0\.3048|\b1852(\.0)?\b|0\.45359237|3\.785411784|\b1609\.344\b|3386\.389|9\.80665|9\.81")
    standard_air = re.compile(r"288\.15|101325(\.0)?|5\.255\d*")
    culprits = []
    for name, path in MODULES.items():
        if name in {"airwork.units"}:
            continue
        numbers = [n for n in _nodes(path) if isinstance(n, ast.Constant) and isinstance(n.value, (int, float))]
        culprits += [f"{name}:{n.lineno}" for n in numbers if factors.fullmatch(repr(n.value))]
        if name != "airwork.airdata.atmosphere":
            culprits += [f"{name}:{n.lineno}" for n in numbers if standard_air.fullmatch(repr(n.value))]
    assert not culprits


def _is_count(node: ast.expr) -> bool:
    """A difference of indices, a sum of a mask, a size: what a step of the time base turns into seconds."""
    if isinstance(node, ast.BinOp):  # of indices; a difference whose names tell of a unit is none
        return isinstance(node.op, ast.Sub) and not re.search(r"_(s|m|rad|mps|deg)\b|\d", ast.unparse(node))
    called = node.func if isinstance(node, ast.Call) else node
    return isinstance(called, ast.Attribute) and called.attr in {"sum", "size", "n"}


def _typed_steps(nodes: Iterable[ast.AST]) -> list[int]:
    """Lines that turn samples into seconds by the view's step typed anew instead of its name."""
    found = []
    for node in nodes:
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult):
            for step, other in ((node.left, node.right), (node.right, node.left)):
                if isinstance(step, ast.Constant) and step.value == STEP_S and _is_count(other):
                    found.append(node.lineno)
    return found


def test_the_step_of_the_view_is_named_where_it_is_used() -> None:
    assert _typed_steps(ast.walk(ast.parse("seconds = (end - first) * 0.25"))) == [1]
    assert _typed_steps(ast.walk(ast.parse("minutes = 0.25 * view.airborne.sum() / 60.0"))) == [1]
    assert not _typed_steps(ast.walk(ast.parse("settle = min(SETTLE_S, 0.25 * share)")))
    folders = {"maneuvers", "debrief"}
    for name, path in MODULES.items():
        if folders & set(name.split(".")):
            lines = _typed_steps(_nodes(path))
            assert not lines, f"{name}:{lines}: write STEP_S"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself_with_an_example(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    module = importlib.import_module(f"airwork.cli.{COMMANDS[name][0]}")
    assert module.__doc__
    assert f"airwork {name}" in module.__doc__
    with pytest.raises(SystemExit) as ended:
        main([*name.split(), "--help"])
    assert ended.value.code == 0
    assert "Not for navigation" in capsys.readouterr().out


def test_the_core_knows_no_screen() -> None:
    """Nothing below the faces imports a face (the import contract checks the floors; this checks late imports too)."""
    faces = re.compile(r"airwork\.(cli|web|output|live)\b")
    for name, path in MODULES.items():
        if name.split(".")[1:2] and name.split(".")[1] in {"cli", "web", "output", "live"}:
            continue
        if name == "airwork.__main__":
            continue
        late = [n.module for n in _nodes(path) if isinstance(n, ast.ImportFrom) and n.module]
        assert not [m for m in late if faces.match(m)], name


def test_python_is_new_enough() -> None:
    assert sys.version_info >= (3, 11)
