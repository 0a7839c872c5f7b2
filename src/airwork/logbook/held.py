"""What a person holds: endorsements and dated things, until when each is good, and what runs out soon."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from airwork.days import age_on, end_of_calendar_months, plus_months
from airwork.logbook.records import Held
from airwork.logbook.rules import HeldKind, Rules

SOON_DAYS = 60
ENDS = "ends "  # kind of the entry that ends an endorsement; the identity of that one follows


@dataclass(frozen=True, slots=True)
class Validity:
    """Until when a thing held is good. until : its last good day; None: it does not run out."""

    held: Held
    rule: HeldKind | None  # None: the rules file doesn't describe it
    until: date | None
    remark: str = ""

    def good_on(self, day: date) -> bool:
        """Held and not run out on a day."""
        return self.held.on_date <= day and (self.until is None or day <= self.until)

    @property
    def how_long(self) -> str:
        """Until when, in words."""
        if self.held.ended_on is not None:
            return f"ended on {self.held.ended_on} {self.held.ended}"
        return f"good until {self.until}" if self.until else "does not run out"

    @property
    def over(self) -> str:
        """How it came to be good no more, in words."""
        return f"ran out on {self.until}" if self.held.ended_on is None else self.how_long

    @property
    def text(self) -> str:
        about = self.rule.text if self.rule else self.held.kind
        which = ", ".join(part for part in (self.held.make_model, self.held.place) if part)
        return f"{about} ({which})" if which else about


def validity(held: Held, rules: Rules, born_on: date | None) -> Validity:
    """Until when something held is good: what is written on it, else what the rules file says, till it was ended."""
    found = _as_given(held, rules, born_on)
    if held.ended_on is not None:
        return replace(found, until=min(found.until or date.max, held.ended_on - timedelta(days=1)))
    return replace(found, remark=f"said to have ended {held.ended}") if held.ended else found


def _as_given(held: Held, rules: Rules, born_on: date | None) -> Validity:
    rule = rules.held_kind(held.kind)
    if held.expires_on is not None or rule is None:
        return Validity(held, rule, held.expires_on)
    if rule.days is not None:
        return Validity(held, rule, held.on_date + timedelta(days=rule.days))
    months, from_40 = rule.calendar_months or rule.months, rule.calendar_months_from_40 or rule.months_from_40
    if months is None:
        return Validity(held, rule, None)
    remark = ""
    if from_40 is not None:
        if born_on is None:
            months, remark = min(months, from_40), "birth date not on record: the shorter time is taken"
        elif age_on(born_on, held.on_date) >= 40:
            months = from_40
    until = end_of_calendar_months(held.on_date, months) if rule.calendar_months else plus_months(held.on_date, months)
    return Validity(held, rule, until, remark)


def best(
    kind: str, holdings: Iterable[Validity], day: date, *, make_model: str = "", place: str | None = None
) -> Validity | None:
    """Of one kind, the holding good longest among those given by a day, a merely claimed one last; None without one.

    make_model, place : what it must be for, where the kind is given for one only; place None asks for none.
    """
    fits = [
        v
        for v in holdings
        if v.held.kind == kind
        and v.held.on_date <= day
        and (v.rule is None or not v.rule.per_make_model or _same(v.held.make_model, make_model))
        and (v.rule is None or not v.rule.per_place or place is None or _same(v.held.place, place))
    ]
    return max(fits, key=lambda v: (not v.held.claimed, v.until or date.max, v.held.on_date), default=None)


def _same(a: str, b: str) -> bool:
    return " ".join(a.casefold().split()) == " ".join(b.casefold().split())


def running_out(holdings: Sequence[Validity], today: date) -> tuple[Validity, ...]:
    """The newest of each kind that has run out or will within `SOON_DAYS`, soonest first; nothing that was ended."""
    newest: dict[tuple[str, str, str], Validity] = {}
    for one in holdings:
        if one.held.on_date > today or one.held.ended_on is not None:
            continue
        key = (one.held.kind, one.held.make_model.casefold(), one.held.place.casefold())
        other = newest.get(key)
        if other is None or (one.until or date.max) > (other.until or date.max):
            newest[key] = one
    last = today + timedelta(days=SOON_DAYS)
    soon = [one for one in newest.values() if one.until is not None and one.until <= last]
    return tuple(sorted(soon, key=lambda v: (v.until or date.max, v.held.kind)))
