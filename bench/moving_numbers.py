"""Which of the recognizers' numbers decide anything: each moved by a quarter up and down, the changed claims counted.

    python bench/moving_numbers.py FOLDER [--match _5] [--most 18]     # recordings of bench/fly.py

A number that changes no claim is one that nobody would miss, unless a test does. Numbers of the view's building are
left out: they would need every view built anew. Claims are told apart by kind and times to the second.
"""

from __future__ import annotations

import argparse
import ast
import importlib
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tools"))

from debrief_confusion import recordings_of
from recognizing_numbers import WHOLE, constants, needed

import airwork
from airwork.debrief import recognize
from airwork.maneuvers import rooms
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.seeing.view_building import build_view

SOURCES = Path(airwork.__file__).parent
BY = (0.75, 1.25)
DECLARED = ("worth", "accepted", "after_clearing", "in_lesson")
Undo = Callable[[], None]


def numbers() -> Iterator[tuple[str, str, Any]]:
    """(module, name, value) of each constant that recognizing needs."""
    folder = SOURCES / "maneuvers"
    tools = [p for p in sorted((folder / "seeing").glob("*.py")) if p.name not in ("view_building.py", "attack.py")]
    whole = [*tools, *(SOURCES / name for name in WHOLE)]
    for path in [*whole, *(p for p in sorted(folder.glob("*.py")) if "\ndef propose(" in p.read_text("utf-8"))]:
        code = ast.parse(path.read_text("utf-8"))
        module = "airwork." + ".".join(path.relative_to(SOURCES).with_suffix("").parts)
        used = {n.id for f in needed(code, ("propose",)) for n in ast.walk(f) if isinstance(n, ast.Name)}
        for name in constants(code):
            value = getattr(importlib.import_module(module), name, None)
            if isinstance(value, (int, float, np.floating)) and (path in whole or name in used):
                yield module, name, value


def everywhere(name: str, value: Any, moved: Any) -> Undo:
    """Puts a moved number into every module that took it by name, and into defaults; hands back what undoes it."""
    undo: list[Undo] = []
    for module in [m for n, m in list(sys.modules.items()) if n.startswith("airwork.") and isinstance(m, ModuleType)]:
        if getattr(module, name, None) is value:
            setattr(module, name, moved)
            undo.append(lambda m=module: setattr(m, name, value))
        for f in vars(module).values():
            kept = getattr(f, "__defaults__", None)
            if callable(f) and kept and any(d is value for d in kept):
                f.__defaults__ = tuple(moved if d is value else d for d in kept)
                undo.append(lambda f=f, kept=kept: setattr(f, "__defaults__", kept))
    return lambda: [u() for u in undo] and None


def claims(views: list[View]) -> list[set[tuple[str, int, int]]]:
    """What is claimed in each."""
    out = []
    for view in views:
        view.__dict__.pop("_made", None)
        out.append({(e.kind, round(e.start_s), round(e.end_s)) for e in recognize(view)})
    return out


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--match", default="")
    parser.add_argument("--most", type=int, default=18, help="recordings at most")
    args = parser.parse_args()
    built = (build_view(flight) for _, _, flight, _ in recordings_of(args.folder, args.match))
    views = [view for view, _ in zip(built, range(args.most), strict=False) if view is not None]
    before = claims(views)

    def changed() -> str:
        try:
            return f"{sum(len(a ^ b) for a, b in zip(claims(views), before, strict=True)):6}"
        except (ArithmeticError, LookupError, ValueError):  # a percentile beyond 100, say
            return "breaks"

    for module, name, value in numbers():
        found = []
        for by in BY:
            undo = everywhere(name, value, value * by)
            found.append(changed())
            undo()
        print(f"{found[0]} {found[1]}  {module.removeprefix('airwork.')}.{name} = {value:g}", flush=True)
    for one in rooms():
        for name in DECLARED:
            value = getattr(one, name)
            if one.propose is None or value == type(one).__dataclass_fields__[name].default:
                continue
            found = []
            for by in BY:
                object.__setattr__(one, name, value * by)
                found.append(changed())
            object.__setattr__(one, name, value)
            print(f"{found[0]} {found[1]}  {one.kind}.{name} = {value:g}", flush=True)


if __name__ == "__main__":
    main()
