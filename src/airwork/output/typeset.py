"""Pages set by typst from the templates of this package, in the DejaVu fonts that come with it.

Letters they don't have (漢 in a name) are set in a font of this machine; one of no font here stands as its number.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Literal

from airwork.output.letters import as_numbers, had_elsewhere, lacking

Paper = Literal["a5", "half-letter", "a4", "letter"]
PAPERS: dict[Paper, tuple[str, str]] = {
    "a5": ("148mm", "210mm"), "half-letter": ("5.5in", "8.5in"), "a4": ("210mm", "297mm"), "letter": ("8.5in", "11in"),
}  # fmt: skip
_TEMPLATES = Path(__file__).parent / "templates"
_FONTS = Path(__file__).parents[1] / "web" / "static" / "vendor" / "fonts"


def kneeboard_paper(*, metric: bool) -> Paper:
    """The paper of cards and kneeboard pages where a lesson is in these units."""
    return "a5" if metric else "half-letter"


def unprintable(text: str) -> str:
    """The letters of a text that no font here has: they stand on paper as their numbers."""
    return "".join(sorted(had_elsewhere(lacking(text, _FONTS))[1]))


def typeset(
    template: str, data: object, paper: Paper = "a4", *, across: bool = False,
    format: Literal["pdf", "svg", "png"] = "pdf", **more: Any,
) -> bytes:  # fmt: skip
    """A template set with its data, which it reads as JSON. across : the paper lies on its side."""
    import typst

    width, height = PAPERS[paper][::-1] if across else PAPERS[paper]
    text = json.dumps(data, ensure_ascii=False)
    folders, left = had_elsewhere(lacking(text, _FONTS))
    inputs = {"data": as_numbers(text, left), "width": width, "height": height}
    fonts = [str(folder) for folder in (_FONTS, *folders)]
    compiler = typst.Compiler(
        str(_TEMPLATES / template), root=str(_TEMPLATES), font_paths=fonts, ignore_system_fonts=True,
        sys_inputs=inputs,
    )  # fmt: skip
    made = compiler.compile(format=format, **more)
    if isinstance(made, list):
        return bytes(made[0])
    return bytes(made or b"")
