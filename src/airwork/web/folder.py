"""Lessons, airplanes, standards of the user's folder. A name from outside is looked up in the list, never opened."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any, Literal

from airwork.airplane import Airplane
from airwork.airplane.file.beside import ENDING, stem
from airwork.airplane.file.load import identity_of
from airwork.errors import AirworkError, InputError
from airwork.files import write_whole
from airwork.jobs.files import load_airplane, load_standard
from airwork.standards import Standard

MOST_FILES = 1000
LARGEST_BYTES = 1_000_000
ASIDE = ".airwork-aside"  # what was taken out on the page
Kind = Literal["lesson", "airplane", "standard"]


@dataclass(frozen=True, slots=True)
class Entry:
    """A file that can be opened. key : its name in addresses. shipped : of the package, never written."""

    key: str
    kind: Kind
    title: str
    path: Path
    shipped: bool
    student: str = ""  # of a lesson, as written in it
    changed_s: float = 0.0
    day: str = ""  # of a lesson, 2025-09-20 in its zone
    zone: str = ""
    clock: str = ""  # of a lesson, 14:30 in its zone
    instructor: str = ""  # of a lesson, where one is aboard
    airplane: str = ""  # of a lesson, its file's key

    @property
    def when(self) -> str:
        """Of a lesson, its day and time."""
        return f"{self.day} {self.clock}".strip()

    @property
    def in_a_list(self) -> str:
        """Of a lesson, what tells it from the others: "2026-11-30 14:30, Nora Whitlock: Steep turns"."""
        who = ", ".join(filter(None, (self.when, self.student)))
        return f"{who}: {self.title}{' (invented)' if self.shipped else ''}" if who else self.title

    @property
    def goes_with_typed(self) -> bool:
        """What was learned of an airplane whose typed file is here: whoever takes that one takes this with it."""
        return self.path.name.endswith(ENDING) and self.path.with_name(f"{stem(self.path)}.toml").is_file()

    @property
    def unfinished(self) -> bool:
        """Of an airplane, no lesson can use it yet."""
        try:
            load_airplane(self.path)
        except AirworkError:
            return not self.shipped
        return False

    def read(self) -> str:
        """The file's text."""
        return self.path.read_text(encoding="utf-8-sig")


class Folder:
    """The user's folder: lessons, airplanes and standards in it and in folders of their names, and what ships."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def entries(self, kind: Kind) -> list[Entry]:
        """Everything of a kind, the user's own first; of one key the user's own hides the shipped one."""
        found: dict[str, Entry] = {}
        for place in (self.path, self.path / f"{kind}s"):
            for file in _files(place):
                entry = _entry(file, shipped=False)
                if entry is not None and entry.kind == kind:
                    found.setdefault(entry.key, entry)
        for file in _files(_shipped(kind)):
            entry = _entry(file, shipped=True)
            if entry is not None:
                found.setdefault(entry.key, entry)
        return list(found.values())

    def find(self, kind: Kind, key: str) -> Entry:
        """The file of a key. InputError when there is none."""
        for entry in self.entries(kind):
            if entry.key == key:
                return entry
        raise InputError(f"there is no such {kind}.", where=key[:60] or kind)

    def airplane(self, key: str) -> Airplane:
        """The airplane of a key, read once for each state of its file."""
        return load_airplane(self.find("airplane", key).path)

    def standard(self, name: str) -> Standard:
        """A standard of the folder by its key, else a published one by its name."""
        own = next((e for e in self.entries("standard") if e.key == name), None)
        if own is None and name.endswith(".toml"):
            raise InputError("there is no such standard.", where=name[:60])
        return load_standard(name if own is None else own.path)

    def save(self, kind: Kind, key: str, text: str) -> Path:
        """Write a file of the user's own whole; a shipped one becomes the user's copy in lessons/ or airplanes/."""
        if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9 _.-]{0,80}", key) or ".." in key:
            raise InputError("letters, figures, blank, - _ and . only, up to 80.", where=f"name {key[:40]!r}")
        if len(text.encode()) > LARGEST_BYTES:
            raise InputError("is larger than 1 MB.", where=key)
        own = next((e for e in self.entries(kind) if e.key == key and not e.shipped), None)
        path = own.path if own is not None else self.path / f"{kind}s" / f"{key}.toml"
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, text.replace("\r\n", "\n"))
        return path

    def take_out(self, kind: Kind, key: str) -> str:
        """Put a file of the user's own aside; returns the word that puts it back.

        Raises
        ------
        InputError : there is none, or it is the package's.
        """
        entry = self.find(kind, key)
        if entry.shipped:
            raise InputError("comes with airwork and stays.", where=entry.title)
        aside = self.path / ASIDE
        aside.mkdir(exist_ok=True)
        word = next(w for n in range(1000) if not (aside / (w := f"{key}.{n}.{kind}")).exists())
        entry.path.replace(aside / word)
        return word

    def put_back(self, kind: Kind, word: str) -> str:
        """A file put aside stands again where files of its kind are; returns its key.

        Raises
        ------
        InputError : it is not there, or another has taken its name.
        """
        found = next((f for f in (self.path / ASIDE).glob(f"*.{kind}") if f.name == word), None)
        if found is None:
            raise InputError("is not there any more.", where=word[:80])
        key = word.rsplit(".", 2)[0]
        to = self.path / f"{kind}s" / f"{key}.toml"
        if to.exists() or any(e.key == key and not e.shipped for e in self.entries(kind)):
            raise InputError("another has taken its name meanwhile.", where=key)
        to.parent.mkdir(exist_ok=True)
        found.replace(to)
        return key


def _files(place: Path) -> list[Path]:
    if not place.is_dir():
        return []
    return sorted(f for f in place.glob("*.toml") if not f.name.startswith("."))[:MOST_FILES]


def _shipped(kind: Kind) -> Path:
    return Path(str(resources.files("airwork").joinpath("demo_files", f"{kind}s")))


def changed_s(path: Path) -> float:
    """When a file was last changed, 0 for none. [s since 1970 UTC]"""
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0


def _entry(path: Path, *, shipped: bool) -> Entry | None:
    return _looked_at(path, changed_s(path), shipped)


@lru_cache(maxsize=64)  # the same text lies in more than one place: what ships, and the copy of it that one changes
def _tables(text: str) -> dict[str, Any]:
    return tomllib.loads(text)


@lru_cache(maxsize=4 * MOST_FILES)
def _looked_at(path: Path, when_s: float, shipped: bool) -> Entry | None:
    """What a file is; None for other TOML files. One that can't be read goes by the folder it is in."""
    try:
        if path.stat().st_size > LARGEST_BYTES:
            return None
        text = path.read_text(encoding="utf-8-sig")
        if "schema_version" in (airplane := identity_of(text)):
            name = str(airplane.get("name", path.stem)) + (", fitted" if path.name.endswith(ENDING) else "")
            return Entry(path.stem, "airplane", name, path, shipped, "", when_s)
        data = _tables(text)
    except (OSError, ValueError, RecursionError):
        kind: Kind | None = {
            "lessons": "lesson",
            "airplanes": "airplane",
            "standards": "standard",
        }.get(path.parent.name)  # type: ignore[assignment]
        return None if kind is None else Entry(path.stem, kind, path.stem, path, shipped, "", when_s)
    student = data.get("student")
    if isinstance(data.get("standard"), dict):
        title = str(data["standard"].get("title", path.stem))
        return Entry(path.stem, "standard", title, path, shipped, "", when_s)
    if "people" in data or "exercises" in data:
        name = str(student.get("name", "")) if isinstance(student, dict) else ""
        title, day, zone, clock = (str(data.get(key, "")) for key in ("title", "date", "zone", "time"))
        alone = isinstance(student, dict) and student.get("solo") is True
        teacher = "" if alone else _said(data.get("instructor"), "name")
        named = Path(_said(data.get("airplane"), "file").replace("\\", "/")).name.removesuffix(".toml")
        return Entry(path.stem, "lesson", title or path.stem, path, shipped, name, when_s, day, zone, clock[:5],
                     teacher, named)  # fmt: skip
    return None


def _said(table: object, name: str) -> str:
    """A text of a table; "" where there is none."""
    return str(table.get(name, "")) if isinstance(table, dict) else ""
