"""Draws docs/pictures/architecture.svg from the code: the floors of the house and which of them imports which.

    python tools/architecture_picture.py          rewrite the picture
    python tools/architecture_picture.py --check  exit 1 if it is behind

The floors and their order are those of the import contract in pyproject.toml, the sentences the first of each package's
docstring, a dot an import that stands in the code.
"""

from __future__ import annotations

import ast
import sys
import textwrap
import tomllib
from collections.abc import Iterator
from html import escape
from pathlib import Path

ROOT = Path(__file__).parent.parent
PICTURE = ROOT / "docs" / "pictures" / "architecture.svg"
SOURCES = ROOT / "src" / "airwork"

LEFT, NAMES, WORDS, CELL, ROW, TOP = 12, 112, 400, 30, 38, 104
INK, SOFT, LINE, BOX = "#1c2430", "#5a6675", "#c9d0d8", "#f3f5f7"


def floors() -> list[str]:
    """The floors of the contract, top first; those that share one stand one after another."""
    contract = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]
    layers = contract["contracts"][0]["layers"]
    return [name.strip().removeprefix("airwork.") for layer in layers for name in layer.split("|")]


def files(floor: str) -> list[Path]:
    """The modules of a floor."""
    module = SOURCES / f"{floor}.py"
    return [module] if module.exists() else sorted((SOURCES / floor).rglob("*.py"))


def statements(tree: ast.AST) -> Iterator[ast.AST]:
    """Every statement of a module, in functions too; no expression, which would be nine tenths of all."""
    for field in ("body", "handlers", "orelse", "finalbody", "cases"):
        inside = getattr(tree, field, [])
        for node in inside if isinstance(inside, list) else []:  # a lambda's body is an expression
            yield node
            yield from statements(node)


def imports(floor: str, among: list[str]) -> set[str]:
    """Floors that a floor's code imports, for types too."""
    found: set[str] = set()
    for path in files(floor):
        for node in statements(ast.parse(path.read_text(encoding="utf-8"))):
            names = []
            if isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
                names = [node.module] if node.module != "airwork" else [f"airwork.{a.name}" for a in node.names]
            elif isinstance(node, ast.Import):
                names = [a.name for a in node.names]
            for name in names:
                parts = name.split(".")
                if parts[0] == "airwork" and len(parts) > 1 and parts[1] in among and parts[1] != floor:
                    found.add(parts[1])
    return found


def sentence(floor: str) -> str:
    """The first sentence of a floor's docstring."""
    module = SOURCES / f"{floor}.py"
    text = (module if module.exists() else SOURCES / floor / "__init__.py").read_text(encoding="utf-8")
    said = " ".join((ast.get_docstring(ast.parse(text)) or "").split("\n\n")[0].split())
    return said.split(". ")[0].rstrip(".").replace("`", "")


def said(y: int, words: str) -> str:
    """A line of small words under the title."""
    return f'<text x="{LEFT}" y="{y}" font-size="12" fill="{SOFT}">{words}</text>'


def picture() -> str:
    """The SVG."""
    names = floors()
    grid = LEFT + NAMES + WORDS
    width, height = grid + CELL * len(names) + 12, TOP + ROW * len(names) + 12
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        'font-family="sans-serif" role="img">',
        "<title>The floors of airwork and which of them imports which: all imports go down</title>",
        f'<rect width="{width}" height="{height}" fill="white"/>',
        f'<text x="{LEFT}" y="24" font-size="15" font-weight="bold" fill="{INK}">The floors, ground at the foot</text>',
        said(44, "A dot: the floor of the row imports that of the column. The squares are the floors themselves."),
        said(60, "Every dot lies right of the squares: imports only go down."),
    ]
    for k, name in enumerate(names):
        x = grid + CELL * k + CELL / 2
        out.append(
            f'<text transform="translate({x + 4:g} {TOP - 8}) rotate(-90)" font-size="12" fill="{INK}">{name}</text>'
        )
        out.append(f'<line x1="{x:g}" y1="{TOP}" x2="{x:g}" y2="{height - 12}" stroke="{LINE}" stroke-width="0.6"/>')
    for row, name in enumerate(names):
        y = TOP + ROW * row
        out.append(
            f'<rect x="{LEFT}" y="{y + 2}" width="{NAMES + WORDS - 8}" height="{ROW - 4}" rx="4" fill="{BOX}" '
            f'stroke="{LINE}"/>'
        )
        out.append(
            f'<text x="{LEFT + 8}" y="{y + ROW / 2 + 5:g}" font-size="13" font-weight="bold" fill="{INK}">{name}</text>'
        )
        lines = textwrap.wrap(sentence(name), 66)[:2]
        for n, line in enumerate(lines):
            at = y + ROW / 2 + 4 + (n - (len(lines) - 1) / 2) * 13
            out.append(f'<text x="{LEFT + NAMES}" y="{at:g}" font-size="11" fill="{SOFT}">{escape(line)}</text>')
        middle = y + ROW / 2
        out.append(
            f'<line x1="{grid}" y1="{middle:g}" x2="{width - 12}" y2="{middle:g}" stroke="{LINE}" stroke-width="0.6"/>'
        )
        x = grid + CELL * row + CELL / 2
        out.append(f'<rect x="{x - 9:g}" y="{middle - 9:g}" width="18" height="18" fill="{LINE}"/>')
        for other in sorted(imports(name, names), key=names.index):
            x = grid + CELL * names.index(other) + CELL / 2
            out.append(f'<circle cx="{x:g}" cy="{middle:g}" r="6" fill="{INK}"/>')
    return "\n".join([*out, "</svg>"]) + "\n"


def main() -> int:
    """Write, or compare."""
    made = picture()
    if "--check" in sys.argv[1:]:
        return 0 if PICTURE.exists() and PICTURE.read_text(encoding="utf-8") == made else 1
    PICTURE.write_text(made, encoding="utf-8")
    print(PICTURE.relative_to(ROOT))
    return 0


if __name__ == "__main__":
    sys.exit(main())
