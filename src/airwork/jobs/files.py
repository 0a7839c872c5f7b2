"""What a job starts from, as people name it: an airplane, a lesson, a standard."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from airwork import units
from airwork.airplane import Airplane, find_airplane_file
from airwork.airplane import load_airplane as read_airplane
from airwork.airplane.file.beside import fitted_path
from airwork.airplane.file.load import identity_of
from airwork.errors import InputError
from airwork.lesson.file import load_lesson as read_lesson
from airwork.lesson.lesson import Lesson
from airwork.standards import Standard, load_standard

__all__ = ["airplane_file_of", "demo_folder", "lesson_beside", "load_airplane", "load_lesson", "load_standard",
           "plausible_weight", "text_or_none", "typed_weight_kg"]  # fmt: skip

# Of the maximum takeoff weight: beyond, kg and lb were mixed up or a digit was lost; our own choice
LEAST_SHARE, MOST_OVERWEIGHT = 0.3, 1.1
KEPT = 16  # airplanes kept read, each for one state of its file
_DEMO = Path(__file__).parent.parent / "demo_files"
DEMO_LESSON = _DEMO / "lessons" / "stalls_over_the_lake.toml"


def demo_folder() -> Path:
    """The folder of the demo that ships: airplanes, lessons, recordings, all invented. `airwork demo` makes a copy."""
    return _DEMO


def load_airplane(airplane: str | Path | Airplane) -> Airplane:
    """An airplane: its file, the id of an invented one that ships ("larkmoor_155"), or one that is loaded already.

    Read once for each state of its file.

    Raises
    ------
    InputError : no such file, or what is wrong in it: file, table, row, key, what was found, what was expected.
    """
    if isinstance(airplane, Airplane):
        return airplane
    path = find_airplane_file(str(airplane))
    try:
        state = path.stat()
    except OSError:
        return read_airplane(path)  # says what is wrong
    learned = fitted_path(path)
    return _read(path, state.st_mtime_ns, state.st_size, learned.stat().st_mtime_ns if learned.is_file() else 0)


@lru_cache(maxsize=KEPT)
def _read(path: Path, changed_ns: int, size: int, learned_ns: int) -> Airplane:
    return read_airplane(path)


def airplane_file_of(airplane_id: str, *folders: Path) -> Path | None:
    """The file of an airplane by its id: here, in one of the folders or their `airplanes/`, else one that ships.

    Raises
    ------
    InputError : two files have the id.
    """
    found: dict[Path, Path] = {}  # by what they really are: the same file is seen from several folders
    places = [place for folder in (Path(), *folders) for place in (folder, folder / "airplanes")]
    for path in (p for place in places for p in sorted(place.glob("*.toml"))):
        if path.name.endswith(".fitted.toml"):  # what `airplane fit` wrote beside the typed file, of the same id
            continue
        try:
            identity = identity_of(path.read_text(encoding="utf-8-sig"))
        except (OSError, ValueError):
            continue
        if "schema_version" in identity and identity.get("id") == airplane_id:
            found.setdefault(path.resolve(), path)
    if len(found) > 1:
        which = " and ".join(str(p) for p in found.values())
        both = "both" if len(found) == 2 else "all"
        raise InputError(f"{which} are {both} {airplane_id}; say which: --airplane-file FILE.", where="import")
    try:
        return next(iter(found.values())) if found else find_airplane_file(airplane_id)
    except InputError:
        return None


def load_lesson(lesson: str | Path | Lesson, *, conditions: Mapping[str, str] | None = None) -> Lesson:
    """A lesson: its file, "demo" for the one that ships, or one that is read already.

    Parameters
    ----------
    conditions : values in place of the file's: {"wind": "260/18 kt", "temperature": "34 °C"}.

    Raises
    ------
    InputError : no such file, or what is wrong in it; conditions for a lesson that is read already.
    """
    if isinstance(lesson, Lesson):
        if conditions:
            raise InputError("are for a lesson's file; this lesson is read already.", where="conditions")
        return lesson
    return read_lesson(DEMO_LESSON if str(lesson) == "demo" else Path(lesson).expanduser(), conditions)


def lesson_beside(recording: Path) -> Lesson | None:
    """The lesson in `NAME.toml` beside `NAME.csv`, if there is one.

    Raises
    ------
    InputError : what is wrong in it.
    """
    path = recording.with_name(recording.name.split(".")[0] + ".toml")
    return load_lesson(path) if path.is_file() else None


def standard_named(standard: str | Path | Standard) -> Standard:
    """A standard by name or file, or one that is loaded already."""
    return standard if isinstance(standard, Standard) else load_standard(standard)


def text_or_none(text: str | None, kind: units.Kind, where: str) -> float | None:
    """A quantity as a person writes it ("2150 lb"), in SI; None stays None."""
    return None if text is None else units.parse(text, kind, where=where)


def typed_weight_kg(text: str | None, airplane: Airplane | None) -> float | None:
    """A weight as a person writes it ("2150 lb"), which this airplane can have; None stays None. [kg]"""
    mass_kg = text_or_none(text, "mass", "weight")
    plausible_weight(mass_kg, airplane)
    return mass_kg


def plausible_weight(mass_kg: float | None, airplane: Airplane | None) -> None:
    """A weight far above what may take off, or a fraction of it, is a slip of the pen; a little above may be flown."""
    if mass_kg is None or airplane is None:
        return
    most_kg = airplane.max_takeoff_mass_kg
    if LEAST_SHARE * most_kg < mass_kg <= MOST_OVERWEIGHT * most_kg:
        return
    weight, most = (units.write(kg, airplane.book.mass) for kg in (mass_kg, most_kg))
    raise InputError(f"{weight} can't be this airplane's; the maximum takeoff weight is {most}.", where="weight")
