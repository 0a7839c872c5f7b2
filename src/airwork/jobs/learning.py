"""Learn an airplane: its typed file and recordings of it → what is known, what differs, the fitted file's text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from airwork import units
from airwork.airplane import Airplane, find_airplane_file
from airwork.airplane.performance import Reading
from airwork.airplane.performance.fitted_file import compose
from airwork.airplane.performance.report import FitReport, fit_report
from airwork.errors import InputError
from airwork.jobs.files import load_airplane, text_or_none

_WORDS = {"level": "level", "full_throttle_climb": "full-throttle climb", "idle_glide": "idle glide"}


@dataclass(frozen=True, slots=True)
class Learned:
    """An airplane learned. typed : the file it was learned from; fitted_text : what NAME.fitted.toml would hold."""

    report: FitReport
    typed: Path
    fitted_text: str


def learn_airplane(
    airplane: str | Path,
    recordings: Sequence[str | Path] = (),
    *,
    weight: str | None = None,
    altimeter: str | None = None,
    keep_outliers: bool = False,
    against_book: bool = False,
) -> Learned:
    """What an airplane's handbook, its noted readings and recordings of it teach. Nothing is written.

    Parameters
    ----------
    airplane : the typed file, or the id of an invented one that ships.
    weight : at the start of the recordings, "2150 lb"; the handbook's if not given.
    altimeter : the setting of the recordings, where they have none.
    keep_outliers : use readings that lie more than 4 standard deviations off.
    against_book : hold the fitted physics against every row of the handbook.

    Raises
    ------
    InputError : one line: what can't be used, why, what to do.
    """
    typed = find_airplane_file(str(airplane))
    known = load_airplane(typed)
    readings: list[Reading] = []
    lines: list[str] = []
    if recordings:
        readings, lines = _from_recordings(known, recordings, _mass_kg(known, weight), altimeter)
    text = typed.read_text(encoding="utf-8-sig")
    _, first = compose(text, readings, says=[], keep_outliers=keep_outliers, where=str(typed))
    report = fit_report(first, against_book=against_book, segments=lines)
    says = [d.words for d in report.differences]
    out, _ = compose(text, readings, says=says, keep_outliers=keep_outliers, where=str(typed))
    return Learned(report, typed, out)


def _mass_kg(airplane: Airplane, weight: str | None) -> float:
    given = text_or_none(weight, "mass", "weight")
    mass = airplane.handbook_mass_kg if given is None else given
    if not 0.3 * airplane.max_takeoff_mass_kg < mass <= 1.05 * airplane.max_takeoff_mass_kg:
        top = units.write(airplane.max_takeoff_mass_kg, "lb")
        raise InputError(f"{units.write(mass, 'lb')} can't be this airplane's weight (at most {top}).", where="weight")
    return mass


def _from_recordings(
    airplane: Airplane, recordings: Sequence[str | Path], mass_kg: float, altimeter: str | None
) -> tuple[list[Reading], list[str]]:
    """Readings found in the recordings, and one line about each recording."""
    from airwork.recording import read_flight
    from airwork.recording.segments import missing_for_segments, stabilised_segments

    setting = text_or_none(altimeter, "pressure", "altimeter")
    readings: list[Reading] = []
    lines = []
    for path in map(Path, recordings):
        flight = read_flight(path, airplane=airplane, setting_pa=setting, mass_kg=mass_kg)
        missing = missing_for_segments(flight, airplane)
        found = stabilised_segments(flight, airplane, mass_kg)
        readings += [segment.reading for segment in found]
        if missing:
            lines.append(f"{path.name}: nothing to learn from, it has no {', no '.join(missing)}")
        else:
            kinds = [s.reading.kind for s in found]
            parts = [f"{kinds.count(k)} {w}" for k, w in _WORDS.items() if kinds.count(k)]  # type: ignore[arg-type]
            what = ", ".join(parts) if parts else "no steady stretch of 45 s or more"
            lines.append(f"{path.name}: {what}")
    return readings, lines
