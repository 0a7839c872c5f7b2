"""A day and a moment in words beside the rows: lines before the table, fields of a document, names of columns."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache

from airwork.recording.stamps import DAY_S
from airwork.recording.zones import LANGUAGES
from airwork.units import from_unit

_LETTERS = r"[^\W\d_]"
_ORD = r"(?:st|nd|rd|th|er|\.|º|ª|:[ae])?"
_FORMS = (
    *(
        re.compile(rf"(?i)(?<![\w+])(?<!\w[-./]){form}(?=T\d|(?![\w/]|[-.:]\d))")
        for form in (
            r"(?P<y>(?:19|20)\d\d)(?P<g>[-./])(?P<m>\d\d?)(?P=g)(?P<d>\d\d?)",
            r"(?P<a>\d\d?)(?P<g>[-./]) ?(?P<b>\d\d?)(?P=g) ?(?P<y>(?:19|20)\d\d|\d\d)",
            rf"(?P<d>\d\d?){_ORD}[ \-]?(?:de |of )?(?P<name>{_LETTERS}{{3,10}}?)\.?,?[ \-]?(?:de |of )?"
            r"(?P<y>20\d\d|\d\d)",
            rf"(?P<name>{_LETTERS}{{3,10}})\.? (?P<d>\d\d?)(?:st|nd|rd|th)?,? (?P<y>20\d\d)",
            r"(?P<y>20\d\d)(?P<m>[01]\d)(?P<d>[0-3]\d)",
        )
    ),
    re.compile(r"(?P<y>\d{4}) ?[年년] ?(?P<m>\d\d?) ?[月월] ?(?P<d>\d\d?) ?[日일]"),
)
_OF_FLIGHT = re.compile(
    r"(?i)\b(?:dat(?:e|um|o|a)|day|tag|jour|giorno|d[ií]a|fecha|päivä|fl[uiyo]\w*|vol|vuelo|vo[lo]o|start\w*)\b"
    r"|飛行|日付|\b(?:vom|am|den|du|del|do|on|of) $"
)
_NOT_OF_IT = re.compile(  # of what stands before it in its clause
    r"(?i)(?:\bv|\bfw|\bsw|\bs/?n|\w*versi[oó]n\w*|firmware|software|build|built|serial|serien\w*|\bunit|phone|"
    r"\bt[eé]l\w*|\bfax|model\w*|calibrat\w*|printed|exported|expires|valid|updated|licen[cs]e\w*)\b[^,;|()]*$"
)
_DAY_FIRST = re.compile(r"(?i)\bd+[./-]m+[./-]y|\b(?:fecha|data|datum|dato|tag|jour|giorno|vol|vuelo|voo|volo|flug)\b")
_MONTH_FIRST = re.compile(r"(?i)\bm+[./-]d+[./-]y")
_CLOCK = re.compile(r"(?i)\b(\d\d?)[:h](\d\d)(?:[:m](\d\d(?:[.,]\d+)?))?s?(?: ?([ap])\.?m\b)?")
_CALLED = re.compile(
    r"(?i)\b(start|began|begin|t0|d[ée]but|inicio|inizio|comienzo)|開始|"
    r"^[#\s\"]*(?:flight |recording |gps )?(date|datum|zulu|utc|gmt|local|recorded|created)\b"
)
_SETTING = re.compile(
    r"(?i)\b(?:(?:qnh|altimeter(?:[ _]setting)?|kollsman)(?:_?(?:hpa|mb|in(?:hg)?))?|baro_(?:hpa|mb|in(?:hg)?))\b"
    r"\W{0,3}(\d{2,4}(?:[.,]\d+)?)\b(?: ?(?:hpa|mb|in))?"
)
_NUMBER_SAID = re.compile(
    r"^[#;\s\"']*([A-Za-z][\w .()\[\]-]*?)[\"']?\s*[:=,]\s*[\"']?(\d+(?:[.,]\d+)?)\s*([A-Za-z]*)[\s\"',;]*$"
)
_OF_ROWS = r"(?:(?:sampl|log|record)[a-z]*[ _.-]?|time[ _.-]?)?"
_STEP = re.compile(rf"(?i:{_OF_ROWS}(?:d_?t|delta[ _]?t|step|interval|period))(?!(?!ms|sec|milli|micro)[a-z])(.*)")
_RATE = re.compile(rf"(?i){_OF_ROWS}(?:rate|freq[a-z]*|hz|fs)(?:.?hz.?)?$")
_SELDOM_S = 60.0
_PARTS_S = (
    (re.compile(r"(?i)milli|(?<![a-z])ms(?![a-z])"), 1e-3),
    (re.compile(r"(?i)micro|(?<![a-z])us(?![a-z])"), 1e-6),
    (re.compile(r"(?i)(?<![a-z])min"), 60.0),
    (re.compile(r"(?i)(?<![a-z])s(?:ec|$|\W|_)"), 1.0),
)
LIKE_A_DATE = re.compile(r"\d{1,4}([-./])\d\d?\1\d{2,4}|\b20\d{6}\b|\b20\d\d\b|\d年")


@dataclass(frozen=True, slots=True)
class Day:
    """A day that words name, since 1970 [s]; open: day and month may be the other way round."""

    since_s: float
    text: str
    open: bool
    of_flight: bool


@cache
def _months(tongue: str) -> dict[str, int]:
    from babel import Locale

    widths = (kind[width] for kind in Locale(tongue).months.values() for width in ("wide", "abbreviated"))
    return {"sept": 9} | {name.lower().rstrip("."): k for names in widths for k, name in names.items()}


def days(text: str, *, day_first: bool = False) -> Iterator[Day]:
    """The days that a text names; numbers of versions, serials and telephones are none.

    >>> [d.text for d in days("Saturday 17th January 2026, serial 20260503, version 1.2.2026")]
    ['17th January 2026']
    """
    for form in _FORMS:
        for match in form.finditer(text):
            part, bare = match.groupdict(), match[0] == text.strip(' #,;"')
            of_flight = bare or "name" in part or _OF_FLIGHT.search(text[: match.start()]) is not None
            numeric, year = "a" in part, int(part["y"])
            if _NOT_OF_IT.search(text[: match.start()]) or (
                year < 100 and not (bare or "-" in match[0] or _OF_FLIGHT.search(text[: match.start()]))
            ):
                continue
            if form is _FORMS[4] and not of_flight:
                continue
            month, day, doubt = int(part.get("m") or 0), int(part.get("d") or 0), False
            if numeric:
                first, second = int(part["a"]), int(part["b"])
                clear = part["g"] == "." or max(first, second) > 12 or first == second
                told = day_first or _DAY_FIRST.search(text) is not None or part["g"] == "."
                swap = second <= 12 and (first > 12 or (told and not _MONTH_FIRST.search(text)))
                day, month = (first, second) if swap else (second, first)
                doubt = not (clear or told or _MONTH_FIRST.search(text))
            elif part.get("name"):
                name = part["name"].lower()
                month = next((m for tongue in LANGUAGES if (m := _months(tongue).get(name))), 0)
            try:
                at = datetime(year + (2_000 if year < 100 else 0), month, day, tzinfo=UTC)
            except ValueError:
                continue
            if date(1980, 1, 1) <= at.date() < date(2100, 1, 1):
                yield Day(at.timestamp(), match[0], doubt, of_flight)


def day_of(texts: Iterable[str], *, day_first: bool = False) -> Day | None:
    """The one day that texts name: what is sure before what may be turned round, a flight's before others."""
    found = [d for text in texts for d in days(text, day_first=day_first)]
    found = [d for d in found if not d.open] or found
    named = [d for d in found if d.of_flight]
    return named[0] if named else found[0] if len({d.since_s for d in found}) == 1 else None


def moments(texts: Iterable[str], *, day_first: bool = False) -> dict[str, tuple[float, str]]:
    """What a moment is called (start, date, utc, local; "" if nothing) → (its own clock since 1970 [s], the text)."""
    found: dict[str, tuple[float, str]] = {}
    for text in texts:
        called, day = _CALLED.search(text), day_of([text], day_first=day_first)
        if day is None:
            continue
        seconds = _clock_s(text.replace(day.text, " " * len(day.text)).replace(" T", "  "))
        if seconds is not None:
            name = "" if called is None else called[2].lower() if called[2] else "start"
            found.setdefault(name, (day.since_s + seconds, text))
    return found


def _clock_s(text: str) -> float | None:
    """Seconds of the day that a text's first clock shows; None where it shows none."""
    if (clock := _CLOCK.search(text)) is None:
        return None
    hour = int(clock[1]) % 12 + 12 * (clock[4] in "pP") if clock[4] else int(clock[1])
    return hour * 3_600.0 + int(clock[2]) * 60.0 + float((clock[3] or "0").replace(",", "."))


def setting_beside(texts: Iterable[str]) -> tuple[float, str] | None:
    """(altimeter setting [Pa], the words) that a text names; None where none does.

    >>> [setting_beside([x])[0] for x in ("QNH 1023 hPa", "altimeter: 29.92 inHg")]
    [102300.0, 101320.75...]
    """
    for match in (m for text in texts for m in [_SETTING.search(text)] if m):
        value = float(match[1].replace(",", "."))
        for low, high, unit in ((900.0, 1_070.0, "hPa"), (26.5, 31.6, "inHg")):
            if low < value < high:
                return from_unit(value, unit), match[0]
    return None


def numbers_beside(texts: Iterable[str]) -> Iterator[tuple[str, float, str, str]]:
    """(name, number, unit, the text) of each text that gives one number under a name.

    >>> list(numbers_beside(["# sample rate = 10 Hz", "no number"]))
    [('sample rate', 10.0, 'Hz', 'sample rate = 10 Hz')]
    """
    for text in texts:
        if (found := _NUMBER_SAID.match(text)) is not None:
            yield found[1], float(found[2].replace(",", ".")), found[3], text.strip(' #;,"')


def step_s(name: str, value: float, unit: str = "") -> float | None:
    """From reading to reading, by a step (interval_s, dt_ms, period) or a rate (rate_hz) of that name. [s]

    A bare number over a minute is milliseconds: nothing is recorded so seldom. None of another name.

    >>> step_s("interval_s", 2.0), step_s("dt", 200.0), step_s("rate_hz", 4.0), step_s("dtype", 8.0)
    (2.0, 0.2, 0.25, None)
    """
    if not value > 0.0:
        return None
    if (found := _STEP.match(name)) is not None:
        said = f"{found[1]} {unit}"
        scale = next((factor for form, factor in _PARTS_S if form.search(said)), 1e-3 if value > _SELDOM_S else 1.0)
        return value * scale
    return 1.0 / value if _RATE.match(name) else None


def day_beside(texts: list[str], first_s: float, *, day_first: bool = False) -> tuple[float, float, Day] | None:
    """(day since 1970, seconds the clock is ahead of UTC, what was read); None without a date. [s]

    first_s : the first row's time of day.
    """
    if (day := day_of(texts, day_first=day_first)) is None:
        return None
    said = moments(texts, day_first=day_first)
    utc = next((said[k][0] for k in ("zulu", "utc", "gmt") if k in said), None)
    local = said["local"][0] if "local" in said else None
    if utc is None or local is None or abs(local - utc) > 0.6 * DAY_S:
        return day.since_s if utc is None else utc // DAY_S * DAY_S, 0.0, day
    ahead = local - utc
    if abs((first_s - local + 600.0) % DAY_S - 600.0) > 600.0:
        ahead = 0.0  # the rows' clock isn't the local one
    return (utc + ahead) // DAY_S * DAY_S, ahead, day


def start_beside(texts: list[str], *, day_first: bool = False) -> tuple[float, str] | None:
    """(moment at which the recording began, by its own clock; the line that says so)."""
    said = moments(texts, day_first=day_first)
    order = ("start", "recorded", "utc", "zulu", "gmt", "created", "date", "datum", "")
    return next((said[k] for k in order if k in said), _start_of_two(texts, day_first=day_first))


def _start_of_two(texts: list[str], *, day_first: bool) -> tuple[float, str] | None:
    """The day in one text and the clock of a start in another, where there is one of each."""
    day = day_of(texts, day_first=day_first)
    starts = [t for t in texts if (called := _CALLED.search(t)) and called[1] and LIKE_A_DATE.search(t) is None]
    clocks = {c: t for t in starts if (c := _clock_s(t)) is not None}
    if day is None or day.open or not day.of_flight or len(clocks) != 1:
        return None
    ((seconds, text),) = clocks.items()
    return day.since_s + seconds, text
