"""Pages set by typst in the DejaVu faces that come with the package; the card: A5 or half-letter, black on white."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any, Literal

from airwork.output.card_data import CardData

Paper = Literal["a5", "half-letter", "a4", "letter"]
PAPERS: dict[Paper, tuple[str, str]] = {
    "a5": ("148mm", "210mm"), "half-letter": ("5.5in", "8.5in"), "a4": ("210mm", "297mm"), "letter": ("8.5in", "11in"),
}  # fmt: skip
_HERE = Path(__file__).parent
_FONTS = _HERE.parent / "web" / "static" / "vendor" / "fonts"


def card_pdf(card: CardData, paper: Paper = "a5") -> bytes:
    """The card as a PDF: one page to fly by, a second with the way out; further pages rather than type under 9 pt."""
    return typeset("card.typ", asdict(card), paper)


def typeset(
    template: str, data: object, paper: Paper = "a4", *, across: bool = False,
    format: Literal["pdf", "svg", "png"] = "pdf", **more: Any,
) -> bytes:  # fmt: skip
    """A template of this folder set with its data, which it reads as JSON. across : the paper lies on its side."""
    import typst

    width, height = PAPERS[paper][::-1] if across else PAPERS[paper]
    inputs = {"data": json.dumps(data, ensure_ascii=False), "width": width, "height": height}
    compiler = typst.Compiler(
        str(_HERE / template), root=str(_HERE), font_paths=[str(_FONTS)], ignore_system_fonts=True, sys_inputs=inputs
    )
    made = compiler.compile(format=format, **more)
    if isinstance(made, list):
        return bytes(made[0])
    return bytes(made or b"")
