"""What the logbook hands out: frozen records, SI, with no database behind them."""

from __future__ import annotations

import math
import unicodedata
import uuid
from dataclasses import dataclass, fields
from datetime import date
from typing import Any, Literal, TypeVar

from sqlalchemy import Row

from airwork.errors import InputError

HOUR_S = 3600.0
TENTH_S = 360.0  # hours are logged in tenths: 54 minutes are 0.9 h or 1.0 h
Role = Literal["dual", "solo", "pic"]
# The times a flight is counted by; each is a column `<name>_s` of the flight.
TIMES = (
    "total", "dual", "solo", "pic", "cross_country", "night", "instrument_actual", "instrument_simulated",
    "test_preparation", "ground_training",
)  # fmt: skip

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Person:
    """A student, an instructor, or both."""

    id: str
    name: str
    is_student: bool = False
    is_instructor: bool = False
    born_on: date | None = None
    certificate_held: str = "student"  # none, student, private, commercial, …
    certificate_aimed: str = "private"  # the standard's name: private, commercial, easa_ppl, …
    authority: str = "us"  # names the rules file: us, eu, …
    time_zone: str = "UTC"  # IANA name of the place they fly from
    contact: str = ""
    certificate_number: str = ""


@dataclass(frozen=True, slots=True)
class AirplaneEntry:
    """An airplane as the rules see it."""

    id: str
    registration: str
    make_model: str
    airplane_file: str = ""  # id in the airplane file, "" when there is none
    category: str = "airplane"  # airplane, glider, …
    aircraft_class: str = "single_engine_land"
    tailwheel: bool = False
    complex: bool = False
    high_performance: bool = False
    technically_advanced: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """An airfield. Angles in radians, WGS-84; None where not known."""

    id: str
    ident: str
    name: str = ""
    latitude_rad: float | None = None
    longitude_rad: float | None = None
    elevation_m: float | None = None
    time_zone: str = ""  # "" when not known
    towered: bool | None = None

    @property
    def position_rad(self) -> tuple[float, float] | None:
        """Latitude and longitude, when both are known. [rad]"""
        if self.latitude_rad is None or self.longitude_rad is None:
            return None
        return self.latitude_rad, self.longitude_rad


@dataclass(frozen=True, slots=True)
class Movement:
    """Alike take-offs or landings of one flight."""

    what: Literal["takeoff", "landing"]
    number: int = 1
    utc_s: float | None = None  # when it is one movement seen in a recording
    full_stop: bool = False
    night: bool = False  # night as the authority logs it
    late_night: bool = False  # the period that counts for carrying passengers by night
    towered: bool = False

    @property
    def flags(self) -> list[str]:
        """What they were, as a person types it: "full-stop", "night" …"""
        return [n.replace("_", "-") for n in ("full_stop", "night", "late_night", "towered") if getattr(self, n)]


@dataclass(frozen=True, slots=True)
class FlightRow:
    """One flight of the logbook. Times in seconds, distances in meters, straight lines between landings."""

    id: str
    pilot_id: str | None  # whose flight it is; None once a student was forgotten: the instructor's time stays
    instructor_id: str | None
    airplane_id: str | None
    lesson_id: str | None
    recording_sha256: str  # "" for none; the bytes need not be kept here
    start_utc_s: float | None  # None for an entry from a paper logbook that names only the day
    end_utc_s: float | None
    local_date: date  # in the zone of the place of departure
    time_zone: str
    role: Role  # dual: training received; solo: sole occupant; pic: in command otherwise
    remarks: str
    total_s: float
    dual_s: float
    solo_s: float
    pic_s: float
    cross_country_s: float
    night_s: float
    instrument_actual_s: float
    instrument_simulated_s: float
    test_preparation_s: float
    ground_training_s: float
    passengers: int
    sole_manipulator: bool
    distance_m: float | None  # along the route
    farthest_landing_m: float | None  # from the first departure
    longest_leg_m: float | None  # between two landings that follow each other
    landing_points: int | None  # different places landed at
    full_stop_points: int | None  # different places landed at to a full stop
    source: str  # typed or debrief
    signed_by_id: str | None
    signed_utc_s: float | None
    corrects_id: str | None = None  # the signed entry this one puts right; what is signed is never taken out
    came_from: str = ""  # the file it was brought in with; "": entered here


@dataclass(frozen=True, slots=True)
class Held:
    """An endorsement or a date that stands on record for somebody."""

    id: str
    kind: str
    on_date: date
    expires_on: date | None = None  # as written on it; None: the rules file says
    make_model: str = ""
    place: str = ""
    words: str = ""
    instructor_id: str | None = None
    result: str = ""
    is_endorsement: bool = False
    claimed: str = ""  # why it can't be relied on: brought in, and not signed by a key that is known here
    ended_on: date | None = None  # an instructor has ended it by a signed entry: from this day on it is not good
    ended: str = ""  # by whom and why; with no `ended_on`: a file says so, and no signature that is known here


def hours(seconds: float) -> str:
    """Hours as they are logged: tenths, by the minute where that is not whole tenths, so that lines add up; nothing for
    none.

    >>> hours(3_240.0), hours(3_300.0), hours(0.0)
    ('0.9', '0:55', '')
    """
    minutes = round(seconds / 60.0)
    in_tenths = minutes % 6 == 0 or abs(seconds - 60.0 * minutes) > 1.0
    text = f"{tenths_s(seconds) / HOUR_S:.1f}" if in_tenths else f"{minutes // 60}:{minutes % 60:02d}"
    return text if seconds else ""


def tenths_s(seconds: float) -> float:
    """A measured time as it is logged: in tenths of an hour, half a tenth upwards. [s]"""
    return math.floor(seconds / TENTH_S + 0.5) * TENTH_S


def new_id() -> str:
    """A fresh identity: random, so that logbooks kept apart can be joined."""
    return uuid.uuid4().hex


def record(kind: type[T], row: Row[Any] | Any) -> T:
    """A row as its record; columns the record doesn't have are left out."""
    mapping = row._mapping
    return kind(**{f.name: mapping[f.name] for f in fields(kind)})  # type: ignore[arg-type]


# What turns the direction of reading round: text with it shows as something else than it says. What nobody sees comes
# along when text is pasted out of a PDF: words lose it, a name with it is refused.
_TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_UNSEEN = "\u200b\u2060\ufeff\u00ad\u180e"
_WITHOUT = str.maketrans("", "", _UNSEEN)


def clean(text: str, where: str, *, needed: bool = False, longest: int = 10_000) -> str:
    """Text a person typed: trimmed, one Unicode form, without control characters; every database can keep it."""
    tidy = unicodedata.normalize("NFC", text.translate(_WITHOUT)).strip()
    if needed and not tidy:
        raise InputError("is empty.", where=where)
    if len(tidy) > longest:
        raise InputError(f"is {len(tidy):,} characters long; {longest:,} at most.", where=where)
    for mark in tidy:
        if (unicodedata.category(mark) in {"Cc", "Cs"} and mark not in "\n\t") or mark in _TURNS:
            raise _control(mark, where)
    return tidy


def _control(mark: str, where: str) -> InputError:
    return InputError(f"holds a control character (U+{ord(mark):04X}); take it out.", where=where)


_ALIKE = ("LATIN", "CYRILLIC", "GREEK", "COPTIC", "ARMENIAN", "CHEROKEE")  # scripts with letters of one look
# Letters that look like a Latin one, small or capital: of Unicode's list of confusables (UTS 39) the commonest, from
# memory.
_LOOKS = str.maketrans("авекмнорстухіјѕһԁԛԝαβεζηικμνορτυχ", "abekmhopctyxijshdqwabezhikmnoptyx")


def clean_name(text: str, where: str) -> str:
    """A name a person typed: one line, no word of it in letters of two alphabets that look the same."""
    if unseen := next((mark for mark in _UNSEEN if mark in text), ""):
        raise _control(unseen, where)
    tidy = clean(" ".join(text.split()), where, needed=True, longest=200)
    for word in tidy.split():
        scripts = {unicodedata.name(c, "").split(" ")[0] for c in word if c.isalpha()} & set(_ALIKE)
        if len(scripts) > 1:
            raise InputError(f"{word!r} mixes {' and '.join(sorted(scripts))} letters.", where=where)
    return tidy


def read_as(name: str) -> str:
    """The same for names that read alike: capitals, widths, spaces, dots and dashes, marks nobody sees, letters of one
    look."""
    plain = unicodedata.normalize("NFKC", name).casefold().translate(_LOOKS)
    bare = ((c, unicodedata.category(c)) for c in plain)
    return " ".join("".join(" " if kind[0] in "PS" else c for c, kind in bare if kind != "Cf").split())


def number(value: float, where: str, low: float, high: float) -> float:
    """A finite number within limits."""
    if not math.isfinite(value) or not low <= value <= high:
        raise InputError(f"{value:g} is outside {low:g} to {high:g}.", where=where)
    return float(value)
