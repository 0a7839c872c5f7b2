"""Learn an airplane: its typed file, readings noted in it, and recordings of it → what is known, the fitted file.

What flights have taught is kept beside the airplane's file (`airplane.performance.knowledge`), each flight once however
often and in whatever format it comes. `take_up` does it by itself for a debriefed flight.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import airwork.airplane
from airwork import units
from airwork.airplane import Airplane, find_airplane_file
from airwork.airplane.file.beside import fitted_path
from airwork.airplane.performance import Performance
from airwork.airplane.performance.fitted_file import compose, fit
from airwork.airplane.performance.flight_words import changes, flight_lines, told
from airwork.airplane.performance.flown import Flown, WeightFrom
from airwork.airplane.performance.knowledge import (
    Knowledge,
    Told,
    note_learned,
    note_removed,
    note_weight,
    read_knowledge,
)
from airwork.airplane.performance.report import FitReport, fit_report
from airwork.debrief import Debrief
from airwork.debrief.fits import misfits
from airwork.errors import AirworkError, InputError
from airwork.files import write_whole
from airwork.jobs.files import load_airplane, text_or_none
from airwork.recording import Flight, read_flight

_SHIPPED = Path(airwork.airplane.__file__).parent.parent / "demo_files"


@dataclass(frozen=True)
class Learned:
    """An airplane learned; nothing is written until `keep`.

    typed : the file it was learned from; home : where its knowledge lives. fitted_text : what NAME.fitted.toml holds.
    new, reweighed, gone : flights to be noted as learned, with a weight noted later, as removed.
    """

    report: FitReport
    performance: Performance
    typed: Path
    home: Path
    fitted_text: str
    new: tuple[tuple[Flown, tuple[str, ...], tuple[Told, ...]], ...] = ()
    reweighed: tuple[Flown, ...] = ()
    gone: tuple[Flown, ...] = ()

    def keep(self, target: Path | None = None) -> Path:
        """Note the flights and write the fitted file; its path."""
        for flown in self.gone:
            note_removed(self.home, flown)
        for flown in self.reweighed:
            note_weight(self.home, flown)
        for flown, changed, after in self.new:
            note_learned(self.home, flown, changed, after)
        where = fitted_path(self.home) if target is None else target
        write_whole(where, self.fitted_text)
        return where


def learn_airplane(
    airplane: str | Path,
    recordings: Sequence[str | Path] = (),
    *,
    weight: str | None = None,
    altimeter: str | None = None,
    forget: Sequence[str] = (),
    keep_outliers: bool = False,
    against_book: bool = False,
) -> Learned:
    """What an airplane's handbook, its noted readings and recordings of it teach. Nothing is written but by `keep`.

    Parameters
    ----------
    airplane : the typed file, or the id of an invented one that ships.
    weight : at the start of the recordings, "2150 lb"; taken for unknown, and found, if not given.
    altimeter : the setting of the recordings, where they have none.
    forget : recordings, by name or key, whose flights no longer count.
    keep_outliers : use readings that lie more than 3 standard deviations off.
    against_book : hold the fitted physics against every row of the handbook.

    Raises
    ------
    InputError : one line: what can't be used, why, what to do.
    """
    typed = find_airplane_file(str(airplane))
    home = typed if Path(airplane).expanduser().exists() else Path.cwd() / typed.name
    known = load_airplane(typed)
    had = read_knowledge(home)
    gone = [had.named(text) for text in forget]
    flights = [f for f in had.flights if f not in gone]
    mass = None if weight is None else _mass_kg(known, weight)
    setting = text_or_none(altimeter, "pressure", "altimeter")
    found, lines = _from_recordings(known, recordings, mass, setting)
    step = _Step(typed, known, keep_outliers)
    new: list[tuple[Flown, tuple[str, ...], tuple[Told, ...]]] = []
    heavier: list[Flown] = []
    before = step.fit(flights) if found else None
    for flown in found:
        twin = Knowledge(tuple(flights)).twin(flown)
        if twin is not None and _tells_more(flown, twin):
            flights.remove(twin)
            gone.append(twin)
            flown = _weighed(flown, twin) if flown.weight_from == "unknown" else flown
        elif twin is not None:
            lines.append(f"{flown.name}: learned already (as {twin.name}), counted once")
            if twin.weight_from == "unknown" and flown.weight_from != "unknown":
                flights[flights.index(twin)] = better = _weighed(twin, flown)
                heavier.append(better)
            continue
        flights.append(flown)
        after = step.fit(flights)
        new.append((flown, changes(before, after) if before is not None else (), told(after)))
        before = after
    performance = before if before is not None and not heavier else step.fit(flights)
    report = fit_report(performance, against_book=against_book, segments=(*lines, *flight_lines(performance)))
    text = step.compose(performance, _says(report))
    return Learned(report, performance, typed, home, text, tuple(new), tuple(heavier), tuple(gone))


def learn_from_debrief(found: Debrief, airplane: str | Path | None) -> tuple[str, ...]:
    """Learn from a flight just debriefed with an airplane's file; what it changed, in words."""
    if not airplane:
        return ()
    if found.plan.mass_kg is not None and found.mass_kg == found.plan.mass_kg:
        how: WeightFrom = "lesson"
    else:
        how = "unknown" if found.mass_kg is None else "typed"
    return take_up(find_airplane_file(str(airplane)), found.flight, mass_kg=found.mass_kg, weight_from=how)


def take_up(
    typed: Path, flight: Flight, *, mass_kg: float | None = None, weight_from: WeightFrom = "unknown"
) -> tuple[str, ...]:
    """Learn from a flight just debriefed, and keep it beside the airplane's file; what it changed, in words.

    Nothing for airplanes that ship, for a flight learned already, for one that nothing can be learned from, and for
    one the airplane could not have flown: it may be another's. Never stands in the way of a debrief: what can't be
    kept is said.
    """
    from airwork.recording.flown import flown_of

    if typed.resolve().is_relative_to(_SHIPPED.resolve()) or not typed.is_file():
        return ()
    try:
        airplane = load_airplane(typed)
        if wrong := misfits(flight, airplane):
            again = f"airwork airplane fit {typed.name} RECORDING"
            return (f"{airplane.name} learned nothing from this flight. {wrong[0]} If it was this one: {again}.",)
        flown = flown_of(flight, airplane, mass_kg, weight_from)
        if flown is None:
            return ()
        had = read_knowledge(typed)
        twin = had.twin(flown)
        if twin is not None and _tells_more(flown, twin):
            flown = _weighed(flown, twin) if weight_from == "unknown" else flown
            note_removed(typed, twin)
            had, twin = read_knowledge(typed), None
        if twin is not None and not (twin.weight_from == "unknown" and weight_from != "unknown"):
            return ()
        step = _Step(typed, airplane, False)
        if twin is not None:
            better = _weighed(twin, flown)
            flights = [better if f is twin else f for f in had.flights]
            after = step.fit(flights)
            changed = changes(step.fit(had.flights), after)
            note_weight(typed, better, changed, told(after))
        else:
            flights = [*had.flights, flown]
            after = step.fit(flights)
            changed = changes(step.fit(had.flights), after)
            note_learned(typed, flown, changed, told(after))
        report = fit_report(after)
        write_whole(fitted_path(typed), step.compose(after, _says(report)))
    except (AirworkError, OSError) as problem:
        return (f"nothing was learned of the airplane: {problem}",)
    return (f"{airplane.name}: learned from {len(flights)} flight{'s' if len(flights) > 1 else ''}", *changed)


@dataclass(frozen=True)
class _Step:
    """Fits of one airplane's file to more and more flights."""

    typed: Path
    airplane: Airplane
    keep_outliers: bool

    def compose(self, performance: Performance, says: list[str]) -> str:
        return compose(self._text(), performance, says)

    def fit(self, flights: Sequence[Flown]) -> Performance:
        return fit(self._text(), flights, keep_outliers=self.keep_outliers, where=str(self.typed))

    def _text(self) -> str:
        return self.typed.read_text(encoding="utf-8-sig")


def _says(report: FitReport) -> list[str]:
    """How the airplane differs from its book and from what it was, for people who open the file."""
    return [*(d.words for d in report.differences), *([report.wear] if report.wear else [])]


def _tells_more(flown: Flown, twin: Flown) -> bool:
    """Has this recording of a flight the RPM that the one learned from lacks?"""
    return twin.without_rpm and not flown.without_rpm


def _weighed(twin: Flown, flown: Flown) -> Flown:
    return replace(twin, mass_kg=flown.mass_kg, weight_from=flown.weight_from)


def _mass_kg(airplane: Airplane, weight: str) -> float:
    mass = units.parse(weight, "mass", where="weight")
    if not 0.3 * airplane.max_takeoff_mass_kg < mass <= 1.05 * airplane.max_takeoff_mass_kg:
        unit = airplane.book.mass
        top = units.write(airplane.max_takeoff_mass_kg, unit)
        raise InputError(f"{units.write(mass, unit)} can't be this airplane's weight (at most {top}).", where="weight")
    return mass


def _from_recordings(
    airplane: Airplane, recordings: Sequence[str | Path], mass_kg: float | None, setting_pa: float | None
) -> tuple[list[Flown], list[str]]:
    """What the recordings say of the airplane, and a line about each that says nothing."""
    from airwork.recording.flown import by_path, flown_of, missing_for_rows

    flights, lines = [], []
    for path in map(Path, recordings):
        flight = read_flight(path, airplane=airplane, setting_pa=setting_pa, mass_kg=mass_kg)
        flown = flown_of(flight, airplane, mass_kg, "unknown" if mass_kg is None else "typed")
        if flown is not None:
            flights.append(flown)
        missing = missing_for_rows(flight, airplane)
        if flown is not None and not missing:
            continue
        why = f"it has no {', no '.join(missing)}" if missing else "no 16 seconds of steady enough flight"
        seen = by_path(flight, airplane)
        by_its_path = f"; by its path it {', '.join(seen)}" if seen else ""
        what = "nothing to learn of its power" if flown is None else "only its full-throttle climb can be learned"
        lines.append(f"{path.name}: {what}, {why}{by_its_path}")
    return flights, lines
