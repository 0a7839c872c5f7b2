"""Which line of a table names its columns, and what the lines beside it say: units, groups, names used twice."""

from __future__ import annotations

import math
import re
from collections import Counter
from itertools import combinations

from airwork.errors import InputError
from airwork.recording.names import Meaning, common_words, understand
from airwork.recording.table_lines import MOST_COLUMNS
from airwork.recording.unit_words import read_units

_CELL_FORMATS = re.compile(r"(?i)^#?(?:y{2,4}[-/.]m+[-/.]d+|d+[-/.]m+[-/.]y+|m+[-/.]d+[-/.]y+|h+:m+(?::s+)?|enum|ident|none|-|n/?a|text|utc|mhz|khz|hz|mt|nm)$")  # fmt: skip  # noqa: E501
COMMA_NUMBER = re.compile(r"^[+-]?\d*,\d+$")
_FIGURES = re.compile(r"^[@$!#]?[\dA-Z+.-]{24,}$")
_MOST_WAYS = 5_000
NOTHING = {"", "-", "--", "---", "nan", "null", "none", "n/a", "na", "inf", "-inf", "invalid", "*", "?"}
NUMBER = re.compile(r"^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$")
_STAMP = re.compile(r"^(?:\d{4}-\d\d-\d\d[T ]?)?\d\d:\d\d:\d\d\S*$")


def find_header(rows: list[list[str]]) -> int:
    """The row whose cells are most often names the grammar knows; -1 when none is."""
    best, best_score = -1, 1.5
    scores: dict[int, float] = {}
    for i, cells in enumerate(rows):
        names = [c.strip().lstrip("#%").strip() for c in cells if c.strip()]
        if len(names) < 2 or sum(bool(NUMBER.match(n)) for n in names) > 0.3 * len(names):
            continue
        if any(map(_STAMP.match, names)):  # a row
            continue
        common = common_words(names) if len(names) <= MOST_COLUMNS else frozenset()
        scores[i] = score = float(sum(understand(n, "", common) is not None for n in names if len(n) < 80))
        if score > best_score:
            best, best_score = i, score
    return _over_the_rows(rows, best, scores)


def _over_the_rows(rows: list[list[str]], best: int, scores: dict[int, float]) -> int:
    """Names over other columns than nearly all rows have are a trip's, told above; below come those of the rows."""
    widths = Counter(map(len, rows[best + 1 :]))
    width, often = widths.most_common(1)[0] if best >= 0 and widths else (0, 0)
    if often < max(_USUAL * widths.total(), _ROWS) or abs(len(rows[best]) - width) <= 1:
        return best
    fit = [i for i, score in scores.items() if i > best and len(rows[i]) == width and score > 1.5]
    return max(fit, key=scores.__getitem__, default=best)


_USUAL, _ROWS = 0.8, 5


def any_header(rows: list[list[str]], where: str) -> int:
    """A row of words above rows of numbers, for a file whose names the grammar doesn't know (a mapping may)."""
    for i, cells in enumerate(rows[:-1]):
        words = [c for c in cells if c.strip() and not NUMBER.match(c.strip())]
        follows = rows[i + 1]
        all_words = (
            len(words) >= 2 and not any(map(_STAMP.match, words)) and len(words) == len([c for c in cells if c.strip()])
        )
        numbers = (
            has_numbers(follows) or any(map(_STAMP.match, follows)) or (i + 2 < len(rows) and has_numbers(rows[i + 2]))
        )
        if all_words and len(follows) >= len(cells) and numbers:
            under = [c for c in follows if c.strip()]
            titled = len(under) > len(cells) and not is_units(follows, len(follows))
            return i + titled * (not any(map(NUMBER.match, under)) and not any(map(_STAMP.match, under)))
    rows = [r for r in rows if any(c.strip() for c in r)]
    if len(rows) > 2 and all(len(r) == len(rows[-1]) >= 3 and (has_numbers(r) or has_digits(r)) for r in rows[-3:]):
        return -1  # numbers without names: a mapping may name them
    if len(rows) > 2 and sum(len(r) == 1 and _FIGURES.match(r[0]) is not None for r in rows) > 0.8 * len(rows):
        said = "its lines are figures that nothing parts, as an instrument's own port sends them"
        raise InputError(f"{said}: only its maker says which is which; export the recording as CSV.", where=where)
    raise InputError(
        "no row of column names was found in the first lines; a recording needs names such as time, latitude, "
        "longitude, altitude, IAS. If the file has other names, settle them with: airwork recording map FILE.",
        where=where,
    )


def under_its_names(rows: list[list[str]], header: int) -> int:
    """The row above one of units alone, where that holds a word over each: names the grammar doesn't know."""
    above = rows[header - 1] if header > 0 else []
    words = [c for c in above if c.strip() and not NUMBER.match(c.strip())]
    named = len(words) == len(above) == len(rows[header]) > sum(bool(c.strip()) for c in rows[header])
    named |= len(words) == len(above) == len(rows[-1]) > len(rows[header])
    return header - 1 if named and is_units(rows[header], len(above)) else header


def numbered(rows: list[list[str]]) -> list[str]:
    return [f"column {k + 1}" for k in range(len(rows[-1]))]


def refuse_other_names(data: bytes, names: list[str], delimiter: str, first: int, where: str) -> None:
    """A line amid the rows that begins as the header does and names other columns or units: two tables in one file."""
    mark = b"\n" + names[0].encode() + delimiter.encode()
    at = data.find(mark, sum(map(len, data[:262_144].split(b"\n")[:first]))) if len(names[0]) > 1 and first else -1
    while at >= 0:
        end = data.find(b"\n", at + 1)
        line = data[at + 1 : end if end > 0 else len(data)].decode(errors="replace")
        again = [c.strip().strip('"') for c in line.split(delimiter)]
        if len(again) == len(names) and again != names and not any(map(NUMBER.match, again)):
            number = data.count(b"\n", 0, at) + 2
            raise InputError(
                f"line {number:,} names its columns anew, otherwise than the first time ({line[:60]}); cut it there "
                "into two files.",
                where=where,
            )
        at = data.find(mark, at + 1)


def standing_under(names: str, units: str) -> list[str]:
    """Units where blanks part the fields, each to the name it stands nearest under; "" where none does."""
    at, words = ([(0.5 * sum(m.span()), m[0]) for m in re.finditer(r"\S+", line)] for line in (names, units))
    if len(words) > len(at) or math.comb(len(at), len(words)) > _MOST_WAYS:
        return [word for _, word in words]
    ways = combinations(range(len(at)), len(words))
    best = min(ways, key=lambda way: sum(abs(at[k][0] - place) for k, (place, _) in zip(way, words, strict=True)))
    out = [""] * len(at)
    for k, (_, word) in zip(best, words, strict=True):
        out[k] = word
    return out


def of_groups(names: list[str], units: list[str], above: list[str]) -> list[str]:
    """Names used twice, or that say nothing alone, with the word over them in the line above (it may span several)."""
    words = [c for c in above if c]
    if len(above) != len(names) or not words or any(map(NUMBER.match, words)):
        return names
    out, group = [], ""
    for name, unit, word in zip(names, units, above, strict=True):
        group, alone = word or group, understand(name, unit)
        with_group = f"{group} {name}"
        helps = alone is None and understand(with_group, unit) is not None
        out.append(with_group if name and (names.count(name) > 1 or helps) else name)
    return out


def second_names(rows: list[list[str]], header: int) -> int | None:
    """The row beside the header that names the same columns once more, in other words; None where there is none."""
    for i in (header - 1, header + 1) if header >= 0 else ():
        if not 0 <= i < len(rows) or len(rows[i]) != len(rows[header]) or is_units(rows[i], len(rows[i])):
            continue
        pairs = [(a.strip(), b.strip()) for a, b in zip(rows[header], rows[i], strict=True)]
        other = [b for _, b in pairs if b]
        if any(map(NUMBER.match, other)) or any(map(_STAMP.match, other)):
            continue
        means = [(understand(a), understand(b)) for a, b in pairs if len(a) < 80 and len(b) < 80]
        both = [a.quantity == b.quantity for a, b in means if a is not None and b is not None]
        if sum(both) > max(2.0, _ALIKE * sum(a is not None for a, _ in means)):
            return i
    return None


_ALIKE = 0.4  # of the names mean the same in both rows


def of_two_rows(names: list[str], units: list[str], others: list[str]) -> tuple[list[str], list[str]]:
    """(names, units) where a second row names the same columns: each by the words that say more, units from either."""
    out, cells = [], []
    for name, unit, other in zip(names, units, others, strict=True):
        own, said = understand(name, unit), understand(other, unit)
        again = names.count(name) > 1 and others.count(other) == 1
        taken, beside = (other, name) if other and (not name or again or _says_more(said, own)) else (name, other)
        meaning = understand(taken, unit)
        texts = () if unit or (meaning and meaning.units) else (*re.findall(r"[\[(]([^\[\]()]*)", beside), beside)
        fit = ((t, understand(taken, t)) for t in texts)
        able = (t for t, m in fit if m and m.units and (meaning is None or m.quantity == meaning.quantity))
        out.append(taken)
        cells.append(next(able, unit))
    return out, cells


def _says_more(said: Meaning | None, own: Meaning | None) -> bool:
    """Of a column's two names the second is taken: what is understood, a wish, what more words say."""
    if said is None or own is None or said.aside != own.aside:
        return said is not None and (own is None or said.aside)
    return said.quantity != own.quantity and said.score - 2.0 * bool(said.units) > own.score - 2.0 * bool(own.units)


def distinct(names: list[str]) -> list[str]:
    """A name used twice gets a number: the second "Alt" is "Alt (2)"."""
    seen: dict[str, int] = {}
    out = []
    for name in names:
        seen[name] = seen.get(name, 0) + 1
        out.append(name if seen[name] == 1 or not name else f"{name} ({seen[name]})")
    return out


def is_units(cells: list[str], width: int) -> bool:
    tidy = cells_of_units(cells, width)
    filled = [c for c in tidy if c]
    if len(filled) < 2 or len(cells) < 0.5 * width or any(NUMBER.match(c) for c in filled):
        return False
    good = sum(bool(read_units(c) or (c.split() and read_units(c.split()[0]))) for c in filled)
    forms = sum(bool(_CELL_FORMATS.match(c)) for c in filled)
    return good >= 2 and good + forms >= 0.5 * len(filled)


def cells_of_units(cells: list[str], width: int) -> list[str]:
    tidy = [re.sub(r"(?i)^[#%]*\s*(?:units?\s*:)?", "", c).strip() for c in cells[:width]]
    return tidy + [""] * (width - len(tidy))


def has_numbers(cells: list[str]) -> bool:
    filled = [c for c in cells if c.strip().lower() not in NOTHING]
    numbers = sum(bool(NUMBER.match(c.strip()) or COMMA_NUMBER.match(c.strip())) for c in filled)
    return len(filled) >= 1 and numbers >= max(1.0, 0.4 * len(filled)) and not cells[0].startswith("#")


def has_digits(cells: list[str]) -> bool:
    """Positions such as "N50 27.51" beside a clock time: hardly a plain number in the row."""
    filled = [c for c in cells if c.strip()]
    return len(filled) >= 2 and sum(any(x.isdecimal() for x in c) for c in filled) >= 0.5 * len(filled)
