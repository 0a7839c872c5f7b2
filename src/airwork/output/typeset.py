"""Pages set by typst from the templates of this package, in the DejaVu fonts that come with it.

Letters they don't have (漢 in a name) are set in a font of this machine; one of no font here stands as its number,
since a hole in a name would be worse.
"""

from __future__ import annotations

import json
import os
import sys
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

ENDINGS = {".ttf", ".otf", ".ttc", ".otc"}
# Latin, Greek, Cyrillic, punctuation, arrows, signs of mathematics, boxes: whole in DejaVu
FAMILIAR = ((0, 0x24F), (0x370, 0x4FF), (0x2010, 0x205E), (0x2190, 0x22FF), (0x2500, 0x25FF))
MOST_FONTS = 3000  # of a machine, looked through
UNSEEN = {"Cc", "Cf", "Mn", "Me", "Zs", "Zl", "Zp"}  # nothing to draw, or drawn over its neighbor


def lacking(text: str, fonts: Path) -> frozenset[str]:
    """The letters of a text that a folder of fonts doesn't have."""
    plain = {c for c in set(text) if not _familiar(c) and unicodedata.category(c) not in UNSEEN}
    return frozenset(plain) - _letters_of(fonts) if plain else frozenset()


def _familiar(letter: str) -> bool:
    """The fonts that come with airwork have it: nothing need be looked up for most of the world's cards."""
    return any(first <= ord(letter) <= last for first, last in FAMILIAR)


def had_elsewhere(letters: Iterable[str]) -> tuple[tuple[Path, ...], frozenset[str]]:
    """Folders of this machine with fonts that have letters, and the letters that none has."""
    left, folders = set(letters), []
    for font in _machines_fonts():
        if not left:
            break
        if found := left & _letters(font):
            folders.append(font.parent)
            left -= found
    return tuple(dict.fromkeys(folders)), frozenset(left)


def as_numbers(text: str, letters: Iterable[str]) -> str:
    """The text with letters that can't be printed as their numbers: 漢 is [U+6F22]."""
    return text.translate({ord(c): f"[U+{ord(c):04X}]" for c in letters})


@lru_cache(maxsize=1)
def _letters_of(fonts: Path) -> frozenset[str]:
    return frozenset().union(*(_letters(font) for font in sorted(fonts.glob("*.ttf"))))


@lru_cache(maxsize=1)
def _machines_fonts() -> tuple[Path, ...]:
    """The fonts where systems keep them."""
    home = Path.home()
    places = [Path("/usr/share/fonts"), Path("/usr/local/share/fonts"), home / ".fonts", home / ".local/share/fonts"]
    if sys.platform == "darwin":
        places = [Path("/System/Library/Fonts"), Path("/Library/Fonts"), home / "Library/Fonts"]
    elif sys.platform == "win32":
        places = [Path(os.environ.get("WINDIR", r"C:\Windows")) / "Fonts"]
    found = (file for place in places for file in place.rglob("*") if file.suffix.lower() in ENDINGS)
    return tuple(sorted(file for file, _ in zip(found, range(MOST_FONTS), strict=False)))


@lru_cache(maxsize=MOST_FONTS)
def _letters(font: Path) -> frozenset[str]:
    """All that the first face of a font has; none for a file that can't be read."""
    from fontTools.ttLib import TTFont

    try:
        with font.open("rb") as file:
            return frozenset(map(chr, TTFont(file, fontNumber=0, lazy=True).getBestCmap() or ()))
    except Exception:  # whatever a broken font trips over: it has no letters
        return frozenset()


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
