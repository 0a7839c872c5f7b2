"""Letters on paper: which ones the fonts that come with airwork have, and where this machine has the others.

A letter that no font here has would leave a hole, in a name above all: it is printed as its number.
"""

from __future__ import annotations

import os
import struct
import sys
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import BinaryIO

ENDINGS = {".ttf", ".otf", ".ttc", ".otc"}
MOST_FONTS = 3000  # of a machine, looked through
UNSEEN = {"Cc", "Cf", "Mn", "Me", "Zs", "Zl", "Zp"}  # nothing to draw, or drawn over its neighbor


def lacking(text: str, fonts: Path) -> frozenset[str]:
    """The letters of a text that a folder of fonts doesn't have."""
    plain = {c for c in text if ord(c) > 0x7E and unicodedata.category(c) not in UNSEEN}
    return frozenset(plain) - _letters_of(fonts) if plain else frozenset()


def had_elsewhere(letters: Iterable[str]) -> tuple[tuple[Path, ...], frozenset[str]]:
    """Folders of this machine with fonts that have letters, and the letters that none has."""
    left, folders = set(letters), []
    for font in _machines_fonts():
        if not left:
            break
        if found := {c for c in left if _has(font, c)}:
            folders.append(font.parent)
            left -= found
    return tuple(dict.fromkeys(folders)), frozenset(left)


def as_numbers(text: str, letters: Iterable[str]) -> str:
    """The text with letters that can't be printed as their numbers: 漢 is [U+6F22]."""
    return text.translate({ord(c): f"[U+{ord(c):04X}]" for c in letters})


@lru_cache(maxsize=1)
def _letters_of(fonts: Path) -> frozenset[str]:
    ranges = [r for font in sorted(fonts.glob("*.ttf")) for r in _ranges(font)]
    return frozenset(chr(n) for first, last in ranges for n in range(first, min(last, 0x10FFFF) + 1))


def _has(font: Path, letter: str) -> bool:
    return any(first <= ord(letter) <= last for first, last in _ranges(font))


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
def _ranges(font: Path) -> tuple[tuple[int, int], ...]:
    """First and last number of each stretch of letters a font has; () for a file that can't be read.

    The table "cmap", formats 4 and 12 (OpenType specification 1.9, cmap), of its first face.
    """
    try:
        with font.open("rb") as file:
            head = file.read(12)
            at = struct.unpack(">I", _at(file, 12, 4))[0] if head[:4] == b"ttcf" else 0
            count = struct.unpack(">H", _at(file, at + 4, 2))[0]
            tables = {row[:4]: row for n in range(count) if (row := _at(file, at + 12 + 16 * n, 16))}
            start, length = struct.unpack(">II", tables[b"cmap"][8:16])
            return tuple(_stretches(_at(file, start, min(length, 4_000_000))))
    except (OSError, KeyError, struct.error, IndexError):
        return ()


def _at(file: BinaryIO, place: int, length: int) -> bytes:
    file.seek(place)
    return file.read(length)


def _stretches(cmap: bytes) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    for n in range(struct.unpack(">H", cmap[2:4])[0]):
        at = struct.unpack(">I", cmap[8 + 8 * n : 12 + 8 * n])[0]
        form = struct.unpack(">H", cmap[at : at + 2])[0]
        if form == 12:
            groups = struct.unpack(">I", cmap[at + 12 : at + 16])[0]
            rows = struct.iter_unpack(">III", cmap[at + 16 : at + 16 + 12 * groups])
            found += [(first, last) for first, last, _ in rows]
        elif form == 4:
            count = struct.unpack(">H", cmap[at + 6 : at + 8])[0] // 2
            ends = struct.unpack(f">{count}H", cmap[at + 14 : at + 14 + 2 * count])
            starts = struct.unpack(f">{count}H", cmap[at + 16 + 2 * count : at + 16 + 4 * count])
            found += [(first, last) for first, last in zip(starts, ends, strict=True) if first < 0xFFFF]
    return found
