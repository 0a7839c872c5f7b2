"""Understanding a column's name: a small grammar of quantity words and unit words.

A name is cut into words (camelCase, snake_case, blanks, slashes, glued words along the vocabulary), its unit is taken
from brackets, from the row of units or from its last words, and the rest must be one of the patterns of
`quantities.py`. A word the grammar doesn't know makes the whole name "not understood": better asked than guessed.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, replace
from functools import lru_cache

from airwork.recording.quantities import BLOCKERS, NEUTRAL, PATTERNS, QUANTITIES, SAME, VOCABULARY, WISHES
from airwork.recording.unit_words import Unit, read_units
from airwork.unit_words import folded

# Left over beside a pattern, these don't change what it is.
_SOFT = frozenset(["gps", "msl", "true", "utc", "sys", "angle", "ind", "pos", "state", "on", "attitude", "flag", "air"])
_PATH = frozenset(
    ["fdm", "jsbsim", "velocities", "accelerations", "attitude", "position", "propulsion", "fcs", "simulation"]
)
# state/clock/elapsed_sec; other last steps (target/next/altitude_ft) are what the steps before make of them
_PATH_TO = re.compile(r"/?(?:[\w-]+/){2,}([\w-]+)")
# A column named by its unit alone.
_BY_UNIT = {
    **dict.fromkeys(("kt", "kts", "knots", "mph", "km/h", "kmh"), "speed"), **dict.fromkeys(("ft", "feet"), "altitude"),
    **dict.fromkeys(("fpm", "ft/min"), "vertical_speed"), "fl": "pressure_altitude", "minutes": "elapsed",
}  # fmt: skip
_BY_DIMENSION = {"rotation": "rpm", "volume_flow": "fuel_flow", "fpm": "vertical_speed",
                 "inHg": "manifold_pressure"}  # fmt: skip  # nothing else that a known word wouldn't name
_TURNED = frozenset(["prop", "propeller", "engine", "eng", "motor", "crank", "shaft", "rotor"])  # in rad/s
_NORTH = re.compile(
    r"(?i)\b((?:hdg|heading|trk|track|cog|course|crs|kurs|cap|proa|rumbo|steuerkurs)\b.*?)\s*[°(\[]+(m|t)\W*$"
)
_STANDARD = re.compile(
    r"(?i)(?<![\d.])(?:1013(?:[.,]2\d?)?|29[.,]92)(?!\d)(?: ?(?:hpa|mb|inhg))?"
)  # the datum of a height
_NORTHS = {"m": "mag", "mag": "mag", "magnetic": "mag", "t": "true", "true": "true"}  # "deg M"
_UNIT_HINTS = frozenset(
    ["baro", "msl", "wgs", "agl", "ind", "press", "std", "ias", "tas", "cas", "gs", "gnd", "gps", "qnh", "trk", "hdg"]
)  # words in a unit cell that say more: "ft Baro"


_SCALE_AND_UNIT = re.compile(r"[_ ](1e-?\d+)[_ ]?([A-Za-z°/]+)$")
_FACTOR = re.compile(r"(?:\s*([*×/])\s*|[_ ][xX])(1[eE]\d{1,2}|10+)$")  # lat*1e5, alt_ft/10, IAS_KT_X10
_CLOCK_FORM = re.compile(r"(?i)[\[(](?:h{1,2}:)?m{1,2}:s{1,2}(?:[.,]s+)?[\])]|[\[(]h{1,2}:m{1,2}[\])]")
_IN_HUNDREDS = frozenset(["rpm", "pressure_altitude", "indicated_altitude", "gps_altitude", "altitude"])
_PREFIXED = 6  # names begin with one word
SAID = 1e3  # score of what the user's mapping says


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a column's name says.

    quantity : name in `QUANTITIES`.
    units : units the name or the row of units may mean; empty when it names none.
    index : cylinder, engine or sensor number in the name.
    score : how well the words fit; higher wins when two columns claim one quantity.
    aside : understood as a wish, limit or statistic of the quantity, not a reading.
    """

    quantity: str
    units: tuple[Unit, ...]
    index: int | None
    score: float
    aside: bool = False


def _index() -> dict[str, list[tuple[str, frozenset[str]]]]:
    """Patterns under one of their words, the rarest, so that a name only meets those it may fit."""
    frequency = Counter(word for _, words in PATTERNS for word in words)
    out: dict[str, list[tuple[str, frozenset[str]]]] = {}
    for name, words in PATTERNS:
        key = min(words, key=lambda w: (frequency[w], w))
        out.setdefault(key, []).append((name, words))
    return out


_BY_WORD = _index()
_LONGEST = max(map(len, VOCABULARY))


def _cut_glued(text: str) -> list[str] | None:
    """A glued lower-case word cut along the vocabulary, fewest pieces first; None when it doesn't come out."""
    if len(text) > 40:
        return None
    best: list[list[str] | None] = [[]] + [None] * len(text)
    for end in range(1, len(text) + 1):
        for start in range(max(0, end - _LONGEST), end):
            head, piece = best[start], text[start:end]
            if head is None or len(piece) < 2 or piece not in VOCABULARY:
                continue
            if best[end] is None or len(head) + 1 < len(best[end] or []):
                best[end] = [*head, piece]
    return best[len(text)]


@lru_cache(maxsize=4096)
def words_of(text: str) -> tuple[str, ...]:
    """The words of a name, lower case, in order.

    >>> words_of("GndSpd"), words_of("baroaltitude"), words_of("/fdm/jsbsim/velocities/vc-kts")
    (('gnd', 'spd'), ('baro', 'altitude'), ('fdm', 'jsbsim', 'velocities', 'vc', 'kts'))
    """
    out: list[str] = []
    for chunk in re.findall(r"[^\W\d_]+|\d+|[%°#]", folded(text)):
        if chunk.lower() in VOCABULARY or not chunk.isalpha():
            out.append(chunk.lower())
            continue
        camel = [c.lower() for c in re.findall(r"[A-Z]+(?=[A-Z][a-z])|[A-Z]?[a-z]+|[A-Z]+|\W+", chunk)] or [
            chunk.lower()
        ]
        if len(camel) == 1 or not all(c in VOCABULARY or read_units(c) for c in camel):
            camel = _cut_glued(chunk.lower()) or camel
        out += camel
    return tuple("pct" if word == "%" else word for word in out)


def _split(name: str, unit_cell: str) -> tuple[tuple[str, ...], tuple[Unit, ...], tuple[str, ...]]:
    """(words outside brackets, units that brackets or the row of units name, further words found there)."""
    units: tuple[Unit, ...] = ()
    more: list[str] = []
    texts = [unit_cell] if unit_cell.strip() else []
    name = _CLOCK_FORM.sub("", folded(name))
    brackets = re.findall(r"[\[(]([^\[\]()]*)[\])]", name)
    for text in [*brackets, *texts]:
        found = read_units(text)
        if not found and (pieces := re.split(r"[\s,;:]+", text.strip())):
            found = read_units(pieces[0])
            rest = [w for p in (pieces[1:] if found else pieces) for w in words_of(p)]
            said, _, last = text.strip().rpartition(" ")
            if not found and said and (found := read_units(last.rstrip("MT"))):  # "indicated km/h"
                rest = list(words_of(said))
            keep = _UNIT_HINTS if found or text is unit_cell else VOCABULARY
            more += [w for w in rest if SAME.get(w, w) in keep]
        if found and found[0].dimension == "angle":
            more += [_NORTHS[w] for w in words_of(text) if w in _NORTHS]
        units = units or found
    bare = re.sub(r"[\[(](?!\d\])[^\[\]()]*[\])]", " ", name)
    bare = re.sub(r"[_ ]?[x*]?1?[eE][+-]?\d{1,2}$", "", bare) or bare  # "lat_1e-7": the size of the numbers settles it
    while (head := bare.lstrip("/").partition("/"))[1] and head[0].lower() in _PATH:
        bare = head[2]
    return words_of(bare.replace("_{", " ").replace("}", " ")), units, tuple(more)


def fitting(quantity: str, units: tuple[Unit, ...]) -> tuple[Unit, ...]:
    """Those of some units in which a quantity can be told."""
    wanted = QUANTITIES[quantity]
    dimensions = {wanted.dimension, *wanted.also}
    return tuple(unit for unit in units if unit.dimension in dimensions)


def _match(
    words: tuple[str, ...], units: tuple[Unit, ...], common: frozenset[str], index: int | None, *, strange: bool = False
) -> Meaning | None:
    kept = frozenset(SAME.get(w, w) for w in words)
    shared = common | {SAME.get(w, w) for w in common}
    best: Meaning | None = None
    for word in kept:
        for quantity, pattern in _BY_WORD.get(word, ()):
            if not pattern <= kept:
                continue
            left = kept - pattern - NEUTRAL - shared
            blocked = bool(left & BLOCKERS)
            left = left - BLOCKERS
            if left - _SOFT and not blocked and not strange:
                continue
            able = fitting(quantity, units)
            free = quantity == "not_needed"
            if units and not able and not free:
                continue
            score = 10.0 * len(pattern) - 3.0 * len(left) + (2.0 if able else 0.0) - (0.5 if free else 0.0)
            score += 0.1 if QUANTITIES[quantity].house else 0.0
            if best is None or score > best.score:
                best = Meaning(quantity, able, index, score, aside=blocked)
    return best


@lru_cache(maxsize=4096)
def understand(name: str, unit_cell: str = "", common: frozenset[str] = frozenset()) -> Meaning | None:
    """What a column's name and unit cell say; None when they are not understood.

    Parameters
    ----------
    common : words most names of this file share (a recorder's own prefix); they mean nothing.

    >>> understand("E1 RPM").quantity, understand("h-sl-ft").quantity, understand("GndSpd", "kt").units[0].name
    ('rpm', 'gps_altitude', 'kt')
    >>> understand("Crew Rest") is None, understand("V1") is None
    (True, True)
    """
    scaled = _scaled(name, unit_cell, common)
    found = scaled if scaled is not None else _understood(name, unit_cell, common)
    if found is None and (path := _PATH_TO.fullmatch(name.strip())):
        last = _understood(path[1], unit_cell, common)
        return last if last is not None and last.units and last.quantity == "elapsed" else None
    return found


def _scaled(name: str, unit_cell: str, common: frozenset[str]) -> Meaning | None:
    """A name understood without the factor at its end: lat*1e5, alt_ft/10."""
    times = _FACTOR.search(name.strip())
    plain = understand(name.strip()[: times.start()], unit_cell, common) if times else None
    if times is None or plain is None:
        return None
    size = float(times[2])
    usual = read_units("deg") if plain.quantity in {"latitude", "longitude"} else ()
    scale = size if times[1] == "/" else 1.0 / size
    usual = read_units("rpm") if plain.quantity == "rpm" else usual
    scales = (1.0 / scale, scale) if plain.quantity in _IN_HUNDREDS and size == 100.0 else (scale,)  # ft x100: FL
    units = (Unit(f"{s:g} {u.name}", u.dimension, u.factor * s, u.offset) for s in scales for u in plain.units or usual)
    return replace(plain, units=tuple(units))


@dataclass(frozen=True, slots=True)
class _Cut:
    """A name cut up: its words without numbers, what else its unit cell says, its unit, words common to the file, the
    number in it.
    """

    words: tuple[str, ...]
    more: tuple[str, ...]
    units: tuple[Unit, ...]
    common: frozenset[str]
    index: int | None

    def match(self, words: tuple[str, ...], units: tuple[Unit, ...]) -> Meaning | None:
        return _match(words, units, self.common, self.index)


def _understood(name: str, unit_cell: str, common: frozenset[str]) -> Meaning | None:
    name = re.sub(r"(?i)[_ ](?:mps|m_s)\^?2$", " (m/s²)", name)
    name, unit_cell = (_STANDARD.sub(" std ", text) for text in (name, unit_cell))
    name = _NORTH.sub(r"\1 \2", name)  # Hdg (M), HDG °T
    words, units, more = _words_and_unit(name, unit_cell)
    numbers = [int(w) for w in words if w.isdecimal() and len(w) < 3]
    index = numbers[-1] if numbers else None
    bare = tuple(w for w in words if not w.isdecimal())
    if numbers and len(bare) == 1 and (len(bare[0]) == 1 or bare[0] == "var"):
        return None  # "V1", "T2", "P3" mean something else in every file: the user is asked
    cut = _Cut(bare, more, units, common, index)
    best = cut.match((*bare, *more), units)
    if best is not None and numbers and (exact := cut.match((*words, *more), units)):
        best = exact if exact.score > best.score + 5.0 else best
    best = _unit_within(_unit_last(best, cut), cut) or _by_unit_alone(name, unit_cell, cut)
    return None if best is None else _usual_unit(best, name, bare)


def _words_and_unit(name: str, unit_cell: str) -> tuple[tuple[str, ...], tuple[Unit, ...], tuple[str, ...]]:
    """As `_split`, where the unit is a power or a multiple of one too: lon_1e-7deg, alt_100ft."""
    words, units, more = _split(name, unit_cell)
    if not units and (part := _SCALE_AND_UNIT.search(name.strip())):
        units = read_units(f"{part[1]} {part[2]}")
        words = _split(name.strip()[: part.start()], "")[0] if units else words
    if not units and (many := re.search(r"(?<![\d.])(10{1,3}) ?(ft|m|kt|deg)$", name.strip())):
        units, words = read_units(f"{many[1]} {many[2]}"), tuple(w for w in words if w not in {*many.groups(), "x"})
    return words, units, more


def _unit_last(best: Meaning | None, cut: _Cut) -> Meaning | None:
    """A better meaning where the last words are the unit: "altitude_ft", "p-rad_sec", "speed_m_s"."""
    for count in (1, 2, 3):
        if len(cut.words) <= count:
            break
        rest, last = cut.words[:-count], cut.words[-count:]
        tail = read_units("/".join(last)) or read_units("".join(last))
        if not tail:
            continue
        hints = (w for w in last if w in _UNIT_HINTS)  # ft agl
        found = cut.match((*rest, *hints, *cut.more), tail)
        if found is None or not (found.units or found.quantity == "not_needed"):
            continue
        unsaid = best is not None and not best.units and not cut.units
        if best is None or found.score >= best.score or (unsaid and found.score > best.score - 4):
            best = found
    return best


def _unit_within(best: Meaning | None, cut: _Cut) -> Meaning | None:
    """A meaning with the unit that stands before or between the words: "ft_alt", "alt_ft_msl"."""
    words = cut.words
    if best is not None and not best.units and best.quantity == "altitude" and "ft" in words:
        best = replace(best, units=read_units("ft"))
    for k in range(len(words) - 1) if best is None or not (best.units or cut.units) else ():
        if (inside := read_units(words[k])) and (k == 0 or _UNIT_HINTS.issuperset(words[k + 1 :])):
            found = cut.match((*words[:k], *words[k + 1 :], *cut.more), inside)
            best = found if found is not None and found.units and (best is None or k) else best
    return best


def _by_unit_alone(name: str, unit_cell: str, cut: _Cut) -> Meaning | None:
    """What a unit says of a name whose words say nothing; a word that stands for something else settles it first."""
    words, index = cut.words, cut.index
    units = cut.units or (read_units("/".join(words[-2:])) or read_units(words[-1]) if len(words) > 1 else ())
    best: Meaning | None = None
    if units and units[0].dimension == "length":  # "Baro ft", "GPS (m)": a height
        best = cut.match((*(w for w in words if not read_units(w)), "alt"), units)
    alone = units and (_BY_DIMENSION.get(units[0].dimension) or _BY_DIMENSION.get(units[0].name))
    if best is None and alone and (cut.units or not words or words[-1] != "in"):  # "engin" is cut so, too
        best = Meaning(alone, units, index, 1.0)
    if best is None and units and units[0].dimension == "rate" and _TURNED & {SAME.get(w, w) for w in words}:
        best = Meaning("rpm", units, index, 1.0)
    if best is None and any(SAME.get(w, w) in BLOCKERS or w in BLOCKERS for w in words):
        best = Meaning("not_needed", (), index, 0.0, aside=True)
    if best is None and not unit_cell:
        best = _glued_unit(name.strip(), cut.common)
    bare, own = name.strip(" []().").lower(), read_units(name)
    counts = any(u.factor < 1.0 for u in fitting("elapsed", own))  # milliseconds, from some start
    if best is None and (quantity := "elapsed" if counts else _BY_UNIT.get(bare)):
        best = Meaning(quantity, fitting(quantity, own)[:1], None, 1.0)
    return best


def _usual_unit(best: Meaning, name: str, bare: tuple[str, ...]) -> Meaning:
    """With the unit that goes without saying, where none is said: KIAS is in knots, a flight level in hundreds."""
    if best.units:
        return best
    if best.quantity in {"latitude", "longitude"}:
        power = re.search(r"(?i)[_ x*(](?:1?e|10\^)([+-]?\d)\)?$", name.strip())
        return replace(best, units=read_units(f"1e-{power[1].lstrip('+-')} deg")) if power else best
    if re.match(r"(?i)^k[ict]as\b", name.strip()) or "ktgs" in bare:
        return replace(best, units=read_units("kt"))
    if best.quantity == "pressure_altitude" and "level" in bare:
        return replace(best, units=read_units("FL"))
    return best


def _glued_unit(name: str, common: frozenset[str]) -> Meaning | None:
    """A known quantity's name with a unit of its kind written on: IASKT. A letter alone may be any word's end."""
    for k in range(2, len(name) - 1) if name.isalpha() else ():
        if name[:k].lower() not in VOCABULARY or not read_units(name[k:]):
            continue
        alone, found = understand(name[:k], "", common), understand(f"{name[:k]}_{name[k:]}", "", common)
        if alone and alone.quantity == "vertical_speed" and name[k:].lower() in {"ft", "m"}:
            return alone  # climbft: a minute or a second, not said
        if alone and found and found.units and alone.quantity == found.quantity != "not_needed" and not found.aside:
            return found
    return None


def _hides(word: str, names: list[str], cut: list[tuple[str, ...]]) -> bool:
    """A known word that begins many names and hides what they say: only without it they are understood."""
    begun = [name for name, words in zip(names, cut, strict=True) if words[:1] == (word,) and len(words) > 1]
    plain = [understand(name) for name in begun]
    freed = [understand(name, "", frozenset([word])) for name in begun]
    gained = sum(new is not None and old is None for old, new in zip(plain, freed, strict=True))
    return gained >= 3 and gained > 2 * sum(m is not None and m.quantity != "not_needed" for m in plain)


def hint(name: str, unit_cell: str) -> str:
    """What a name that isn't understood speaks of, its strange words left aside; "" where it speaks of nothing.

    >>> hint("zorg_alt", ""), hint("zorg", "")
    ('altitude', '')
    """
    words, units, more = _split(name, unit_cell)
    found = _match((*(w for w in words if not w.isdecimal()), *more), units, frozenset(), None, strange=True)
    return "" if found is None or found.aside else found.quantity


def is_wish(name: str) -> bool:
    """A word of it says that it was set or wished for, not flown."""
    return bool({SAME.get(w, w) for w in words_of(name)} & WISHES)


def named_units(name: str, unit_cell: str) -> tuple[Unit, ...]:
    """The units that brackets, a row of units or the last word of a name say, understood or not."""
    units = _split(name, unit_cell)[1]
    last = re.search(r"[_ ]([^\W\d_]+)$", name.strip())
    return units or (read_units(last[1]) if last else ())


def common_words(names: list[str]) -> frozenset[str]:
    """Words that several names share, which then say nothing: those of 60 % of the names, and unknown first words.

    A recorder puts the sensor or the maker before the quantity: locationLatitude, gnss_lat, fix.alt. An unknown word
    that begins three names is such a prefix, whatever else the table holds; a known word only when most share it.

    >>> sorted(common_words(["podLat", "podLon", "podAlt", "wheel_a", "x", "y", "z"]))
    ['pod']
    """
    if len(names) < 4:
        return frozenset()
    cut = [words_of(name) for name in names]
    counts = Counter(word for words in cut for word in set(words))
    first = Counter(words[0] for words in cut if len(words) > 1 and words[0].isalpha())
    shared = {w for w, c in counts.items() if c >= 0.6 * len(names)}
    shared |= {w for w, c in first.items() if c >= 3 and w not in VOCABULARY and len(w) > 2}
    shared |= {w for w, c in first.items() if c >= _PREFIXED and w in VOCABULARY and _hides(w, names, cut)}
    return frozenset(w for w in shared if SAME.get(w, w) not in BLOCKERS)
