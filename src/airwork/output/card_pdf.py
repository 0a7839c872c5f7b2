"""Drawing the card: A5 or half-letter, black on white, set by typst."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any, Literal

from airwork.output.card_data import CardData

Paper = Literal["a5", "half-letter"]
PAPERS: dict[Paper, tuple[str, str]] = {"a5": ("148mm", "210mm"), "half-letter": ("5.5in", "8.5in")}
_HERE = Path(__file__).parent
_FONTS = _HERE.parent / "web" / "static" / "vendor" / "fonts"


def card_pdf(card: CardData, paper: Paper = "a5") -> bytes:
    """The card as a PDF: one page to fly by, a second with the way out; further pages rather than type under 9 pt."""
    width, height = PAPERS[paper]
    return typeset("card.typ", {"card": json.dumps(asdict(card)), "width": width, "height": height})


def typeset(
    template: str, inputs: dict[str, str], *, format: Literal["pdf", "svg", "png"] = "pdf", **more: Any
) -> bytes:
    """A template of this folder set with its inputs, in the DejaVu faces that come with the package."""
    import typst

    compiler = typst.Compiler(
        str(_HERE / template), root=str(_HERE), font_paths=[str(_FONTS)], ignore_system_fonts=True, sys_inputs=inputs
    )
    made = compiler.compile(format=format, **more)
    if isinstance(made, list):
        return bytes(made[0])
    return bytes(made or b"")
