"""A number as people of several countries write it."""

from __future__ import annotations

import math
import re

from airwork.units import halves_as_decimals

_BETWEEN_THOUSANDS = re.compile(r"(?<=\d)['\u00a0\u202f ](?=\d{3}(?!\d))")
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d+)*|[.,]\d+)")


def typed_number(text: str, low: float = -math.inf, high: float = math.inf) -> float | None:
    """A number; None for what is none, or can be two: 1.150 is 1150 or 1.15, unless one lies outside the limits.

    low, high : what it can be at all. A comma before three digits stands between thousands where both can be.

    >>> [typed_number(text) for text in ("16,3", "0,962", "1.150,5", "1'150", "1,150", "1.150", "12 1/2", "−20")]
    [16.3, 0.962, 1150.5, 1150.0, 1150.0, None, 12.5, -20.0]
    >>> typed_number("1.368", high=25.4)
    1.368
    """
    plain = halves_as_decimals(text.strip().replace("\u2019", "'")).replace("−", "-")
    plain = _BETWEEN_THOUSANDS.sub("", plain)
    if not _NUMBER.fullmatch(plain):
        return None
    marks = [c for c in plain if c in ".,"]
    if len(set(marks)) == 2:  # the last one is the decimal mark
        between = marks[0]
        return float(plain.replace(between, "").replace(",", ".")) if marks.count(marks[-1]) == 1 else None
    if not marks:
        return float(plain)
    whole, *groups = re.split(r"[.,]", plain.lstrip("+-"))
    in_thousands = float(re.sub(r"[.,]", "", plain)) if all(len(g) == 3 for g in groups) else None
    if len(marks) > 1:
        return in_thousands
    as_decimal = float(plain.replace(",", "."))
    if in_thousands is None or not 1 <= len(whole) <= 3 or whole.startswith("0"):
        return as_decimal
    fits = [n for n in (in_thousands, as_decimal) if low <= n <= high]
    if len(fits) == 1:
        return fits[0]
    return in_thousands if marks == [","] else None
