"""Fitted parameters kept in the airplane's file, so that loading it gives the same answers. SI."""

from __future__ import annotations

import hashlib
from dataclasses import astuple, dataclass, replace
from datetime import UTC, datetime

import numpy as np

from airwork.airplane.airplane import Airplane
from airwork.airplane.file.fitted import FITTED_FROM, Fitted, FittedFlight
from airwork.airplane.performance.constant_speed import ConstantSpeed
from airwork.airplane.performance.engine import FixedPitchEngine, ManifoldEngine
from airwork.airplane.performance.fit import Posterior
from airwork.airplane.performance.flown import Flown
from airwork.airplane.performance.fuel_line import FuelLine
from airwork.airplane.performance.priors import Law
from airwork.units import to_unit
from airwork.version import VERSION

# Raised when a law's formula changes meaning: parameters stored under another name are fitted anew.
_VERSION = 2


def law_name(law: Law) -> str:
    """Name of a law as stored."""
    return f"{'constant speed' if isinstance(law, ConstantSpeed) else 'fixed pitch'}, {_VERSION}"


def inputs_digest(airplane: Airplane) -> str:
    """Digest of everything a fit reads; checklists, loading and the like may change without a new fit."""
    text = airplane.file.model_dump_json(include=set(FITTED_FROM), exclude_defaults=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def stored_fit(airplane: Airplane, law: Law) -> Posterior | None:
    """The parameters in the file, if they are of this law and of these tables and readings; else None."""
    found = airplane.file.fitted
    if found is None or found.law != law_name(law) or tuple(found.names) != law.names:
        return None
    theta, cov = np.array(found.values, dtype=float), np.array(found.covariance, dtype=float)
    if theta.shape != (len(law.names),) or cov.shape != (theta.size, theta.size):
        return None
    return Posterior(theta, cov, np.empty(0)) if found.inputs == inputs_digest(airplane) else None


def stored_engine(found: Fitted, engine: FixedPitchEngine | ManifoldEngine) -> FixedPitchEngine | ManifoldEngine:
    """The engine as it was learned."""
    if len(found.engine) not in (4, 13) or not isinstance(engine, FixedPitchEngine):
        return engine
    cov = np.reshape(found.engine[4:], (3, 3)) if len(found.engine) == 13 else engine.cov  # four: written before it was
    return replace(engine, cp=np.array(found.engine[:3]), strength=float(found.engine[3]), cov=cov)


def stored_fuel(found: Fitted) -> FuelLine | None:
    """The fuel flow as it was learned."""
    if len(found.fuel) not in (6, 7):  # six: written before leaned flow was told from rich
        return None
    at_rest, per_watt, spread, count, *more = found.fuel
    return FuelLine(at_rest, per_watt, spread, int(count), *more)


@dataclass(frozen=True)
class Kept:
    """What of a fit goes into the file."""

    law: Law
    own: Posterior
    engine: FixedPitchEngine | ManifoldEngine
    fuel: FuelLine | None
    flights: tuple[Flown, ...]


def fitted_table(airplane: Airplane, kept: Kept, says: list[str], now: datetime | None = None) -> Fitted:
    """The `[fitted]` table of an airplane (whose file already holds the readings it was fitted to)."""
    own, engine, fuel = kept.own, kept.engine, kept.fuel
    numbers = [*engine.cp, engine.strength, *engine.cov.flat] if isinstance(engine, FixedPitchEngine) else []
    line = [] if fuel is None else [float(x) for x in astuple(fuel)]
    return Fitted(
        airwork=VERSION,
        date=(now or datetime.now(UTC)).date().isoformat(),
        law=law_name(kept.law),
        inputs=inputs_digest(airplane),
        names=list(kept.law.names),
        values=[_short(x) for x in own.theta],
        covariance=[[_short(x) for x in row] for row in own.cov],
        engine=[_short(x) for x in numbers],
        fuel=[_short(x) for x in line],
        flights=[
            FittedFlight(
                recording=f.name, key=f.key, date=f.date, weight_lb=round(to_unit(f.mass_kg, "lb")),
                weight_from=f.weight_from, windows=len(f.rows),
            )
            for f in kept.flights
        ],
        says=says,
    )  # fmt: skip


def _short(value: float) -> float:
    """Nine digits, which is far more than is known and keeps the file readable."""
    return float(f"{value:.9g}")
