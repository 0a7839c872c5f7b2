"""Fitted parameters kept in the airplane's file, so that loading it gives the same answers. SI."""

from __future__ import annotations

import hashlib
from dataclasses import replace

import numpy as np

from airwork.airplane.airplane import Airplane
from airwork.airplane.file.fitted import FITTED_FROM, Fitted
from airwork.airplane.performance.constant_speed import ConstantSpeed
from airwork.airplane.performance.engine import Engine, FixedPitchEngine
from airwork.airplane.performance.fit import Posterior
from airwork.airplane.performance.fuel_line import FuelLine
from airwork.airplane.performance.priors import Law

# Raised when a law's formula changes meaning: parameters stored under another name are fitted anew.
_VERSION = 2


def law_name(law: Law) -> str:
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


def stored_engine(found: Fitted, engine: Engine) -> Engine:
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
