"""Flap notches, tanks, selector and readings of an airplane, in SI, from its file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from airwork import units

if TYPE_CHECKING:
    from airwork.airplane.file.model import AirplaneFile, ObservationRow


@dataclass(frozen=True, slots=True)
class FlapNotch:
    """One flap position."""

    notch: int
    deflection_deg: float | None
    max_ias_mps: float | None
    name: str = ""


@dataclass(frozen=True, slots=True)
class Tank:
    """One tank."""

    name: str
    capacity_m3: float
    usable_m3: float


@dataclass(frozen=True, slots=True)
class SelectorPosition:
    """One position of the fuel selector and the tanks it feeds from; `feeds` is None where the file doesn't say."""

    name: str
    feeds: tuple[str, ...] | None


@dataclass(frozen=True, slots=True)
class Observation:
    """A reading noted in flight, SI. `climb_rate_mps` is negative in a glide; rpm in rev/min."""

    kind: str
    mass_kg: float
    pressure_altitude_m: float
    temperature_k: float
    flap_notch: int
    ias_mps: float
    cas_mps: float
    rpm: float | None
    manifold_pressure_pa: float | None
    climb_rate_mps: float | None
    note: str = ""
    fuel_flow_m3ps: float | None = None
    mixture: str = "full_rich"
    pitch_rad: float | None = None
    bank_rad: float = 0.0
    recording: str = ""
    left_out: str = ""  # why it is not used


def knots_mps(knots: float | None) -> float | None:
    """A speed of the file; None if it isn't printed. [m/s]"""
    return None if knots is None else units.from_unit(knots, "kt")


def flap_notches(file: AirplaneFile, ias_from_cas: Callable[[float, int], float]) -> tuple[FlapNotch, ...]:
    """Flap positions, up first.

    ias_from_cas : calibration by flap notch, for speeds printed calibrated only; NaN outside.
    """
    found = []
    for n in file.flaps.notches:
        most = knots_mps(n.maximum_speed_kias)
        if most is None and n.maximum_speed_kcas is not None:
            most = ias_from_cas(units.from_unit(n.maximum_speed_kcas, "kt"), n.notch)
        found.append(FlapNotch(n.notch, n.deflection_deg, None if most != most else most, n.name or ""))
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


def observation(row: ObservationRow, notch: int, cas_mps: float, ias_mps: float) -> Observation:
    """A reading in SI; its airspeeds already resolved."""
    climb = row.rate_of_climb_fpm
    if climb is None and row.rate_of_descent_fpm is not None:
        climb = -row.rate_of_descent_fpm
    pressure = row.manifold_pressure_inhg
    return Observation(
        kind=row.kind,
        mass_kg=units.from_unit(row.weight_lb, "lb"),
        pressure_altitude_m=units.from_unit(row.pressure_altitude_ft, "ft"),
        temperature_k=units.from_unit(row.oat_c, "°C"),
        flap_notch=notch,
        ias_mps=ias_mps,
        cas_mps=cas_mps,
        rpm=row.rpm,
        manifold_pressure_pa=None if pressure is None else units.from_unit(pressure, "inHg"),
        climb_rate_mps=None if climb is None else climb * units.FPM_MPS,
        note=row.note,
        fuel_flow_m3ps=None if row.fuel_flow_gph is None else units.from_unit(row.fuel_flow_gph, "gph"),
        mixture=row.mixture,
        pitch_rad=None if row.pitch_deg is None else units.from_unit(row.pitch_deg, "deg"),
        bank_rad=units.from_unit(row.bank_deg, "deg"),
        recording=row.recording,
        left_out=row.left_out,
    )
