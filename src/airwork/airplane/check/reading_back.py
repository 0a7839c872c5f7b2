"""The numbers no check can see, read back to be confirmed.

Arms, limits and corrections stand alone in a book: no second table says them again. The ones with most leverage are
shown to be compared with the page, one by one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from airwork.airplane.airplane import Airplane
from airwork.airplane.file.base import CATEGORIES
from airwork.airplane.file.loading import WeightAndBalance
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.performance import Correction
from airwork.airplane.file.printed import as_printed, printed_unit, unit_of
from airwork.airplane.file.speeds import Limitations
from airwork.airplane.loading import station_kind

MOST = 24  # lines; in a line only what stands together on the page


@dataclass(frozen=True, slots=True)
class ReadBack:
    """One number to confirm: what it is, as printed, and where it stands in the file."""

    what: str
    text: str
    table: str
    key: str

    def __str__(self) -> str:
        return f"{self.what}: {self.text}"


def read_back(airplane: Airplane) -> tuple[ReadBack, ...]:
    """The numbers with most leverage, the most dangerous first; at most two dozen lines."""
    return tuple(n for _, n in zip(range(MOST), _numbers(airplane), strict=False))


def _numbers(airplane: Airplane) -> Iterator[ReadBack]:
    file = airplane.file
    yield from _say(file, "maximum takeoff weight", "airplane", "maximum_takeoff_weight_lb")
    if file.weight_and_balance is not None:
        yield from _balance(file, file.weight_and_balance)
        yield from _edges(airplane)
    yield from _usable_fuel(file)
    if file.limitations is not None:
        yield from _speed_limits(file, file.limitations)
    for kind in ("takeoff", "landing"):
        yield from _runway_rules(airplane, kind)
    yield from _say(file, "demonstrated crosswind", "limitations", "maximum_demonstrated_crosswind_kt")
    glide = file.performance.glide
    if glide is not None and glide.rows[0].glide_ratio is not None:
        yield ReadBack("glide ratio", f"{glide.rows[0].glide_ratio:g} to 1", "performance.glide", "glide_ratio")


def _say(file: AirplaneFile, what: str, table: str, key: str) -> Iterator[ReadBack]:
    """A number of one of the file's tables, where it has it."""
    value = getattr(getattr(file, table), key, None)
    if value is not None:
        yield ReadBack(what, _printed(file, table, key, value), table, key)


def _printed(file: AirplaneFile, table: str, key: str, value: float) -> str:
    """A number as its page prints it; table : the one whose units are asked."""
    unit = printed_unit(file.printed, table, key)
    shown = value if unit == unit_of(key) else as_printed(value, key, unit)
    kind = " indicated" if key.endswith("kias") else " calibrated" if key.endswith("kcas") else ""
    return f"{shown:,.10g} {unit}{kind}".strip()


def _balance(file: AirplaneFile, balance: WeightAndBalance) -> Iterator[ReadBack]:
    """Empty weight and arm, the chord arms are a share of, each station's arm and what it holds."""
    table, stations = "weight_and_balance", "weight_and_balance.stations"
    yield from _say(file, "empty weight", table, "empty_weight_lb")
    yield from _say(file, "empty arm", table, "empty_arm_in")
    yield from _say(file, "mean aerodynamic chord", table, "mac_length_in")
    yield from _say(file, "its leading edge", table, "mac_leading_edge_in")
    for station in balance.stations:
        text = _printed(file, stations, "arm_in", station.arm_in)
        if station.maximum_lb is not None:
            text = f"{text}, at most {_printed(file, stations, 'maximum_lb', station.maximum_lb)}"
        yield ReadBack(f"arm of {station.name}", text, table, "arm_in")


def _usable_fuel(file: AirplaneFile) -> Iterator[ReadBack]:
    key = "usable_us_gal"
    if file.fuel is not None and file.fuel.tanks:
        each = (f"{t.name} {_printed(file, 'fuel.tanks', key, t.usable_us_gal)}" for t in file.fuel.tanks)
        yield ReadBack("usable fuel", ", ".join(each), "fuel", key)


def _speed_limits(file: AirplaneFile, limits: Limitations) -> Iterator[ReadBack]:
    """Each as it is printed: indicated where it is, else calibrated."""
    for name in ("never_exceed", "maximum_structural_cruise", "maximum_flaps_extended"):
        printed = (key for key in (f"{name}_kias", f"{name}_kcas") if getattr(limits, key, None) is not None)
        for key in islice(printed, 1):
            yield from _say(file, name.replace("_", " "), "limitations", key)


def _runway_rules(airplane: Airplane, kind: str) -> Iterator[ReadBack]:
    """The flaps a runway table is for, and its corrections."""
    table = getattr(airplane.file.performance, kind)
    if table is None:
        return
    flap = flap_words(airplane, kind)
    rules = [*([flap] if flap else []), *(_rule(rule) for rule in table.corrections)]
    if rules:
        yield ReadBack(f"{kind} table", "; ".join(rules), f"performance.{kind}", "corrections")


def _rule(rule: Correction) -> str:
    per = f" for every {rule.per:g} {rule.unit}" if rule.per else ""
    of = {"ground_roll": " of the ground roll", "total": "", "share_of_total": " of the total, added to both"}
    return f"{rule.cause.replace('_', ' ')} {f'{rule.change_percent:+g}'.replace('-', '−')} %{of[rule.applies_to]}{per}"


def flap_words(airplane: Airplane, kind: str) -> str:
    """The flaps a runway table is for; nothing where the file doesn't say."""
    notch = getattr(airplane.file.performance, kind).flap_notch
    found = next((n for n in airplane.flap_notches if n.notch == notch), None)
    degrees = f" ({found.deflection_deg:g}°)" if found and found.deflection_deg else ""
    return "" if notch is None else f"flaps at notch {notch}{degrees}" if notch else "flaps up"


def _edges(airplane: Airplane) -> Iterator[ReadBack]:
    """The corners of each envelope by weight, by arm or percent as they are printed."""
    wb, printed = airplane.file.weight_and_balance, airplane.file.printed
    for name in CATEGORIES:
        envelope = getattr(wb, f"envelope_{name}", None)
        if wb is None or envelope is None:
            continue
        path = f"weight_and_balance.envelope_{name}"
        key = "arm_in" if envelope.polygon[0].percent_mac is None else "percent_mac"

        def number(key: str, value: float, table: str = f"{path}.polygon") -> str:
            unit = printed_unit(printed, table, key)
            return f"{value if unit == unit_of(key) else as_printed(value, key, unit):,.10g}"

        corners: dict[float, list[float]] = {}
        for c in sorted(envelope.polygon, key=lambda c: c.weight_lb):
            corners.setdefault(c.weight_lb, []).append(getattr(c, key))
        unit = printed_unit(printed, f"{path}.polygon", key) if key == "arm_in" else "% of the chord"
        weight_unit = printed_unit(printed, f"{path}.polygon", "weight_lb")
        text = "; ".join(
            f"{number('weight_lb', w)} {weight_unit} {' to '.join(number(key, x) for x in sorted(set(arms)))}"
            for w, arms in corners.items()
        )
        yield ReadBack(f"{name} envelope", f"{text} {unit}", path, "polygon")
        if envelope.rear_seats_empty or (
            name != "normal" and any(station_kind(s) == "rear_seats" for s in wb.stations)
        ):
            text = "must be empty" if envelope.rear_seats_empty else "may be taken"
            yield ReadBack(f"{name} category, rear seats", text, path, "rear_seats_empty")
