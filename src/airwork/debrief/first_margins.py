"""The thin margins as one line: the worst, what was thin in the same seconds, and where the others were."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import replace

from airwork.debrief.first_words import with_article
from airwork.debrief.margin import SAME_S, Margin
from airwork.maneuvers import room
from airwork.units import clock

ALSO = " Also: "  # what follows is another margin


def alike(text: str) -> str:
    """What two have in common that differ in their numbers alone; of a gate the first thing that was off there.

    How long it lasted is one of the numbers, and what was pulled there.

    >>> alike("Final at 300 ft above the field: 17° off the runway's track, 20° of bank. It was landed.")
    "Final at # ft above the field: #° off the runway's track"
    """
    left = re.sub(r"(?<=above the field)(: [^,.]*).*", r"\1", text)
    left = re.sub(r", [\d.]+ g pulled(?=:)", "", left)
    left = re.sub(r" \(the worst of \d+\)| for (\d+ min ?)?(\d+ s)?(?=[:;,])|\.$", "", left)
    return re.sub(r"[−+]?\d[\d,.]*", "#", left)


def grouped(thin: Sequence[Margin]) -> list[Margin]:
    """One for each kind of margin, its worst (of equals the nearest to the worst of all), and how many times."""
    by_kind: dict[str, list[Margin]] = {}
    for m in thin:
        by_kind.setdefault(alike(m.text), []).append(m)
    out = []
    for same in by_kind.values():
        worst = min(same, key=lambda m: (-m.rank, abs(m.start_s - thin[0].start_s)))
        if len(same) > 1:
            text = re.sub(r"\.(?= |$)", f" (the worst of {len(same)}).", worst.text, count=1)
            worst = replace(worst, brief=worst.short, text=text)
        out.append(worst)
    return out


def _with_worst(thin: Sequence[Margin]) -> list[Margin]:
    """The worst margin, and what else was thin in the same seconds."""
    worst = thin[0]
    return [
        worst, *[m for m in thin[1:] if m.start_s < worst.end_s + 10.0 and m.end_s > worst.start_s - 60.0][:2]
    ]  # fmt: skip


def said_first(thin: Sequence[Margin]) -> list[Margin]:
    """The margins told in the first line."""
    if not thin:
        return []
    same = _with_worst(thin)
    return same + [m for m in thin if m not in same][:1]


def joined(thin: Sequence[Margin], elsewhere: Collection[str] = ()) -> str:
    """The worst margin, and what else was thin in the same seconds; one more, and where the others were.

    elsewhere : kinds (`alike`) told in the pattern: no further one here.
    """
    same = _with_worst(thin)
    text = " ".join(m.text for m in same)
    others = [m for m in thin if m not in same]
    if others:
        news = " ".join(x for x in re.split(r"(?<=\.) (?=[A-Z])", others[0].text) if x not in text)
        text += f"{ALSO}{news[0].lower()}{news[1:]}" if news else ""
    more = [m for m in others[1:] if alike(m.text) not in elsewhere]
    if more:
        apart = [m for k, m in enumerate(more) if all(abs(m.start_s - o.start_s) > SAME_S for o in more[:k])]
        text += f" And {len(more)} more: {'; '.join(_where(m) for m in apart)}."
    return text


def _where(margin: Margin) -> str:
    """What and where: "22:45 final 17 kt fast in the landing"."""
    where = f"in {with_article(room(margin.kind).named)}" if margin.kind else ""
    return f"{clock(margin.start_s)} {margin.short.replace('{in}', where)}".rstrip(". ")
