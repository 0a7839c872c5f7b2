"""Flap notches, tanks and selector of an airplane, in SI, from its file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from airwork import units
from airwork.airplane.file.model import AirplaneFile


@dataclass(frozen=True, slots=True)
class FlapNotch:
    notch: int
    deflection_deg: float | None
    max_ias_mps: float | None
    name: str = ""


@dataclass(frozen=True, slots=True)
class Tank:
    name: str
    capacity_m3: float
    usable_m3: float


@dataclass(frozen=True, slots=True)
class SelectorPosition:
    """One position of the fuel selector and the tanks it feeds from; `feeds` is None where the file doesn't say."""

    name: str
    feeds: tuple[str, ...] | None


def knots_mps(knots: float | None) -> float | None:
    """A speed of the file; None if it isn't printed. [m/s]"""
    return None if knots is None else units.from_unit(knots, "kt")


def flap_notches(file: AirplaneFile, ias_from_cas: Callable[[float, int], float]) -> tuple[FlapNotch, ...]:
    """Flap positions, up first.

    ias_from_cas : calibration by flap notch, for speeds printed calibrated only; NaN outside.
    Beside printed angles, flaps up without one are at 0°.
    """
    found = []
    angles = any(n.deflection_deg is not None for n in file.flaps.notches)
    for n in file.flaps.notches:
        most = knots_mps(n.maximum_speed_kias)
        if most is None and n.maximum_speed_kcas is not None:
            most = ias_from_cas(units.from_unit(n.maximum_speed_kcas, "kt"), n.notch)
        up_deg = 0.0 if angles and n.notch == 0 else None
        deflection_deg = up_deg if n.deflection_deg is None else n.deflection_deg
        found.append(FlapNotch(n.notch, deflection_deg, None if most != most else most, n.name or ""))
    return tuple(found)


def tanks(file: AirplaneFile) -> tuple[Tank, ...]:
    """Tanks in the file's order; empty where the file has no [fuel]."""
    gal = units.USGAL_M3
    return tuple(
        Tank(
            t.name,
            t.capacity_us_gal * gal,
            t.usable_us_gal * gal,
        )
        for t in (file.fuel.tanks if file.fuel else [])
    )


def selector_positions(file: AirplaneFile) -> tuple[SelectorPosition, ...]:
    """Selector positions with the tanks each feeds from.

    A bare name is understood where it can't be mistaken: "off"; "both", "on", "all" (every tank); or the first word of
    a tank's name.
    """
    if file.fuel is None:
        return ()
    names = tuple(t.name for t in file.fuel.tanks)
    return tuple(
        SelectorPosition(entry, tanks_fed(entry, names))
        if isinstance(entry, str)
        else SelectorPosition(entry.name, tuple(entry.feeds))
        for entry in file.fuel.selector_positions
    )


def tanks_fed(position: str, tank_names: tuple[str, ...]) -> tuple[str, ...] | None:
    """The tanks a bare name of a selector position feeds from; None where it doesn't say."""
    word = (position.lower().split() or [""])[0].strip("(),.:")
    if word in {"off", "closed", "shut"}:
        return ()
    if word in {"both", "all", "on"}:
        return tank_names
    return tuple(t for t in tank_names if (t.lower().split() or [""])[0] == word) or None
