"""Drawing the card: A5 or half-letter, black on white, set by typst."""

from __future__ import annotations

import json
import tempfile
from dataclasses import asdict
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Literal

from airwork.errors import NotPossible
from airwork.output.card_data import CardData

Paper = Literal["a5", "half-letter"]
PAPERS: dict[Paper, tuple[str, str]] = {"a5": ("148mm", "210mm"), "half-letter": ("5.5in", "8.5in")}
_HERE = Path(__file__).parent
_FONTS = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")


def card_pdf(card: CardData, paper: Paper = "a5") -> bytes:
    """The card as a PDF: one page to fly by, a second with the way out; further pages rather than type under 9 pt."""
    width, height = PAPERS[paper]
    return typeset("card.typ", {"card": json.dumps(asdict(card)), "width": width, "height": height})


def typeset(
    template: str,
    inputs: dict[str, str],
    *,
    too_long: str = "",
    format: Literal["pdf", "svg", "png"] = "pdf",
    **more: Any,
) -> bytes:
    """A template of this folder set with its inputs. NotPossible with `too_long` when the template gives up."""
    import typst

    with tempfile.TemporaryDirectory(prefix="airwork-fonts-") as folder:
        fonts = _lay_out_fonts(Path(folder))
        compiler = typst.Compiler(
            str(_HERE / template), root=str(_HERE), font_paths=[str(fonts)], ignore_system_fonts=True, sys_inputs=inputs
        )
        try:
            made = compiler.compile(format=format, **more)
        except typst.TypstError as problem:
            if "does not fit" in str(problem) and too_long:
                raise NotPossible(too_long) from None
            raise
    if isinstance(made, list):
        return bytes(made[0])
    return bytes(made or b"")


def _lay_out_fonts(folder: Path) -> Path:
    """The two DejaVu faces that come with matplotlib, alone in a folder: typst reads every font it finds in one."""
    spec = find_spec("matplotlib")  # only where it is: importing it would cost half a second
    if spec is not None and spec.origin is not None:
        shelf = Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"
        for name in _FONTS:
            if (shelf / name).is_file():
                _put(shelf / name, folder / name)
    return folder


def _put(source: Path, target: Path) -> None:
    """A link where the system allows one, else a copy."""
    try:
        target.symlink_to(source)
    except OSError:
        import shutil

        shutil.copyfile(source, target)
