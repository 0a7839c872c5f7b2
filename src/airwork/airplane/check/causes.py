"""One slip, one complaint: what many checks say of one likely cause is said once, where the cause stands.

A number that is wrong makes its own column, its row's other columns and every table held against it look strange. What
is found inside one table is direct evidence against that table; what two tables say against each other is laid to the
one that is doubted anyway, else to the one most of them have in common.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

from airwork.airplane.check.book import Complaint
from airwork.errors import Where

MOST = 3  # complaints of one table; the rest is counted


def grouped(found: Iterable[Complaint]) -> tuple[Complaint, ...]:
    """Complaints by likely cause, in the order they were found."""
    complaints = [_placed(c) for c in dict.fromkeys(found)]
    direct = Counter(c.table for c in complaints if not c.leans and c.table and not c.alone)
    across = [c for c in complaints if c.leans]
    blamed: dict[int, str] = {}
    for c in across:
        named = [t for t in direct if any(_within(t, suspect) for suspect in (c.table, *c.leans))]
        if named:
            blamed[id(c)] = max(named, key=lambda t: direct[t])
    left = [c for c in across if id(c) not in blamed]
    while left:
        common = Counter(t for c in left for t in {_root(s) for s in (c.table, *c.leans)})
        first = Counter(_root(c.table) for c in left)
        table = max(common, key=lambda t: (common[t], first[t]))
        if common[table] == 1:
            table = _root(left[0].table)
        for c in [c for c in left if table in {_root(s) for s in (c.table, *c.leans)}]:
            blamed[id(c)] = c.table if _root(c.table) == table else table
            left.remove(c)
    by_table: dict[str, list[Complaint]] = {}
    for c in complaints:
        by_table.setdefault(blamed.get(id(c), c.table), []).append(c)
    return tuple(_said(c) for table, members in by_table.items() for c in _of_table(table, members))


def _root(table: str) -> str:
    """Tables of one subject are suspected together: an envelope with its loading."""
    return table.partition(".")[0] if table.startswith(("weight_and_balance", "airspeed_calibration")) else table


def _within(table: str, suspect: str) -> bool:
    return table == suspect or table.startswith(f"{suspect}.")


def _placed(c: Complaint) -> Complaint:
    """A complaint with its table and row, from its place where the check gave none."""
    if c.table:
        return c
    return replace(c, table=c.where.table, rows=() if c.where.row is None else (c.where.row,))


def _of_table(table: str, members: list[Complaint]) -> list[Complaint]:
    """The complaints about one table: those about one row together, and no more than a few."""
    own = [c for c in members if _within(c.table, table)]
    if not own:
        lead = _fullest(members)
        said = f"{replace(lead.where, line=None)} says: {lead.what}"
        moved = replace(lead, where=Where(table=table), what=said, table=table, rows=())
        return [_with(moved, len(members) - 1)]
    other = len(members) - len(own)
    whole = [c for c in own if c.whole]
    single = [c for c in own if not c.whole and not c.leans]
    out: list[Complaint] = []
    if whole and not single and len(members) > 1:
        return [_with(_fullest(whole), len(members) - 1)]
    if single and len(single) < len(own):  # what is seen within the table is more precise than what others say of it
        other += len(own) - len(single)
        own = single
    seen: list[set[tuple[str, int]]] = []
    count: list[int] = []
    for c in own:
        rows = {(c.where.rows, r) for r in c.rows}
        at = next((i for i, s in enumerate(seen) if rows and rows & s), None)
        if at is None:
            out.append(c)
            seen.append(rows)
            count.append(0)
        else:
            seen[at] |= rows
            count[at] += 1
            if c.key and not out[at].key:  # the one that names the number and what it should be
                out[at] = c
    shown = [_with(c, n) for c, n in zip(out, count, strict=True)]
    if len(shown) > MOST:
        shown = [*shown[: MOST - 1], _with(shown[MOST - 1], len(shown) - MOST)]
    if other and shown:
        shown[0] = _with(shown[0], other)
    return shown


def _fullest(members: list[Complaint]) -> Complaint:
    """The one with a guess at the unit, else the first."""
    return next((c for c in members if "typed as" in c.why), members[0])


def _with(c: Complaint, others: int) -> Complaint:
    return replace(c, others=c.others + others) if others else c


def _said(c: Complaint) -> Complaint:
    """A complaint with the count of the others in words."""
    if not c.others:
        return c
    count = "One more check stumbles" if c.others == 1 else f"{c.others} more checks stumble"
    return replace(c, why=f"{c.why} ({count} over it.)")
