"""How the numbers of a debrief are put in words: keys, units, signs, the airplane's own dial, fuel and leaning."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from airwork.airplane.book_units import US_BOOK, BookUnits
from airwork.maneuvers import room
from airwork.units import clock, from_unit, to_unit
from airwork.values import BAND, WIND_KNOWN_KT

UNITS = {"ft": "ft", "kt": "kt", "deg": "°", "gal": "gal", "pct": "%", "s": "s", "fpm": "fpm", "rpm": "rpm", "nm": "NM",
         "g": "g"}  # fmt: skip
SHORT = {"ias": "airspeed", "tas": "true airspeed", "cas": "calibrated airspeed", "agl": "height above ground",
         "utc": "UTC"}  # fmt: skip
# Numbers a person asks for first, with the words said for them; the rest stand behind "all numbers".
CHIEF = {
    "entry_altitude_ft": "entry altitude", "max_altitude_error_ft": "highest above target",
    "min_altitude_error_ft": "lowest below target", "altitude_lost_in_recovery_ft": "lost in recovery",
    "first_sign_ias_kt": "recovered at the first sign at",
    "altitude_gained_ft": "gained", "entry_ias_kt": "entry speed", "min_ias_kt": "slowest indicated",
    "max_ias_kt": "fastest indicated",
    "mean_tas_kt": "mean true airspeed", "steady_mean_bank_deg": "mean bank", "max_bank_deg": "most bank",
    "most_pitch_deg": "most pitch",
    "rollout_error_deg": "roll-out", "min_stall_margin_kt": "least margin to the stall",
    "touchdown_sink_fpm": "sink at touchdown", "touchdown_ias_kt": "speed at touchdown",
    "touchdown_beyond_threshold_ft": "touched beyond the threshold",
    "touchdown_right_of_center_ft": "touched beside the center line",
    "mean_path_on_final_deg": "path on final", "mean_ground_radius_ft": "radius over the ground", "wind_kt": "wind",
    "mean_power_pct": "mean power", "fuel_used_gal": "fuel",
}  # fmt: skip
# Seconds of the recording, which a reader looks up on its clock.
MOMENTS = {"break_s": "break at", "first_sign_s": "first sign at"}
CALM_KT = 3.0  # below it a report says calm (FMH-1 [M])
VEERED_DEG, FRESHENED_KT = 20.0, 5.0  # a wind that changed by more is said from first to last


def span(start_s: float, end_s: float) -> str:
    """ "12:05 to 12:40"."""
    return f"{clock(start_s)} to {clock(end_s)}"


def key_words(key: str) -> str:
    """A key of the debrief's data in words, without its unit."""
    if key in CHIEF or key in MOMENTS:
        return CHIEF.get(key) or MOMENTS[key]
    return " ".join(SHORT.get(word, word) for word in _split(key)[0].split("_"))


def key_value(key: str, value: Any, dial: str = "kt") -> str:
    """A number of the debrief's data with its unit; an indicated speed first as the airplane's dial shows it."""
    unit = _split(key)[1]
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        return str(value)
    if key in MOMENTS:
        return clock(value)
    digits = 0 if unit in {"ft", "rpm", "fpm"} or abs(value) >= 100 else 1 if unit else 2
    if (digits == 1 or not unit) and float(value).is_integer():
        digits = 0
    said = f"{_plain(f'{value:,.{digits}f}')}{'' if unit in {'deg', ''} else ' '}{UNITS.get(unit, '')}"
    if dial == "kt" or not key.endswith("ias_kt"):
        return said
    return f"{to_unit(from_unit(value, 'kt'), dial):,.0f} {dial} ({said})"


def deviation(value: float | None, unit: str, dial: str = "kt", *, low: float | None = None) -> str:
    """The worst of a criterion: with its sign where it is off a target, knots in the dial's unit; "" without one.

    low : the criterion's lower limit; above nought it holds the thing itself (a height, a bank of 30 to 45°), no error.
    """
    if value is None:
        return ""
    if unit == "kt":
        value, unit = float(to_unit(from_unit(value, "kt"), dial)), dial
    digits = 0 if unit in {"ft", "deg", "rpm", "fpm"} or abs(value) >= 100 else 1
    sign = "" if unit in {"", "s", "%", "turns"} or (low is not None and low > 0.0) else "+"
    mark = {"deg": "°", "%": " %", "turns": ""}.get(unit, f" {unit}")
    return f"{_plain(f'{value:{sign},.{digits}f}')}{mark}"


def judged(
    criteria: Iterable[tuple[str, float | None, str, float | None, str]], dial: str
) -> list[tuple[str, str, float, str]]:
    """(name, worst in words, share of the limit, verdict) of what can be laid beside another attempt's."""
    return [
        (name, deviation(worst, unit, dial), round(ratio, 3), verdict)
        for name, worst, unit, ratio, verdict in criteria
        if worst is not None and ratio is not None and verdict != "can't be judged"
    ]


def numbers(measured: Mapping[str, Any], dial: str) -> list[tuple[str, str, bool]]:
    """(name, text, chief) of the measured numbers, the chief ones first in their order."""
    beside = {_within_key(k) for k in measured}
    keys = [*(k for k in CHIEF if k in measured), *(k for k in measured if k not in CHIEF and k not in beside)]
    out = []
    for key in keys:
        text = key_value(key, measured[key], dial)
        if key == "wind_kt" and "wind_from_deg" in measured:
            calm = measured[key] < CALM_KT
            text = "calm" if calm else f"{measured['wind_from_deg']:03.0f}° {measured[key]:.0f} kt"
        if (within := measured.get(_within_key(key))) is not None:
            text += f" ±{key_value(key, within)}"
        if key == "touchdown_right_of_center_ft":
            text = f"{key_value(key, abs(measured[key]))} {'right' if measured[key] > 0.0 else 'left'}"
        out.append((key_words(key), text, key in CHIEF))
    return out


def _within_key(key: str) -> str:
    """The key of how far off a number may be."""
    name, _, unit = key.rpartition("_")
    return f"{name}_within_{unit}"


def wind_words(blocks: Sequence[Mapping[str, Any]]) -> str:
    """The wind found: "330/14 kt true" where it hardly changed, else from first to last; "" for none."""
    known = [b for b in blocks if "speed_kt" in b and "from_deg" in b]
    if not known:
        return ""
    first, last = known[0], known[-1]
    speeds = [b["speed_kt"] for b in known]
    band = BAND * max(b.get("error_kt", 0.0) for b in known)
    if max(speeds) < CALM_KT and band <= WIND_KNOWN_KT:
        return "calm"
    if band > max(speeds):  # it may as well be none
        return f"light, {max(speeds) + band:.0f} kt at most"
    turned = max(abs((b["from_deg"] - first["from_deg"] + 180.0) % 360.0 - 180.0) for b in known)
    if turned > VEERED_DEG or max(speeds) - min(speeds) > FRESHENED_KT:
        text = f"{_wind(first)} to {_wind(last)}"
    else:
        text = _wind(known[len(known) // 2])
    text = text if text.endswith("calm") else f"{text} kt true"
    return text if band <= WIND_KNOWN_KT else f"not known better than ±{band:.0f} kt; perhaps {text}"


def _wind(block: Mapping[str, Any]) -> str:
    if block["speed_kt"] < CALM_KT:
        return "calm"
    return f"{(round(block['from_deg']) - 1) % 360 + 1:03d}/{block['speed_kt']:.0f}"


def target_words(target: Mapping[str, Any], source: str, dial: str) -> str:
    """What a maneuver is held against; "" where nothing."""
    if not target:
        return ""
    shown = ", ".join(f"{key_words(k)} {key_value(k, v, dial)}" for k, v in target.items())
    return f"{shown} ({source})"


def fuel_lines(fuel: Mapping[str, Any], book: BookUnits = US_BOOK) -> list[tuple[str, str]]:
    """(what, text) of the fuel's record, as the airplane's book prints fuel."""
    lines = []
    if fuel.get("used_gal") is not None:
        wanted = fuel.get("planned_gal")
        planned = "" if wanted is None else f"; planned {book.write(wanted, 'gal', 1)}"
        lines.append(("fuel used", f"{book.write(fuel['used_gal'], 'gal', 1)} ({fuel.get('how', '')}){planned}"))
    for change in fuel.get("tank_changes", ()):
        lines.append(("tank change", _tank_change(change)))
    shares = [f"{_share(p)}: {p['fraction']:.0%}" for p in fuel.get("power_time", ()) if p["fraction"] >= 0.005]
    if shares:
        lines.append(("time at each power", "; ".join(shares)))
    return lines + _leaned(fuel.get("leaning", ()))


def _leaned(leaning: Sequence[Mapping[str, Any]]) -> list[tuple[str, str]]:
    """Each stretch leaned above the limit; those below it together."""
    lines, below = [], [lean for lean in leaning if not lean.get("above_limit")]
    for lean in leaning:
        if lean.get("above_limit"):
            when = span(lean["start_s"], lean["end_s"])
            lines.append(("leaned", f"{when} at {lean['power_pct']} % power, above the {lean['limit_pct']} % limit"))
    if below:
        total = clock(sum(lean["end_s"] - lean["start_s"] for lean in below))
        low, high = (f(lean["power_pct"] for lean in below) for f in (min, max))
        powers = f"{low} %" if low == high else f"{low} to {high} %"
        stretches = "one stretch" if len(below) == 1 else f"{len(below)} stretches"
        when = span(below[0]["start_s"], below[-1]["end_s"])
        said = f"{stretches} from {when}, {total} in all, at {powers} power"
        if "limit_pct" in below[0]:  # not every airplane file has a limit
            said += f", below the {below[0]['limit_pct']} % limit"
        lines.append(("leaned", said))
    return lines


def _tank_change(change: Mapping[str, Any]) -> str:
    """One change of tank, or a planned one that was not made, in words."""
    tanks = f"{change['from']} to {change['to']}"
    planned = f"planned at {clock(change['planned_s'])}" if "planned_s" in change else ""
    if "time_s" not in change:
        return f"{tanks}, {planned}: not made"
    height = f"{key_value('agl_ft', change['agl_ft'])} above ground" if "agl_ft" in change else ""
    during = f"during {room(change['during']).named}" if "during" in change else ""
    return ", ".join(part for part in (f"{clock(change['time_s'])} {tanks}", height, during, planned) if part)


def _share(row: Mapping[str, Any]) -> str:
    return f"{row['from_pct']} % and more" if row["to_pct"] is None else f"{row['from_pct']} to {row['to_pct']} %"


def _split(key: str) -> tuple[str, str]:
    stem, _, unit = key.rpartition("_")
    return (stem, unit) if unit in UNITS and stem else (key, "")


def _plain(text: str) -> str:
    """A printed number with a real minus, and none before nothing."""
    bare = text.lstrip("+-")
    if not bare.strip("0.,"):
        return bare
    return text.replace("-", "−")
