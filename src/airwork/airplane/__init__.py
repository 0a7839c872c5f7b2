"""The airplane: its file, handbook tables, loading, runway, and the fitted performance model."""

from __future__ import annotations

from pathlib import Path

from airwork.airplane.airplane import Airplane
from airwork.airplane.answer import Answer
from airwork.airplane.file.beside import with_learning
from airwork.airplane.file.load import read_airplane_file
from airwork.airplane.limits import Limits
from airwork.airplane.parts import FlapNotch, SelectorPosition, Tank
from airwork.errors import InputError

__all__ = [
    "Airplane",
    "Answer",
    "FlapNotch",
    "Limits",
    "SelectorPosition",
    "Tank",
    "find_airplane_file",
    "load_airplane",
]

_DEMO_FOLDER = Path(__file__).parent.parent / "demo_files" / "airplanes"


def load_airplane(path: Path) -> Airplane:
    """Read an airplane file, with what flights have taught of it where NAME.fitted.toml stands beside it.

    Raises
    ------
    InputError : names file, table, row, key, what was found and what was expected.
    """
    path = Path(path)
    return Airplane(with_learning(path, read_airplane_file(path)))


def find_airplane_file(text: str) -> Path:
    """The file a person means: a path, or the id of an airplane that ships with the demo ("larkmoor_155").

    Raises
    ------
    InputError : neither; lists the ids that ship.
    """
    path = Path(text).expanduser()
    try:
        if path.exists():
            return path
    except (OSError, ValueError):
        raise InputError("can't be a path.", where=repr(text)) from None
    shipped = _DEMO_FOLDER / f"{text}.toml"
    if "/" not in text and "\\" not in text and shipped.is_file():
        return shipped
    ids = ", ".join(sorted(f.stem for f in _DEMO_FOLDER.glob("*.toml")))
    raise InputError(f"no such file, and no invented airplane of that id (there are: {ids}).", where=text)
