"""Letters on paper: which ones the fonts that come with airwork have, and where this machine has the others.

A letter that no font here has would leave a hole, in a name above all: it is printed as its number.
"""

from __future__ import annotations

import os
import sys
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

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
