"""How many numbers decide what is recognized, in how many lines: python tools/recognizing_numbers.py [SOURCES] [--list]

Counted are the tools of seeing, the arbiter, and of each room what `propose` needs: the functions it calls there, and
the constants of the module that they name. Named: each number of such a constant, and of the room's declaration where
the arbiter asks for it. Unnamed: any other number written in those functions but 0, 1, 2, −1, 0.5 and 100, which count,
halve, double or make percent. Lines: of code, without blank lines, comments and docstrings.
"""

from __future__ import annotations

import argparse
import ast
from pathlib import Path

WHOLE = ("debrief/arbiter.py", "debrief/weighing.py", "debrief/certainty.py")
PLAIN = {0.0, 1.0, 2.0, 0.5, 100.0}
DECLARED = {"worth", "accepted", "seen_every_s", "after_clearing", "in_lesson"}


def numbers(node: ast.AST) -> list[float]:
    """Every number written in a piece of code, signs left out."""
    found = [n.value for n in ast.walk(node) if isinstance(n, ast.Constant)]
    return [float(x) for x in found if isinstance(x, (int, float)) and not isinstance(x, bool)]


def constants(code: ast.Module) -> dict[str, list[float]]:
    """Name of each module constant that holds numbers; a tuple's numbers go one to a name where they match."""
    found: dict[str, list[float]] = {}
    for node in code.body:
        value = node.value if isinstance(node, (ast.Assign, ast.AnnAssign)) else None
        if value is None:
            continue
        targets = node.targets if isinstance(node, ast.Assign) else [node.target]
        for target in targets:
            names = [n.id for n in ast.walk(target) if isinstance(n, ast.Name)]
            parts = (
                value.elts if isinstance(value, ast.Tuple) and len(value.elts) == len(names) else [value] * len(names)
            )
            for name, part in zip(names, parts, strict=True):
                if name.isupper() and name != "ROOM":
                    found[name] = numbers(part)
    return found


def needed(code: ast.Module, roots: tuple[str, ...]) -> list[ast.FunctionDef]:
    """The functions named, and those of the module that they call, directly or not."""
    functions = {n.name: n for n in code.body if isinstance(n, ast.FunctionDef)}
    wanted, out = [r for r in roots if r in functions], []
    while wanted:
        one = functions[wanted.pop()]
        if one in out:
            continue
        out.append(one)
        wanted += [n.id for n in ast.walk(one) if isinstance(n, ast.Name) and n.id in functions]
    return out


def code_lines(path: Path, nodes: list[ast.AST]) -> int:
    """Lines of code in these pieces, without blank ones, comments and docstrings."""
    text, skip, kept = path.read_text(encoding="utf-8").splitlines(), set(), set()
    for node in nodes:
        kept |= set(range(node.lineno, node.end_lineno + 1))
        for inner in ast.walk(node):
            if (
                isinstance(inner, ast.Expr)
                and isinstance(inner.value, ast.Constant)
                and isinstance(inner.value.value, str)
            ):
                skip |= set(range(inner.lineno, inner.end_lineno + 1))
    return sum(bool((line := text[k - 1].strip()) and not line.startswith("#")) for k in kept - skip)


def count(path: Path, *, whole: bool) -> tuple[int, int, int]:
    """(named, unnamed, lines) of one file."""
    code = ast.parse(path.read_text(encoding="utf-8"))
    held = constants(code)
    nodes = (
        [n for n in code.body if isinstance(n, (ast.FunctionDef, ast.ClassDef))]
        if whole
        else needed(code, ("propose",))
    )
    used = (
        set(held) if whole else {n.id for f in nodes for n in ast.walk(f) if isinstance(n, ast.Name) and n.id in held}
    )
    named = sum(len(held[name]) for name in used)
    unnamed = sum(abs(x) not in PLAIN for node in nodes for x in numbers(node))
    lines = code_lines(path, [*nodes]) + len(used)
    if not whole:
        rooms = [n for n in ast.walk(code) if isinstance(n, ast.Call) and getattr(n.func, "id", "") == "Room"]
        named += sum(k.arg in DECLARED for n in rooms for k in n.keywords)
    return named, unnamed, lines


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("sources", type=Path, nargs="?", default=Path("src/airwork"))
    parser.add_argument("--list", action="store_true", help="each file")
    args = parser.parse_args()
    folder = args.sources / "maneuvers"
    tools = sorted((folder / "seeing").glob("*.py")) or [
        folder / f"{n}.py"
        for n in (
            "contacts",
            "legs",
            "propose_tools",
            "signal",
            "slow",
            "stall_tools",
            "turns",
            "view",
            "view_building",
        )
    ]
    whole = [*tools, *(args.sources / name for name in WHOLE if (args.sources / name).exists())]
    rooms = [
        p for p in sorted(folder.glob("*.py")) if p not in whole and "\ndef propose(" in p.read_text(encoding="utf-8")
    ]
    total = [0, 0, 0]
    for path in [*whole, *rooms]:
        found = count(path, whole=path in whole)
        total = [a + b for a, b in zip(total, found, strict=True)]
        if args.list:
            print(f"{found[0]:5} named {found[1]:4} unnamed {found[2]:5} lines  {path.relative_to(args.sources)}")
    print(f"{total[0]} named and {total[1]} unnamed numbers, {sum(total[:2])} together, in {total[2]} lines of code")


if __name__ == "__main__":
    main()
