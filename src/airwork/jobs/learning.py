"""Learn an airplane: its typed file, readings noted in it, and recordings of it → what is known, the fitted file.

What flights have taught is kept beside the airplane's file (`airplane.performance.knowledge`), each flight once however
often and in whatever format it comes. `learn_from_debrief` does it by itself for a debriefed flight.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

from airwork.airplane import Airplane, find_airplane_file
from airwork.airplane.file.beside import fitted_path
from airwork.airplane.performance import Performance
from airwork.airplane.performance.fitted_file import compose, fit
from airwork.airplane.performance.flight_words import changes, flight_lines
from airwork.airplane.performance.flown import Flown, WeightFrom
from airwork.airplane.performance.knowledge import (
    Knowledge,
    note_learned,
    note_removed,
    note_weight,
    read_knowledge,
)
from airwork.airplane.performance.report import FitReport, fit_report
from airwork.debrief import Debrief
from airwork.debrief.fits import misfits
from airwork.errors import AirworkError
from airwork.files import write_whole
from airwork.jobs.files import demo_folder, load_airplane, text_or_none, typed_weight_kg
from airwork.recording import read_flight


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
    new: tuple[tuple[Flown, tuple[str, ...]], ...] = ()
    reweighed: tuple[Flown, ...] = ()
    gone: tuple[Flown, ...] = ()

    def keep(self, target: Path | None = None) -> Path:
        """Note the flights and write the fitted file; its path."""
        for flown in self.gone:
            note_removed(self.home, flown)
        for flown in self.reweighed:
            note_weight(self.home, flown)
        for flown, changed in self.new:
            note_learned(self.home, flown, changed)
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
    setting_pa = text_or_none(altimeter, "pressure", "altimeter")
    found, lines = _from_recordings(known, recordings, typed_weight_kg(weight, known), setting_pa)
    step = _Step.of(typed, keep_outliers=keep_outliers)
    new: list[tuple[Flown, tuple[str, ...]]] = []
    reweighed: list[Flown] = []
    before = step.fit(flights) if found else None
    for flown in found:
        change = _with(flights, flown)
        flights = change.flights
        if change.new is None and change.twin is not None:
            lines.append(f"{flown.name}: learned already (as {change.twin.name}), counted once")
            reweighed += [] if change.reweighed is None else [change.reweighed]
            continue
        gone += [] if change.twin is None else [change.twin]
        after = step.fit(flights)
        new.append((flights[-1], changes(before, after) if before is not None else ()))
        before = after
    performance = before if before is not None and not reweighed else step.fit(flights)
    report = fit_report(performance, against_book=against_book, segments=(*lines, *flight_lines(performance)))
    text = step.compose(performance, report)
    return Learned(report, performance, typed, home, text, tuple(new), tuple(reweighed), tuple(gone))


def learn_from_debrief(found: Debrief, airplane: str | Path | None) -> tuple[str, ...]:
    """Learn from a flight just debriefed, and keep it beside the airplane's file; what it changed, in words.

    Nothing for airplanes that ship, for a flight learned already, for one that nothing can be learned from, and for
    one the airplane could not have flown: it may be another's. Never stands in the way of a debrief: what can't be
    kept is said.
    """
    if not airplane:
        return ()
    typed = find_airplane_file(str(airplane))
    if typed.resolve().is_relative_to(demo_folder().resolve()) or not typed.is_file():
        return ()
    try:
        return _learn_flight(typed, found)
    except (AirworkError, OSError) as problem:
        return (f"nothing was learned of the airplane: {problem}",)


def _learn_flight(typed: Path, found: Debrief) -> tuple[str, ...]:
    from airwork.recording.flown import flown_of

    known = load_airplane(typed)
    if wrong := misfits(found.flight, known):
        again = f"airwork airplane fit {typed.name} RECORDING"
        return (f"{known.name} learned nothing from this flight. {wrong[0]} If it was this one: {again}.",)
    flown = flown_of(found.flight, known, found.mass_kg, _weight_from(found))
    if flown is None:
        return ()
    had = read_knowledge(typed)
    change = _with(had.flights, flown)
    if change.new is None and change.reweighed is None:
        return ()
    step = _Step.of(typed)
    after = step.fit(change.flights)
    changed = changes(step.fit(had.flights), after)
    if change.new is None:
        assert change.reweighed is not None
        note_weight(typed, change.reweighed, changed)
    else:
        if change.twin is not None:
            note_removed(typed, change.twin)
        note_learned(typed, change.new, changed)
    write_whole(fitted_path(typed), step.compose(after, fit_report(after)))
    count = len(change.flights)
    return (f"{known.name}: learned from {count} flight{'s' if count > 1 else ''}", *changed)


def _weight_from(found: Debrief) -> WeightFrom:
    if found.plan.mass_kg is not None and found.mass_kg == found.plan.mass_kg:
        return "lesson"
    return "unknown" if found.mass_kg is None else "typed"


class _Change(NamedTuple):
    """What one more flight makes of those learned.

    twin : the same flight, learned before; new : it counts from now on, in place of its twin; reweighed : the twin with
    the weight that was told now. Neither: nothing is news.
    """

    flights: list[Flown]
    twin: Flown | None
    new: Flown | None = None
    reweighed: Flown | None = None


def _with(flights: Sequence[Flown], flown: Flown) -> _Change:
    twin = Knowledge(tuple(flights)).twin(flown)
    others = [f for f in flights if f is not twin]
    if twin is None:
        return _Change([*others, flown], None, flown)
    if twin.without_rpm and not flown.without_rpm:  # it tells more
        new = _weighed(flown, twin) if flown.weight_from == "unknown" else flown
        return _Change([*others, new], twin, new)
    if twin.weight_from == "unknown" and flown.weight_from != "unknown":
        better = _weighed(twin, flown)
        return _Change([better if f is twin else f for f in flights], twin, reweighed=better)
    return _Change(list(flights), twin)


def _weighed(flown: Flown, other: Flown) -> Flown:
    """A flight with another's weight."""
    return replace(flown, mass_kg=other.mass_kg, weight_from=other.weight_from)


@dataclass(frozen=True)
class _Step:
    """Fits of one airplane's file to more and more flights."""

    text: str
    where: str
    keep_outliers: bool

    @classmethod
    def of(cls, typed: Path, *, keep_outliers: bool = False) -> _Step:
        return cls(typed.read_text(encoding="utf-8-sig"), str(typed), keep_outliers)

    def fit(self, flights: Sequence[Flown]) -> Performance:
        return fit(self.text, flights, keep_outliers=self.keep_outliers, where=self.where)

    def compose(self, performance: Performance, report: FitReport) -> str:
        """The fitted file, which says how the airplane differs from its book and from what it was."""
        says = [*(d.words for d in report.differences), *filter(None, [report.leans])]
        return compose(self.text, performance, says)


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
