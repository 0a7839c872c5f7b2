"""The calendar and the clock at a place: local dates and times as written, daylight saving, calendar months."""

from __future__ import annotations

import calendar
import re
from datetime import UTC, date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from airwork.errors import InputError, Where

_OFFSET = re.compile(r"(Z|[+-]\d{2}:?\d{2})$", re.IGNORECASE)


@lru_cache(maxsize=64)
def zone(name: str, where: str | Where = "time zone") -> ZoneInfo:
    """The time zone of an IANA name such as America/Denver."""
    try:
        return ZoneInfo(name)
    except (ValueError, OSError, LookupError):  # unknown, malformed, or a folder of the database
        raise InputError(f"{name!r} is no time zone; write an IANA name such as America/Denver.", where=where) from None


def local_date(utc_s: float, zone_name: str) -> date:
    """The calendar date at a place at a moment. `utc_s` in seconds since 1970 UTC.

    >>> local_date(0.0, "America/Denver").isoformat()
    '1969-12-31'
    """
    return datetime.fromtimestamp(utc_s, tz=zone(zone_name)).date()


def local_text(utc_s: float, zone_name: str) -> str:
    """A moment as a person reads it at the place: date, time and zone.

    >>> local_text(1772942400.0, "America/Denver")
    '2026-03-07 21:00 MST'
    """
    return datetime.fromtimestamp(utc_s, tz=zone(zone_name)).strftime("%Y-%m-%d %H:%M %Z")


def clock_text(utc_s: float, zone_name: str) -> str:
    """The clock at the place, and UTC where it is another.

    >>> clock_text(1772942425.0, "America/Denver")
    '21:00:25 MST (04:00 UTC)'
    """
    there = datetime.fromtimestamp(utc_s, tz=zone(zone_name))
    utc = f" ({there.astimezone(UTC):%H:%M} UTC)" if there.utcoffset() else ""
    return f"{there:%H:%M:%S %Z}{utc}"


def read_date(text: str, where: str = "date") -> date:
    """A calendar date written 2026-03-31."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(f"{text!r} is no date; write it as 2026-03-31.", where=where) from None


def read_moment(text: str, zone_name: str, where: str | Where = "time") -> float:
    """A moment in seconds since 1970 UTC, from "2026-03-08 14:30" in a zone, or with its own offset ("…Z", "…-06:00").

    A local time that daylight saving skips is refused; one that happens twice is refused unless it carries an offset.
    """
    written = text.strip()
    try:
        moment = datetime.fromisoformat(_OFFSET.sub(lambda m: m[1].upper(), written))
    except ValueError:
        raise InputError(f"{written!r} is no time; write it as 2026-03-08 14:30.", where=where) from None
    if len(written) <= 10:
        raise InputError(f"{written!r} names a day but no time; write it as 2026-03-08 14:30.", where=where)
    if moment.tzinfo is not None:
        return moment.timestamp()
    local = zone(zone_name)
    early, late = (moment.replace(tzinfo=local, fold=fold) for fold in (0, 1))
    try:
        if early.utcoffset() == late.utcoffset():
            return early.timestamp()
        there = early.astimezone(UTC).astimezone(local).replace(tzinfo=None)
    except (ValueError, OverflowError):
        raise InputError(f"{written} is out of reach; check the year.", where=where) from None
    if there != moment:
        raise InputError(f"{written} does not exist in {zone_name}: the clock skips it that day.", where=where)
    first, second = (t.isoformat(timespec="minutes").partition("T")[2] for t in (early, late))
    raise InputError(f'{written} happens twice in {zone_name}; write its time "{first}" or "{second}".', where=where)


def last_day_of_month(day: date) -> date:
    """The last day of a date's month."""
    return day.replace(day=calendar.monthrange(day.year, day.month)[1])


def month_start(day: date, months: int = 0) -> date:
    """The first day of the month `months` after (before when negative) a date's month.

    >>> month_start(date(2026, 3, 31), -1).isoformat()
    '2026-02-01'
    """
    index = day.year * 12 + day.month - 1 + months
    return date(index // 12, index % 12 + 1, 1)


def end_of_calendar_months(day: date, months: int) -> date:
    """Last day of the `months`-th calendar month after the month of a date: how 14 CFR counts calendar months.

    A review on 15 March 2024 with 24 calendar months runs through 31 March 2026.

    >>> end_of_calendar_months(date(2024, 3, 15), 24).isoformat()
    '2026-03-31'
    """
    return last_day_of_month(month_start(day, months))


def plus_months(day: date, months: int) -> date:
    """The same day `months` later, or the last day of a month too short for it.

    >>> plus_months(date(2024, 1, 31), 1).isoformat()
    '2024-02-29'
    """
    start = month_start(day, months)
    return start.replace(day=min(day.day, last_day_of_month(start).day))


def plus_years(day: date, years: int) -> date:
    """The same day `years` later; 29 February becomes 1 March in a year that has none.

    >>> plus_years(date(2024, 2, 29), 3).isoformat()
    '2027-03-01'
    """
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 3, 1)


def age_on(born: date, day: date) -> int:
    """Completed years of age on a day; born on 29 February, the year completes on 1 March in common years."""
    return day.year - born.year - (day < plus_years(born, day.year - born.year))
