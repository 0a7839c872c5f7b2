"""What the verdict says of weather that is reported or forecast: storms, freezing, snow, rain, fog, haze."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from airwork.lesson.case import Case
from airwork.lesson.moments import SEVERE, Found, Moment, worst, worst_of
from airwork.lesson.verdict import OWN, Level, Reason
from airwork.units import FT_M

# WMO code table 4678 in words ([AWH] 24.4).
_INTENSITY = {"+": "heavy ", "-": "light ", "": ""}
_DESCRIPTOR = {
    "MI": "shallow", "BC": "patches of", "PR": "partial", "DR": "low drifting", "BL": "blowing", "SH": "showers of",
    "TS": "thunderstorm with", "FZ": "freezing",
}  # fmt: skip
_PHENOMENON = {
    "DZ": "drizzle", "RA": "rain", "SN": "snow", "SG": "snow grains", "IC": "ice crystals", "PL": "ice pellets",
    "GR": "hail", "GS": "small hail", "UP": "unknown precipitation", "FG": "fog", "FU": "smoke", "VA": "volcanic ash",
    "DU": "dust", "SA": "sand", "HZ": "haze", "PY": "spray", "BR": "mist", "PO": "dust whirls", "SQ": "squall",
    "FC": "funnel cloud", "SS": "sandstorm", "DS": "dust storm",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Kind:
    """A kind of weather: which codes are it, what it means, what would change it."""

    topic: str
    codes: re.Pattern[str]
    level: Level
    change: str


# Levels are airwork's own; the first that fits a code is its kind.
_KINDS = (
    _Kind("thunderstorm", re.compile("TS"), "no-go", "stay 20 NM from every storm; wait until it is gone"),
    _Kind("funnel cloud", re.compile("FC"), "no-go", "stay on the ground"),
    _Kind("freezing precipitation", re.compile("FZ(?!FG)|PL|FZUP"), "no-go", "wait until it ends; a clean airplane"),
    _Kind("hail", re.compile("GR|GS"), "no-go", "stay on the ground"),
    _Kind("squall", re.compile("SQ"), "no-go", "wait until it has passed"),
    _Kind("volcanic ash", re.compile("VA"), "no-go", "no flight in ash"),
    _Kind("dust or sand storm", re.compile("SS|DS"), "no-go", "wait until it has settled"),
    _Kind("freezing fog", re.compile("FZFG"), "no-go", "wait until it lifts; clear the ice"),
    _Kind("snow", re.compile("SN|SG|IC"), "think", "no snow or slush on wing and runway, visibility that holds"),
    _Kind("rain", re.compile("RA|DZ|UP|SH"), "think", "a dry runway; visibility and cloud that hold"),
    _Kind("fog", re.compile("FG"), "think", "a spread that grows: wait an hour"),
    _Kind("mist", re.compile("BR"), "think", "a spread that grows"),
    _Kind("dust whirls", re.compile("PO"), "think", "none near the runway: each is a gust from any side; tie it down"),
    _Kind("haze, smoke or dust", re.compile("HZ|FU|DU|SA|PY"), "think", "a horizon to fly by"),
)  # fmt: skip


def in_words(code: str) -> str:
    """A weather group in words.

    >>> in_words("+TSRA"), in_words("VCFG"), in_words("-FZDZ"), in_words("BLSN")
    ('heavy thunderstorm with rain', 'fog in the vicinity', 'light freezing drizzle', 'blowing snow')
    """
    rest, near = (code[2:], " in the vicinity") if code.startswith("VC") else (code, "")
    sign = rest[:1] if rest[:1] in "+-" else ""
    parts = [rest[len(sign) :][i : i + 2] for i in range(0, len(rest) - len(sign), 2)]
    if parts == ["FC"] and sign == "+":
        return "tornado or waterspout (funnel cloud)"
    words = []
    for part in parts:
        words.append(_DESCRIPTOR.get(part) or _PHENOMENON.get(part, part))
    said = " ".join(words) if len(parts) <= 2 else " ".join(words[:2]) + "".join(f" and {w}" for w in words[2:])
    if parts and parts[-1] in {"TS", "SH"}:
        said = said.removesuffix(" with").removesuffix(" of")
    return f"{_INTENSITY[sign]}{said}{near}"


def storm_reasons(case: Case) -> Iterator[Reason]:
    """What is no weather to fly in: before the wind, whose gusts are often the storm's own."""
    yield from _kinds(case, "no-go")
    for moment in (m for m in case.day.moments if not m.where):
        for code in (c for c in moment.remarks.past if c.startswith("FZ")):
            text = f"{in_words(code)} in the last hour ({case.when(moment)}): clear ice on airplane and runway"
            yield Reason(
                "freezing rain past", "think", text, OWN, "the whole airplane felt by hand; where the front is now"
            )


def weather_reasons(case: Case) -> Iterator[Reason]:
    """The other kinds of weather, towering clouds, what the remarks say."""
    yield from _kinds(case, "think")
    yield from _towering(case)
    yield from _layers(case)
    yield from _remarks(case)


def _kinds(case: Case, level: Level) -> Iterator[Reason]:
    """Each kind of weather of a level once, at its worst moment of the lesson."""
    for kind in _KINDS:
        if kind.level == level:
            found = worst(f for m in case.day.moments for f in _of_kind(case, kind, m))
            if found is not None:
                yield Reason(kind.topic, found.level, found.text, OWN, kind.change)


def _of_kind(case: Case, kind: _Kind, moment: Moment) -> Iterator[Found]:
    """What a moment has of a kind, all of it in one: smoke is not left out for the haze beside it."""
    codes = [c for c in moment.seen.weather if next((k for k in _KINDS if k.codes.search(c)), None) is kind]
    if not codes:
        return
    heavy = kind.topic == "snow" and any(c.startswith("+") for c in codes)
    names = ", ".join(f"{in_words(c)} ({c})" for c in codes) if len(codes) > 1 else in_words(codes[0])
    said = f"({case.when(moment)})" if len(codes) > 1 else f"({codes[0]}, {case.when(moment)})"
    weight = max(2.0 - (moment.kind != "now") - c.startswith(("-", "VC")) + c.startswith("+") for c in codes)
    reaches = any(SEVERE.search(code) for code in codes)
    icing = kind.topic == "freezing precipitation"  # ice that no light single sheds: forecast at all is forecast icing
    yield Found("no-go" if heavy else kind.level, weight, f"{names} {said}", moment, reaches, icing)


def _towering(case: Case) -> Iterator[Reason]:
    """Cumulonimbus and towering cumulus among the layers, and in the remarks."""

    def look(moment: Moment) -> Found | None:
        kinds = {c.kind: c for c in moment.seen.clouds or () if c.kind in {"CB", "TCU"}}
        far, words = moment.remarks.cloud
        name = "CB" if "CB" in kinds or far == "CB" else "TCU" if "TCU" in kinds or far else ""
        if not name:
            return None
        said = {"CB": "cumulonimbus (CB)", "TCU": "towering cumulus (TCU)"}[name]
        where = f", {words} in the remarks" if name == far and name not in kinds else ""
        return Found("think", 2.0 if name == "CB" else 1.0, f"{said}{where} ({case.when(moment)})", moment)

    found = worst_of(case.day.moments, look)
    if found is not None:
        change = "watch where it moves; 20 NM from it, home before it grows"
        yield Reason("towering cloud", found.level, found.text, OWN, change)


# Groups of the US military's forecasts: what, how much, base in hundreds of feet, depth in thousands (from memory).
_LAYER = re.compile(r"(?<= )([56])([\dX])(\d{3})(\d)(?= |$)")
_LAYER_IS = {"5": ("turbulence", "1", "2345"), "6": ("icing", "123", "456")}  # light, moderate; beyond it is severe
_HIGH_FT = 15_000  # no lesson goes there


def _layers(case: Case) -> Iterator[Reason]:
    """Layers of turbulence and icing that a forecast's number groups tell."""
    taf = case.lesson.weather.taf
    for group in _LAYER.finditer(taf.text) if taf is not None else ():
        what, light, moderate = _LAYER_IS[group[1]]
        base = 100 * int(group[3])
        if group[2] == "0" or base > _HIGH_FT:
            continue
        size = "light" if group[2] in light else "moderate" if group[2] in moderate else "severe"
        top = case.style.altitude((base + 1000 * int(group[4])) * FT_M)
        from_ = "from the ground" if base == 0 else f"from {case.style.altitude(base * FT_M)}"
        level: Level = "no-go" if size == "severe" or (what == "icing" and size != "light") else "think"
        text = f"{size} {what} {from_} to {top} above the field ({group[0]} in the TAF)"
        yield Reason(f"{what} forecast", level, text, OWN, "other heights, or another day")


def _remarks(case: Case) -> Iterator[Reason]:
    """What only the remarks say: lightning and storms in the distance, weather just past."""
    said = {m.report.text: m for m in case.day.moments if m.report is not None}
    for moment in said.values():
        beside, when = moment.remarks, case.when(moment)
        if words := beside.lightning:
            change = "watch where it moves; 20 NM from it"
            yield Reason("lightning", "think", f"lightning or storm reported: {words} ({when})", OWN, change)
        for of, words in beside.warned:
            level: Level = "think" if moment.perhaps else of.level
            yield Reason(of.topic, level, f"{of.what}: {words} ({when})", OWN, of.change)
        if past := [code for code in beside.past if not code.startswith("FZ")]:
            names = ", ".join(in_words(code) for code in past)
            yield Reason("recent weather", "think", f"{names} in the last hour ({when})", OWN, "look where it went")
