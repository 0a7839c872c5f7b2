"""Suspicions about the inputs of a table: rows twice, holes, a value that stands alone, numbers no book prints."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import combinations, product
from typing import Any

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.check.book import INPUTS, Book, Complaint, cruise_inputs, duplicates

ROUND_FT, ROUND_M = 100.0, 50.0  # books print altitudes in whole hundreds of feet, or fifties of meters (practice)
STANDARD_C = 3.0  # a column at standard temperature, as rounded by books
HOTTEST_C, COLDEST_C = 55.0, -45.0


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about a table's inputs."""
    tables = book.file.performance
    for name, table in (("takeoff", tables.takeoff), ("landing", tables.landing), ("climb", tables.climb)):
        if table is None:
            continue
        by_deviation = any(r.isa_deviation_c is not None for r in table.rows)
        keys = ("weight_lb", "pressure_altitude_ft", "isa_deviation_c" if by_deviation else "oat_c")
        yield from _grid(book, f"performance.{name}", table.rows, keys)
        yield from _weights(book, f"performance.{name}", table.rows)
        yield from _altitudes(book, f"performance.{name}", table.rows)
        if not by_deviation:
            yield from _temperatures(book, f"performance.{name}", table.rows)
    yield from _same_heights(book)
    if tables.cruise is not None:
        yield from _grid(book, "performance.cruise", tables.cruise.rows, cruise_inputs(tables.cruise.rows))
        yield from _altitudes(book, "performance.cruise", tables.cruise.rows)
    if tables.power_chart is not None:
        rows = tables.power_chart.rows
        height = "density_altitude_ft" if rows[0].density_altitude_ft is not None else "pressure_altitude_ft"
        yield from _grid(book, "performance.power_chart", rows, (height, "rpm", "manifold_pressure_inhg"))
    if tables.stall is not None:
        yield from _grid(book, "performance.stall", tables.stall.rows, ("weight_lb", "flap_notch", "bank_deg"))
        yield from _weights(book, "performance.stall", tables.stall.rows)
    if tables.time_fuel_distance_to_climb is not None:
        to_climb, path = tables.time_fuel_distance_to_climb.rows, "performance.time_fuel_distance_to_climb"
        yield from _altitudes(book, path, to_climb)


def _grid(book: Book, table: str, rows: Sequence[Any], keys: tuple[str, ...]) -> Iterator[Complaint]:
    """A value that stands alone while the others come back; a hole between printed neighbors."""
    keys = tuple(k for k in keys if all(getattr(r, k) is not None for r in rows))
    alone: set[int] = set()
    twice = [later for _, later in duplicates(rows, keys)]
    for later in twice[:1]:
        first = next(a for a, b in duplicates(rows, keys) if b == later)
        what = f"the same inputs as row {first + 1}"
        why = "One of them is mistyped; the first is used."
        yield book.doubt(table, what, why, row=later, rows=(later, first), firm=True)
    for key in keys:
        count = Counter(getattr(r, key) for r in rows)
        usual = sorted(count.values())[len(count) // 2]
        for i, row in enumerate(rows):
            value = getattr(row, key)
            rare = count[value] == 1 and usual >= 3 and len(count) >= 2
            if not rare or not _fits_elsewhere(rows, i, keys, key) or _full_throttle(rows, i, key):
                continue
            alone.add(i)
            why = f"No other row has this {INPUTS[key]}, the others come back in every column; a digit is wrong."
            what = _input(book, table, key, value)
            yield book.doubt(table, what, why, row=i, column=key)
    if alone or twice:
        return  # the hole is what the wrong input left
    here = {tuple(getattr(r, k) for k in keys) for r in rows}
    holes = list(_holes(here, whole=not {"rpm", "percent_power"} & set(keys)))  # rows by RPM end at full throttle
    if 0 < len(holes) <= 3:
        differ = [k for k in keys if len({getattr(r, k) for r in rows}) > 1]
        hole = dict(zip(keys, holes[0], strict=True))
        given = ", ".join(_input(book, table, k, hole[k]) for k in differ)
        more = f" (and {len(holes) - 1} more)" if len(holes) > 1 else ""
        why = "Its neighbors on all sides are there; was a row left out, or another one mistyped?"
        yield book.doubt(table, f"no row for {given}{more}", why)


def _input(book: Book, table: str, key: str, number: float) -> str:
    """An input with its name: "altitude 6,000 ft", "2,600 RPM"."""
    name, text = INPUTS[key], book.number(table, key, number)
    return text if text.endswith(name) else f"{name} {text}"


def _full_throttle(rows: Sequence[Any], i: int, key: str) -> bool:
    """Is it the most manifold pressure or RPM printed at its altitude? Rows end where full throttle or 75 % do."""
    if key not in {"manifold_pressure_inhg", "rpm"} or getattr(rows[i], "pressure_altitude_ft", None) is None:
        return False
    here = sorted({getattr(r, key) for r in rows if r.pressure_altitude_ft == rows[i].pressure_altitude_ft})
    goes_on = len(here) > 2 and abs(here[-1] - 2.0 * here[-2] + here[-3]) < 0.1 * (here[-2] - here[-3])  # a step more
    return bool((rows[i].pressure_altitude_ft > 0 or goes_on) and getattr(rows[i], key) == here[-1])


def _fits_elsewhere(rows: Sequence[Any], i: int, keys: tuple[str, ...], key: str) -> bool:
    """Is there a hole the row would fill with a usual value in the column, or do all others have other inputs?"""
    others = [k for k in keys if k != key]
    mine = tuple(getattr(rows[i], k) for k in others)
    values = {getattr(r, key) for j, r in enumerate(rows) if j != i}
    taken = {getattr(r, key) for j, r in enumerate(rows) if j != i and tuple(getattr(r, k) for k in others) == mine}
    return bool(values - taken)


def _holes(here: set[tuple[float, ...]], *, whole: bool) -> Iterator[tuple[float, ...]]:
    """Inputs that are missing although their neighbors are there.

    whole : such a table is printed whole, so a missing corner counts too.
    """
    if not here:
        return
    levels = [sorted(set(axis)) for axis in zip(*here, strict=True)]
    wanted = set()
    for point in here:
        for axis, values in enumerate(levels):
            k = values.index(point[axis])
            if k + 2 < len(values):
                far = (*point[:axis], values[k + 2], *point[axis + 1 :])
                middle = (*point[:axis], values[k + 1], *point[axis + 1 :])
                if far in here and middle not in here:
                    wanted.add((middle, axis))
    cells = 1
    for values in levels:
        cells *= len(values)
    if (
        whole and cells - len(here) == 1 and cells >= 12
    ):  # one corner of a whole grid; the hottest and highest may be refused
        missing = next(p for p in product(*levels) if p not in here)
        if any(x != values[-1] for x, values in zip(missing[-2:], levels[-2:], strict=True)):
            yield missing
            return
    usual = {axis: _complete(here, levels, axis) for axis in range(len(levels))}
    for middle, axis in sorted(wanted):
        if usual[axis] and not _never_printed(here, levels, middle):
            yield middle


def _never_printed(here: set[tuple[float, ...]], levels: list[list[float]], at: tuple[float, ...]) -> bool:
    """Do two of its inputs meet in no row, whatever the third is? Then the book leaves them out, not the typist."""
    long = [axis for axis, values in enumerate(levels) if len(values) > 1]
    if len(long) < 3:
        return False
    return any(not any(p[i] == at[i] and p[k] == at[k] for p in here) for i, k in combinations(long, 2))


def _complete(here: set[tuple[float, ...]], levels: list[list[float]], axis: int) -> bool:
    """Do most lines along an axis have every level between their ends (not so where each line has its own inputs)?"""
    lines: dict[tuple[float, ...], list[int]] = {}
    for point in here:
        lines.setdefault((*point[:axis], *point[axis + 1 :]), []).append(levels[axis].index(point[axis]))
    long = [sorted(v) for v in lines.values() if len(v) >= 2]
    whole = sum(v[-1] - v[0] + 1 == len(v) for v in long)
    return len(long) >= 2 and whole >= 0.6 * len(long)


def _same_heights(book: Book) -> Iterator[Complaint]:
    """Takeoff and landing are printed for the same altitudes: one missing between others was left out."""
    tables = book.file.performance
    if tables.takeoff is None or tables.landing is None:
        return
    levels = {
        name: sorted({r.pressure_altitude_ft for r in table.rows})
        for name, table in (("takeoff", tables.takeoff), ("landing", tables.landing))
    }
    for name, other in (("takeoff", "landing"), ("landing", "takeoff")):
        lacks = [h for h in levels[other] if h not in levels[name]]
        more = [h for h in levels[name] if h not in levels[other]]
        if len(lacks) == 1 and not more and levels[name][0] < lacks[0] < levels[name][-1]:
            path = f"performance.{name}"
            what = f"no row for {book.number(path, 'pressure_altitude_ft', lacks[0])}, {other} has it"
            why = "Both are printed for the same altitudes; was a row left out?"
            yield book.doubt(path, what, why, leans=(f"performance.{other}",))


def _weights(book: Book, table: str, rows: Sequence[Any]) -> Iterator[Complaint]:
    """Each row's weight between empty and maximum."""
    a, wb = book.file.airplane, book.file.weight_and_balance
    top = max(a.maximum_takeoff_weight_lb, a.maximum_ramp_weight_lb or 0.0)
    low = wb.empty_weight_lb if wb is not None else 0.5 * top
    weights = [r.weight_lb for r in rows]
    light = [i for i, w in enumerate(weights) if w < low]
    heavy = [i for i, w in enumerate(weights) if w > top + 0.5]
    if wb is not None and len({round(w) for w in weights}) == 1 and not light and not heavy and weights[0] < 0.85 * top:
        light = list(range(len(rows)))
        low = 0.85 * top
    for bad, words, limit in (
        (light, "lighter than the empty airplane", low),
        (heavy, "heavier than the maximum", top),
    ):
        if not bad:
            continue
        each, whole = book.number(table, "weight_lb", weights[bad[0]]), len(bad) == len(rows) > 1
        more = f", and {len(bad) - 1} more rows" if len(bad) > 1 else ""
        yield book.doubt(
            table,
            f"every row's weight ({each}) is {words}" if whole else f"{each}{more}, {words}",
            f"That is {book.weight(limit)}; kg and lb exchanged, or a digit wrong?",
            row=bad[0],
            column="weight_lb",
            rows=() if whole else tuple(bad),
            leans=("airplane", WB) if whole or len(bad) > 2 else (),
            whole=whole,
            firm=bad is heavy,
        )


WB = "weight_and_balance"


def _altitudes(book: Book, table: str, rows: Sequence[Any]) -> Iterator[Complaint]:
    """Altitudes no book prints."""
    unit = book.unit(table, "pressure_altitude_ft")
    step = ROUND_M if unit == "m" else ROUND_FT
    shown = [book.in_print(table, "pressure_altitude_ft", r.pressure_altitude_ft) for r in rows]
    odd = [i for i, x in enumerate(shown) if abs(x / step - round(x / step)) > 1e-3]
    if odd:
        i, whole = odd[0], len({shown[i] for i in odd}) > 1
        why = "Books print altitudes in whole hundreds; " + (
            "feet and meters exchanged?" if whole else "a digit is wrong."
        )
        more = f", and {len(odd) - 1} more rows" if len(odd) > 1 else ""
        what = f"altitude {book.number(table, 'pressure_altitude_ft', rows[i].pressure_altitude_ft)}{more}"
        yield book.doubt(table, what, why, row=i, column="pressure_altitude_ft", rows=tuple(odd), whole=whole)
        return
    top = max(r.pressure_altitude_ft for r in rows)
    if top < 2500 and len({r.pressure_altitude_ft for r in rows}) >= 3:
        what = f"altitudes end at {book.number(table, 'pressure_altitude_ft', top)}"
        yield book.doubt(
            table, what, "Tables of three altitudes and more reach 4,000 ft and more; meters typed as feet?", whole=True
        )
    elif top > 16_500:
        what = f"altitudes up to {book.number(table, 'pressure_altitude_ft', top)}"
        yield book.doubt(table, what, "No light single takes off or climbs so high; feet typed as meters?", whole=True)


def _temperatures(book: Book, table: str, rows: Sequence[Any]) -> Iterator[Complaint]:
    """One temperature an altitude is the standard one; many lie in the weather's range."""
    lone = len({(r.weight_lb, r.pressure_altitude_ft) for r in rows}) == len(rows)
    shown = [
        (i, r, units.to_unit(float(standard_temperature_k(r.pressure_altitude_ft * units.FT_M)), "°C"))
        for i, r in enumerate(rows)
    ]
    if lone and len({r.pressure_altitude_ft for r in rows}) > 1 and len({r.oat_c for r in rows}) > 1:
        gaps = sorted(r.oat_c - s for _, r, s in shown)
        middle = gaps[len(gaps) // 2]
        odd = [i for i, r, s in shown if abs(r.oat_c - s) > STANDARD_C]
        off = abs(middle) > STANDARD_C and gaps[-1] - gaps[0] > 2.0
        if odd and (off or len(odd) < len(rows)):
            i = odd[0]
            about = book.number(table, "oat_c", shown[i][2])
            yield book.doubt(
                table,
                f"temperature {book.number(table, 'oat_c', rows[i].oat_c)}",
                f"One temperature at each altitude is the standard one, here {about}; a sign, a digit or °F and °C?",
                row=i,
                column="oat_c",
                rows=tuple(odd),
                whole=len(odd) > 2,
            )
        return
    hot, cold = max(r.oat_c for r in rows), min(r.oat_c for r in rows)
    spread = hot - cold
    if spread == 0:
        return
    if hot > HOTTEST_C or hot < 18.0 or cold < COLDEST_C or spread > 85.0:
        what = f"temperatures from {book.number(table, 'oat_c', cold)} to {book.number(table, 'oat_c', hot)}"
        why = "Tables cover cool to hot days; are °F and °C exchanged?"
        yield book.doubt(table, what, why, whole=True)
