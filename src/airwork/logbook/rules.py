"""Rules as data: one file per authority under `rules`, each rule with its source and how it is known."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from airwork import typed_file
from airwork.errors import InputError
from airwork.fitting import first_of
from airwork.units import NM_M

Label = Literal["V", "M", "P", "S"]
LABELS = {
    "V": "verified in the text named",
    "M": "from memory, not verified",
    "P": "common practice, no source",
    "S": "the school's own",
}
TimeKind = Literal[
    "total", "dual", "solo", "pic", "cross_country", "night", "instrument", "test_preparation", "dual_or_solo"
]
Count = Annotated[float, Field(gt=0, le=100_000)]
Minutes = Annotated[float, Field(ge=0, le=600)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Rule(_Strict):
    text: str = Field(min_length=1, max_length=300)
    source: str = Field(min_length=1, max_length=120)
    label: Label
    note: str = ""

    @property
    def known(self) -> str:
        """Source and label as shown to a person: memory is called memory."""
        return self.source if self.label == "V" else f"{self.source} ({LABELS[self.label]})"


class Movements(_Strict):
    """Take-offs or landings that count. A flag that is not set makes no difference."""

    what: Literal["takeoff", "landing"]
    roles: tuple[Literal["dual", "solo", "pic"], ...] = ("dual", "solo", "pic")
    night: bool | None = None
    full_stop: bool | None = None
    towered: bool | None = None


class OneFlight(_Strict):
    """What one single flight must show, all of it."""

    hours: tuple[TimeKind, ...] = ()
    at_least_h: float = 0.0
    light: Literal["", "day"] = ""
    distance_more_than_nm: float | None = None
    distance_at_least_nm: float | None = None
    distance_at_least_km: float | None = None
    leg_more_than_nm: float | None = None
    farthest_more_than_nm: float | None = None
    farthest_at_least_nm: float | None = None
    landing_points: int = 0
    full_stop_points: int = 0
    other_full_stop_points: int = 0


class Experience(Rule):
    """Aeronautical experience: hours held in common by the kinds named, movements, or one flight that fits."""

    id: str
    certificate: str
    within: str = ""
    hours: tuple[TimeKind, ...] = ()
    movements: Movements | None = None
    one_flight: OneFlight | None = None
    at_least: Count
    single_engine: bool = False
    powered: bool = False
    category: str = ""
    complex_or_advanced: bool = False
    after_certificate: str = ""
    calendar_months_before_test: int | None = None

    @model_validator(mode="after")
    def _one_measure(self) -> Experience:
        if sum((bool(self.hours), self.movements is not None, self.one_flight is not None)) != 1:
            raise ValueError("needs exactly one of hours, movements, one_flight")
        return self

    @property
    def unit(self) -> str:
        if self.hours:
            return "h"
        return f"{self.movements.what}s" if self.movements else "flight"


class When(_Strict):
    """The flights a rule speaks of; what is not set makes no difference."""

    roles: tuple[Literal["dual", "solo", "pic"], ...] = ("dual", "solo", "pic")
    certificates: tuple[str, ...] = ()
    passengers: bool | None = None
    night: bool | None = None
    late_night: bool | None = None
    lands_elsewhere: bool | None = None
    farthest_more_than_nm: float | None = None
    farthest_at_most_nm: float | None = None
    airplane: Literal["", "complex", "high_performance", "tailwheel"] = ""

    def is_for(self, certificate: str) -> bool:
        """It speaks of holders of this certificate."""
        return not self.certificates or certificate in self.certificates

    def always(self, certificate: str) -> bool:
        """It speaks of every flight of such a pilot in its roles, by day and by night, wherever to."""
        return self.is_for(certificate) and self == When(roles=self.roles, certificates=self.certificates)


class Recency(Rule):
    """Take-offs and landings in the days before."""

    id: str
    when: When
    within_days: int = Field(ge=1, le=3650)
    takeoffs: int = 0
    landings: int = 0
    full_stop: bool = False
    full_stop_in_tailwheel: bool = False
    night: bool = False
    late_night: bool = False


class HeldKind(Rule):
    """A date or an endorsement a person can hold, and how long it is good for. None of the durations: for ever."""

    id: str
    kind: Literal["date", "endorsement"]
    days: int | None = Field(None, ge=0)
    months: int | None = Field(None, ge=1)  # to the same day of a month
    months_from_40: int | None = Field(None, ge=1)
    calendar_months: int | None = Field(None, ge=1)  # to the last day of a month
    calendar_months_from_40: int | None = Field(None, ge=1)
    per_make_model: bool = False
    per_place: bool = False
    keep: bool = False  # the law makes the instructor keep it
    after: tuple[str, ...] = ()  # what is on record before it is given, for the same make and model
    certificate: tuple[str, ...] = ()


class Need(Rule):
    """What must be held for a flight: all of one of the lists. An empty any_of forbids outright."""

    id: str
    who: Literal["pilot", "instructor"]
    when: When
    any_of: tuple[tuple[str, ...], ...]
    absent: Literal["forbids", "unknown"]


class InstructorLimit(Rule):
    """Training an instructor may give in any stretch of hours."""

    id: str
    hours: Count
    within_h: Count


class RecordKeeping(Rule):
    """How long records must be kept."""

    id: str
    years: int = Field(ge=1, le=100)


class Night(Rule):
    """Where the period for passengers by night begins and ends."""

    passenger_after_sunset_min: Minutes
    passenger_before_sunrise_min: Minutes


class CrossCountry(Rule):
    """What makes a flight a cross-country flight for a certificate."""

    more_than_nm: float = Field(ge=0)

    @property
    def more_than_m(self) -> float:
        """The straight distance a landing must lie beyond. [m]"""
        return self.more_than_nm * NM_M


class Authority(_Strict):
    """Whose rules these are."""

    id: str
    title: str
    law: str
    checked: str
    certificates: dict[str, str]


class Rules(_Strict):
    """One authority's rules."""

    authority: Authority
    documents: dict[str, str] = {}
    night: Night
    cross_country: CrossCountry
    experience: tuple[Experience, ...] = ()
    recency: tuple[Recency, ...] = ()
    held: tuple[HeldKind, ...] = ()
    need: tuple[Need, ...] = ()
    instructor_limit: tuple[InstructorLimit, ...] = ()
    record_keeping: tuple[RecordKeeping, ...] = ()

    @model_validator(mode="after")
    def _names_hang_together(self) -> Rules:
        held = {kind.id for kind in self.held}
        named = {name for need in self.need for group in need.any_of for name in group}
        if missing := (named | {name for kind in self.held for name in kind.after}) - held:
            raise ValueError(f"a need or after names what no [[held]] describes: {', '.join(sorted(missing))}")
        known = {row.id for row in self.experience}
        if lost := {row.within for row in self.experience if row.within} - known:
            raise ValueError(f"within names no experience: {', '.join(sorted(lost))}")
        every = [row.id for rows in (self.experience, self.recency, self.held, self.need) for row in rows]
        if twice := {name for name in every if every.count(name) > 1}:
            raise ValueError(f"used twice: {', '.join(sorted(twice))}")
        return self

    def held_kind(self, name: str) -> HeldKind | None:
        """The description of a date or endorsement, None when this file has none of the name."""
        return next((kind for kind in self.held if kind.id == name), None)

    def find_held(self, text: str, kind: Literal["date", "endorsement"]) -> HeldKind:
        """The one date or endorsement a text means: its name, the end of its name, or words of its text."""
        asked = text.strip().casefold()
        rows = [row for row in self.held if row.kind == kind]
        for fits in (
            [r for r in rows if r.id.casefold() == asked],
            [r for r in rows if r.id.casefold().endswith(f".{asked}")],
            [r for r in rows if asked in r.id.casefold() or asked in r.text.casefold()],
        ):
            if len(fits) == 1:
                return fits[0]
            if len(fits) > 1:
                raise InputError(f"{text!r} could be {', '.join(r.id for r in fits)}; write one of them.", where=kind)
        raise InputError(f"no {kind} {text!r}; there are {', '.join(r.id for r in rows)}.", where=kind)

    def for_certificate(self, certificate: str) -> tuple[Experience, ...]:
        """The experience asked for a certificate, in order; empty when this file has none."""
        return tuple(row for row in self.experience if row.certificate == certificate)


def authorities() -> tuple[str, ...]:
    """The authorities whose rules are shipped."""
    folder = resources.files("airwork.logbook").joinpath("rules")
    return tuple(sorted(f.name[:-5] for f in folder.iterdir() if f.name.endswith(".toml")))


@lru_cache(maxsize=8)
def load_rules(name: str | Path) -> Rules:
    """The rules of an authority by name ("us", "eu"), or of a school's own file (a Path or text ending in .toml)."""
    if isinstance(name, Path) or name.endswith(".toml"):
        path = Path(name)
        return _read(typed_file.read_text(path, "file of rules"), path.name)
    if name not in authorities():
        raise InputError(f"no rules for {name!r}; there are {', '.join(authorities())}.", where="authority")
    return _read(
        resources.files("airwork.logbook").joinpath("rules", f"{name}.toml").read_text("utf-8"), f"{name}.toml"
    )


def _read(text: str, where: str) -> Rules:
    try:
        return Rules.model_validate(typed_file.tables(text, where))
    except ValidationError as problem:
        raise first_of(problem, Rules, where=where) from None
