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
    "shipped_file",
    "shipped_ids",
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
    if (shipped := shipped_file(text)) is not None:
        return shipped
    raise InputError(
        f"no such file, and no invented airplane of that id (there are: {', '.join(shipped_ids())}).", where=text
    )


def shipped_file(text: str) -> Path | None:
    """The file of an invented airplane that ships, by its id or the file's name."""
    path = _DEMO_FOLDER / f"{text.removesuffix('.toml')}.toml"
    return path if "/" not in text and "\\" not in text and path.is_file() else None


def shipped_ids() -> tuple[str, ...]:
    """The ids of the invented airplanes that ship."""
    return tuple(sorted(f.stem for f in _DEMO_FOLDER.glob("*.toml")))
