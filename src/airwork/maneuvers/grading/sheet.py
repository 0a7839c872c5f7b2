"""The mark sheet a grader fills in: targets with their source, numbers, a finding for every criterion of the task.

Whatever a grader doesn't answer is answered here: it can't be judged, and why. Nothing of the standard goes missing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from airwork.maneuvers.episode import INSIDE, NOT_ASKED, Cause, Episode, Finding, Grade, Phase, Stretch, Verdict
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.handbook import BookSpeed
from airwork.maneuvers.grading.judge import at_once, held_elsewhere, limits, over_time, printed, unjudged
from airwork.maneuvers.grading.measure import measured
from airwork.maneuvers.grading.reading import allowance, kind_of
from airwork.maneuvers.seeing.signal import Array, Mask
from airwork.standards import Criterion
from airwork.standards.model import limit_text
from airwork.units import KT_MPS, from_unit, to_unit, write

MOST_CAUSES = 3
TRIFLE = 0.45  # of a tolerance: a smaller deviation is no error, and its reason is not told
SURE = 2.0  # standard errors
# Of a satellite's altitude, whose own error is of the height and drifts slowly: of a deviation over some minutes, of a
# change within one (common practice, no source).
SATELLITE_ERROR_M, SATELLITE_DRIFT_M = 3.0, 1.5
SATELLITE_HEIGHT_M = 12.0  # above a ground measured at another time, where the recording says no error of its own
NEEDLE_MPS = 2.0 * KT_MPS  # below an edge of +10/−0 kt that was itself read out of what was flown (no source)
LEAST_SHARE = 0.5  # of the deviation: what explains less of it is not its reason
LESSON = "lesson"
WINDOW = "window"  # among what was said of the grading: from here to here
SETTLED = "inferred from what the pilot settled on"
ENTRY = "inferred from the entry"
PRINTED = "the standard's own number"
HELD_INSTEAD = "inferred: what was held throughout"
HANDBOOK = "airplane file"
FITTING = "airplane file, at the weight that fits best: none was told"
OTHER_FINALS = "the pilot's own on the other finals"

# What follows by itself from another error of the same maneuver: its name, the quantity, to which side.
FOLLOWS = {
    ("too steep", "ias", -1.0), ("bank grew", "ias", -1.0), ("too shallow", "ias", 1.0),
}  # fmt: skip
TOUCHES = {
    ("altitude with bank", "bank", 1.0),
    ("nose let down", "ias", 1.0),
    ("nose raised", "ias", -1.0),
}  # told in that cause's own words
HARD_FLOORS = ("agl", "stall_warning", "altitude_kept")  # no allowance: the ground and the stall give none
NO_AIRSPEED = "no airspeed was recorded; an estimate from ground speed and wind is never judged"
NO_BANK = "bank was neither recorded nor to be had from the path"
NO_HEADING = "neither heading nor track is known"
NO_AGL = "height above ground is not known; give the elevation"


class Sheet:
    """One episode being graded. Fill in with `set_target`, `over`, `once`, `cannot`; then `grade()`."""

    def __init__(self, episode: Episode, evidence: Evidence, kind: str | None = None) -> None:
        self.episode = episode
        self.evidence = evidence
        self.kind = kind or episode.kind
        self.task = evidence.standard.task(self.kind)
        self.judging = evidence.standard.judging
        self.time_s = evidence.flight.time_s
        self.start_s, self.end_s = episode.start_s, episode.end_s
        self._target: dict[str, float] = {}
        self._sources: dict[str, str] = {}
        self._findings: dict[str, Finding] = {}
        self._extra: list[Finding] = []
        self._numbers: dict[str, float] = {}
        self._causes: list[Cause] = []
        self._stretches: list[Stretch] = []
        self._given: set[str] = set()
        self.target_altitude_m: float | None = None
        self.target_ias_mps: float | None = None
        self.altitude_held_s: tuple[float, float] | None = None  # the part in which it was to be held; None: all

    # ---- targets

    def set_target(self, name: str, value_si: float, unit: str, source: str) -> None:
        """A target in words and printed unit: `set_target("ias", 46.3, "kt", LESSON)` shows as `ias_kt`."""
        if np.isfinite(value_si):
            suffix = {"deg": "deg", "ft": "ft", "kt": "kt"}.get(unit, unit)
            self._target[f"{name}_{suffix}"] = round(to_unit(value_si, unit), 1)
            self._sources[name] = source
            if name == "ias":
                self.target_ias_mps = value_si

    def altitude_target(self, inferred_m: float, source: str = ENTRY, *, near_m: float = 90.0) -> float:
        """The lesson's altitude when the maneuver was flown near it, else the inferred one. [m]"""
        lesson = self.evidence.lesson_target(self.kind, "altitude_m")
        told = "altitude_m" in self.evidence.whose  # said of this flight: it counts wherever it was flown
        use_lesson = lesson is not None and (told or abs(lesson - inferred_m) <= near_m)
        value = lesson if use_lesson and lesson is not None else inferred_m
        whose = self.evidence.target_from("altitude_m") if use_lesson else source
        self.set_target("altitude", value, "ft", whose)
        self._given = {*self._given, *(("altitude",) if use_lesson else ())}
        self.target_altitude_m = value
        return value

    def speed_text(self, speed_mps: float) -> str:
        """As `Evidence.speed_text`."""
        return self.evidence.speed_text(speed_mps)

    def speed_target(self, inferred_mps: float, source: str = SETTLED, book: BookSpeed | None = None) -> float:
        """The lesson's speed, else the handbook's for this airplane, else the inferred one; indicated. [m/s]"""
        lesson = self.evidence.lesson_target(self.kind, "ias_mps")
        if lesson is not None:
            value, whence = lesson, self.evidence.target_from("ias_mps")
            self._given = {*self._given, "ias"}
        elif book is not None:
            value, whence = book.nearest_mps(inferred_mps), HANDBOOK if self.evidence.mass_told else FITTING
        else:
            value, whence = inferred_mps, source
        if self.evidence.has_airspeed:
            self.set_target("ias", value, "kt", whence)
        return value

    def given(self, name: str) -> bool:
        """The target was given, by the lesson or an instructor: it is held to, whatever was flown instead."""
        return name in self._given

    # ---- stretches

    def phase(self, name: str) -> Phase | None:
        """A phase of the episode by name."""
        return next((p for p in self.episode.phases if p.name == name), None)

    def window(self, name: str) -> tuple[float, float]:
        """A phase's (start, end); the whole episode when it has none of that name. [s]"""
        found = self.phase(name)
        return (found.start_s, found.end_s) if found is not None else (self.start_s, self.end_s)

    # ---- findings

    def over(  # noqa: PLR0913
        self, quantity: str, series: Array | None, window: tuple[float, float] | None = None, *, target: float = 0.0,
        use: Mask | None = None, error: float = 0.0, note: str = "", missing: str = "not recorded", judged: str = "",
        extra: float = 0.0,
    ) -> None:  # fmt: skip
        """Judge a quantity over time, if the task has a criterion about it: the series less the target.

        extra : the standard's own tolerance on a limit ("20°, ±10°"), beside what the recorder resolves.
        """
        criterion = self.task.criterion(quantity)
        if criterion is None:
            return
        if series is None:
            self._findings[criterion.name] = unjudged(criterion, missing)
            return
        if criterion.nominal is not None and abs(target - criterion.nominal) > 1e-3:  # the lesson's own bank
            low, high = limits(criterion)
            aim = round(printed(target, criterion.unit))
            criterion = replace(criterion, text=limit_text(low, high, criterion.unit, aim))
        self._findings[criterion.name] = over_time(
            criterion, self.time_s, series, window or (self.start_s, self.end_s), self.judging, target=target,
            use=use, error=error, note=note, allowance=self._allowance(quantity) + extra, judged=judged,
        )  # fmt: skip

    def once(self, quantity: str, deviations: Sequence[float], *, error: float = 0.0, note: str = "") -> None:
        """Judge a quantity at one or several moments, if the task has a criterion about it."""
        criterion = self.task.criterion(quantity)
        if criterion is not None:
            given = self._allowance(quantity)
            self._findings[criterion.name] = at_once(criterion, deviations, error=error, allowance=given, note=note)

    def _allowance(self, quantity: str) -> float:
        return 0.0 if quantity in HARD_FLOORS else allowance(self.evidence, quantity)

    def cannot(self, quantity: str, why: str) -> None:
        """Say that a quantity can't be judged."""
        criterion = self.task.criterion(quantity)
        if criterion is not None:
            self._findings[criterion.name] = unjudged(criterion, why)

    def not_asked(self, quantity: str, why: str) -> None:
        """Say that as it was flown a quantity had nothing to be held to: the recording isn't to blame."""
        criterion = self.task.criterion(quantity)
        if criterion is not None:
            self._findings[criterion.name] = unjudged(criterion, why, NOT_ASKED)

    def put_finding(self, quantity: str, verdict: Verdict, worst: float | None, why: str) -> None:
        """A verdict reached by the room itself."""
        c = self.task.criterion(quantity)
        if c is not None:
            value = None if worst is None else round(worst, 2)
            low, high = limits(c)
            self._findings[c.name] = Finding(
                c.name, c.text, value, c.unit, None, verdict, why, low=low, high=high, source=c.source,
                label=c.label, quantity=quantity,
            )  # fmt: skip

    def add_finding(self, finding: Finding) -> None:
        """A finding by a threshold of ours, beside the standard's."""
        self._extra.append(finding)

    def number(self, name: str, value: float, digits: int = 1) -> None:
        """One more measured number, the unit in its name."""
        if np.isfinite(value):
            self._numbers[name] = round(value, digits)

    def cause(self, cause: Cause | None) -> None:
        """A cause, if a detector found one."""
        if cause is not None:
            self._causes.append(cause)

    def wants_reason(self, quantity: str) -> bool:
        """Not held, and nothing told so far says why."""
        found = self.finding(quantity)
        missed = found is not None and found.verdict == "not held"
        return missed and not any(c.explains == quantity for c in self._causes)

    # ---- the common ones

    def altitude_held(self, inferred_m: float, window: tuple[float, float] | None = None, source: str = ENTRY) -> float:
        """Judge altitude against its target; returns the target. [m]"""
        target = self.altitude_target(inferred_m, source)
        altitude = self.evidence.altitude_m
        note, error = self.altitude_known()
        judged = ""
        if not self.given("altitude"):
            instead = self.flown_instead("altitude", altitude, window, target)
            if instead is not None:
                side, judged = "above" if instead > target else "below", "steadiness"
                note = f"held {write(abs(instead - target), 'ft')} {side} the altitude it was entered at"
                target = instead
                self.set_target("altitude", target, "ft", HELD_INSTEAD)
                self.target_altitude_m = target
        self.over("altitude", altitude, window, target=target, error=error, note=note, judged=judged)
        return target

    @property
    def height_error_m(self) -> float:
        """One standard error of a height above ground where the altitude is a receiver's; 0 of an altimeter. [m]"""
        if not self.evidence.altitude_is_satellite:
            return 0.0
        return self.evidence.flight.columns["altitude_m"].error or SATELLITE_HEIGHT_M

    def altitude_known(self) -> tuple[str, float]:
        """(what to say of the altitude's origin, one standard error of a deviation [m])."""
        if not self.evidence.altitude_is_satellite:
            return "", 0.0
        return "satellite altitude, as deviation from the entry", SATELLITE_ERROR_M

    def speed_held(
        self, inferred_mps: float, window: tuple[float, float] | None = None, source: str = SETTLED,
        book: BookSpeed | None = None, quantity: str = "ias", use: Mask | None = None,
        told_mps: float | None = None, told: str = "", note: str = "",
    ) -> float:  # fmt: skip
        """Judge indicated airspeed against its target; returns the target. [m/s]

        told_mps, told : the handbook's speed to be told beside one the pilot chose, and its name; note : said with it.
        """
        target = self.speed_target(inferred_mps, source, book)
        ias = self.evidence.ias_mps
        whose = self._sources.get("ias", source)
        judged = ""
        if not self.given("ias") and whose not in (HANDBOOK, FITTING, OTHER_FINALS):
            instead = self.flown_instead(quantity, ias, window, target, use)
            if instead is not None:
                target, whose = instead, HELD_INSTEAD
                self.set_target("ias", target, "kt", HELD_INSTEAD)
        if not self.given("ias") and whose not in (HANDBOOK, FITTING, ENTRY, OTHER_FINALS):
            judged = "steadiness"
            note = "; ".join(filter(None, (note, "the pilot's own speed, judged for steadiness only")))
            if told_mps is not None and np.isfinite(target):
                off, side = self.speed_text(target - told_mps), "above" if target > told_mps else "below"
                note += f"; {told or 'the handbook'}: {self.speed_text(told_mps)}, flown {off} {side} it"
        edge = self.task.criterion(quantity)
        if judged and ias is not None and edge is not None and edge.low == 0.0:
            ias = np.where(ias < target, np.minimum(ias + NEEDLE_MPS, target), ias)
        self.over(quantity, ias, window, target=target, use=use, missing=NO_AIRSPEED, note=note, judged=judged)
        return target

    def flown_instead(
        self, quantity: str, series: Array | None, window: tuple[float, float] | None, target: float,
        use: Mask | None = None,
    ) -> float | None:  # fmt: skip
        """What was held instead of an inferred target that was hardly ever inside its tolerance, and held steadily."""
        criterion = self.task.criterion(quantity)
        if series is None or criterion is None or criterion.low is None or criterion.high is None:
            return None
        part = self.evidence.flight.span(*(window or (self.start_s, self.end_s)))
        d = series[part] - target
        instead = held_elsewhere(d if use is None else d[use[part]], criterion.low, criterion.high)
        return None if instead is None else target + instead - 0.5 * (criterion.low + criterion.high)

    def floor_kept(self) -> None:
        """The lowest altitude the standard allows for the task, where it prints one."""
        floor = self.task.min_agl_m
        if floor is None:
            return
        criterion = Criterion("lowest height above ground", "agl", floor, None,
                              f"at least {to_unit(floor, 'ft'):,.0f} ft", self.task.source,
                              self.task.label, "ft")  # fmt: skip
        agl, which = self.evidence.above_ground()
        if agl is None:
            self._extra.append(unjudged(criterion, NO_AGL))
            return
        part = agl[self.evidence.flight.span(self.start_s, self.end_s)]
        if np.isfinite(part).any():
            self._extra.append(at_once(criterion, [float(np.nanmin(part))], error=self.height_error_m, note=which))

    def grade(self) -> Grade:
        """Everything said of the episode."""
        findings = [self._findings.get(c.name) or _never_looked_at(c) for c in self.task.criteria]
        numbers = measured(self.evidence, self.start_s, self.end_s, self.target_altitude_m, self.altitude_held_s)
        numbers.update(self._numbers)
        found = [self._explained(f) for f in (*findings, *self._extra)]
        return Grade(
            dict(self._target), self._source_text(), numbers, tuple(found), self._chief_causes(), tuple(self._stretches)
        )

    def _chief_causes(self) -> tuple[Cause, ...]:
        """The main ones, dearest first, those of what was held last: none of a trifle, and one for each fault."""
        by_name: dict[str, Cause] = {}
        for cause in sorted(self._causes, key=lambda c: (self._was_held(c), -c.weight)):
            by_name.setdefault(cause.name or cause.text, cause)
        told = [
            c for c in by_name.values()
            if c.weight >= TRIFLE and (c.share is None or c.share >= LEAST_SHARE) and not self._was_steady(c)
        ]  # fmt: skip
        return tuple(replace(c, text=f"{c.text} {INSIDE}") if self._was_held(c) else c for c in told[:MOST_CAUSES])

    def _was_steady(self, cause: Cause) -> bool:
        """It explains how the pilot came to the speed that was then held instead: nothing to put right."""
        finding = self.finding(cause.explains) if cause.explains == "ias" else None
        return finding is not None and finding.verdict == "held" and self._sources.get("ias") == HELD_INSTEAD

    def _was_held(self, cause: Cause) -> bool:
        """It explains what was held: worth a word, no fault before an examiner."""
        finding = self.finding(cause.explains) if cause.explains else None
        return finding is not None and finding.verdict == "held" and not finding.judged

    def _explained(self, finding: Finding) -> Finding:
        """A criterion missed says what it came from, or that the data show no reason."""
        chief = self._chief_causes()
        if finding.verdict != "not held" or any(c.explains in (finding.quantity, "*") for c in chief):
            return finding
        beside = told_beside(finding, chief)
        if beside == "":
            return finding
        said = f"why: {beside or 'the data show no reason; ask'}"
        return replace(finding, why=f"{finding.why}; {said}" if finding.why else said)

    def finding(self, quantity: str) -> Finding | None:
        """What has been said of a quantity so far."""
        criterion = self.task.criterion(quantity)
        return None if criterion is None else self._findings.get(criterion.name)

    def worst_of(self, quantity: str) -> tuple[float, float] | None:
        """(worst deviation, tolerance on that side) of a quantity already judged, SI; None where it wasn't."""
        criterion, finding = self.task.criterion(quantity), self.finding(quantity)
        if criterion is None or finding is None or finding.worst is None:
            return None
        worst = finding.worst if finding.unit in ("turns", "") else from_unit(finding.worst, finding.unit)
        side = criterion.high if worst >= 0.0 else criterion.low
        size = side or criterion.high or criterion.low
        return None if not size else (worst, abs(size))

    def worth_telling(self, quantity: str) -> float:
        """The least deviation of a quantity whose reason is told: no trifle, and sure to be there. [SI]"""
        drift = SATELLITE_DRIFT_M if self.evidence.altitude_is_satellite else 0.0
        doubt = {"altitude": drift, "bank": self.evidence.bank_error_rad}.get(kind_of(quantity), 0.0)
        judged = self.worst_of(quantity)
        size = self.tolerance(quantity, 0.0) if judged is None else judged[1]
        return TRIFLE * size + SURE * doubt

    def tolerance(self, quantity: str, fallback: float) -> float:
        """Size of the tolerance of a quantity, the wider side. [SI]"""
        criterion = self.task.criterion(quantity)
        sizes = [] if criterion is None else [abs(x) for x in (criterion.low, criterion.high) if x]
        return max(sizes) if sizes else fallback

    def stretch(self, stretch: Stretch) -> None:
        """A part graded by itself."""
        self._stretches.append(stretch)

    def _source_text(self) -> str:
        """'lesson', or one source per target when they differ."""
        kinds = sorted(set(self._sources.values()))
        if len(kinds) <= 1:
            return kinds[0] if kinds else ""
        by = {source: [name for name, s in self._sources.items() if s == source] for source in self._sources.values()}
        words = {"ias": "airspeed", "entry_ias": "entry airspeed"}
        return "; ".join(
            f"{', '.join(words.get(n, n.replace('_', ' ')) for n in names)}: {source}" for source, names in by.items()
        )


def told_beside(finding: Finding, causes: Sequence[Cause]) -> str | None:
    """What the reason of another quantity says of this one too; "" where its own words do, None for nothing."""
    side = np.sign(finding.worst or 0.0)
    for c in causes:
        if (c.name, finding.quantity, side) in TOUCHES:
            return ""
        if (c.name, finding.quantity, side) in FOLLOWS:
            return f"it was flown {c.name}"
    return None


def _never_looked_at(criterion: Criterion) -> Finding:
    if criterion.quantity == "touchdown_distance":
        return unjudged(criterion, "the chosen touchdown point is not known", NOT_ASKED)
    return unjudged(criterion, "this recording can't show it")
