"""One slip, one complaint: what many checks say of one likely cause is said once, where the cause stands.

A number that is wrong makes its own column, its row's other columns and every table held against it look strange. What
is found inside one table is direct evidence against that table; what two tables say against each other is laid to the
one that is doubted anyway, else to the one most of them have in common. Within a table complaints are one when they
name the same or neighboring rows, the same column, or say the same of several rows; where else it shows is said too.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

from airwork.airplane.check.book import Complaint
from airwork.errors import Where

MOST = 3  # complaints of one table, and places a complaint names beside its own; the rest is counted


def grouped(found: Iterable[Complaint]) -> tuple[Complaint, ...]:
    """Complaints by likely cause, in the order they were found."""
    complaints = list(dict.fromkeys(found))
    direct = Counter(c.table for c in complaints if not c.leans and c.table and not c.alone)
    across = [c for c in complaints if c.leans]
    blamed: dict[int, str] = {}
    for c in across:
        named = [t for t in direct if any(_within(t, suspect) for suspect in (c.table, *c.leans))]
        if named:
            blamed[id(c)] = max(named, key=lambda t: direct[t])
    left = [c for c in across if id(c) not in blamed]
    while left:
        suspects = {id(c): dict.fromkeys(_root(s) for s in (c.table, *c.leans)) for c in left}
        common = Counter(t for c in left for t in suspects[id(c)])
        first = Counter(_root(c.table) for c in left)
        table = max(common, key=lambda t: (common[t], first[t]))
        if common[table] == 1:
            table = _root(left[0].table)
        one = [c for c in left if table in suspects[id(c)]]
        here = min((c.table for c in one if _root(c.table) == table), key=len, default=table)  # one cause, one place
        blamed |= {id(c): here for c in one}
        left = [c for c in left if c not in one]
    by_table: dict[str, list[Complaint]] = {}
    for c in complaints:
        by_table.setdefault(blamed.get(id(c), c.table), []).append(c)
    return tuple(_said(c) for table, members in by_table.items() for c in _of_table(table, members))


def _root(table: str) -> str:
    """Tables of one subject are suspected together: an envelope with its loading."""
    return table.partition(".")[0] if table.startswith(("weight_and_balance", "airspeed_calibration")) else table


def _within(table: str, suspect: str) -> bool:
    return table == suspect or table.startswith(f"{suspect}.")


def _of_table(table: str, members: list[Complaint]) -> list[Complaint]:
    """The complaints about one table: those of one likely cause together, and no more than a few."""
    if alone := [c for c in members if c.alone]:  # what is missing explains no wrong number, nor the other way round
        rest = [c for c in members if not c.alone]
        return [*(_of_table(table, rest) if rest else []), *alone[:MOST]]
    own = [c for c in members if _within(c.table, table)]
    if not own:
        lead = _fullest(members)
        what = f"{replace(lead.where, line=None)} says: {lead.what}"
        moved = replace(lead, where=Where(table=table), what=what, rows=())
        return [_with(moved, [c for c in members if c is not lead])]
    if (whole := [c for c in own if c.whole]) and all(c.whole or c.leans for c in own):
        lead = _fullest(whole)
        return [_with(lead, [c for c in members if c is not lead])]
    single = [c for c in own if not c.whole and not c.leans]  # more precise than what others say of the table
    heads = single or own
    if not single:  # only other tables speak against it: one cause, said where most of it shows
        return [_with(own[0], [c for c in members if c is not own[0]])]
    said = Counter(_first(c) for c in heads)
    causes: list[list[Complaint]] = []
    for c in heads:
        joined = [cause for cause in causes if any(_one(c, other, said) for other in cause)]
        causes = [cause for cause in causes if cause not in joined]
        causes.append([*(m for cause in joined for m in cause), c])
    shown = [(next((c for c in cause if c.key and c.rows), cause[0]), cause) for cause in causes]
    extra = [c for c in members if c not in heads] + [c for _, cause in shown[MOST:] for c in cause]
    return [
        _with(lead, [c for c in cause if c is not lead] + (extra if n == 0 else []))
        for n, (lead, cause) in enumerate(shown[:MOST])
    ]


def _one(a: Complaint, b: Complaint, said: Counter[str]) -> bool:
    """Have two complaints of a table one likely cause? said : how often each is said of the table."""
    if not a.rows or not b.rows or a.where.rows != b.where.rows:
        return True  # of the table as a whole, or of what stands over its rows
    near = any(abs(x - y) <= 1 for x in a.rows for y in b.rows)
    return near or (bool(a.key) and a.key == b.key) or (_first(a) == _first(b) and said[_first(a)] >= MOST)


def _first(c: Complaint) -> str:
    return c.why.partition(".")[0]


def _fullest(members: list[Complaint]) -> Complaint:
    """The one with a guess at the unit, else the first."""
    return next((c for c in members if "typed as" in c.why), members[0])


def _with(c: Complaint, others: list[Complaint]) -> Complaint:
    """Said with others: their places, their questions, firm if one of them is."""
    asked = dict.fromkeys(q for one in (c, *others) for q in one.asked)
    places = (*c.others, *(_short(o, c.table) for o in others))
    return replace(c, others=places, asked=tuple(asked), firm=any(one.firm for one in (c, *others)))


def _short(c: Complaint, table: str) -> str:
    """Where else it shows, in few words."""
    place = "" if c.where.row is None else f"row {c.where.row + 1}"
    place = place or c.where.field or c.key
    return (place or "the whole table") if c.table == table else f"[{c.table}]{f' {place}' if place else ''}"


def _said(c: Complaint) -> Complaint:
    """A complaint with the places of the others in words."""
    if not c.others:
        return c
    count = "One more check doubts" if len(c.others) == 1 else f"{len(c.others)} more checks doubt"
    places = list(dict.fromkeys(c.others))
    more = ", …" if len(places) > MOST else ""
    return replace(c, why=f"{c.why} ({count} it: {', '.join(places[:MOST])}{more}.)")
