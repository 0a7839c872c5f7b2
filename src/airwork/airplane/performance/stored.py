"""Fitted parameters kept in the airplane's file, so that loading it gives the same answers. SI."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime

import numpy as np

from airwork.airplane.airplane import Airplane
from airwork.airplane.file.fitted import Fitted
from airwork.airplane.performance.constant_speed import ConstantSpeed
from airwork.airplane.performance.fit import Posterior
from airwork.airplane.performance.priors import Law
from airwork.version import VERSION

# Raised when a law's formula changes meaning: parameters stored under another name are fitted anew.
_VERSION = 1


def law_name(law: Law) -> str:
    """Name of a law as stored."""
    return f"{'constant speed' if isinstance(law, ConstantSpeed) else 'fixed pitch'}, {_VERSION}"


def inputs_digest(airplane: Airplane) -> str:
    """Digest of everything a fit reads: the file without its `[fitted]` table."""
    text = airplane.file.model_dump_json(exclude={"fitted"}, exclude_defaults=True)
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


def fitted_table(airplane: Airplane, law: Law, own: Posterior, says: list[str], now: datetime | None = None) -> Fitted:
    """The `[fitted]` table of an airplane (whose file already holds the readings it was fitted to)."""
    return Fitted(
        airwork=VERSION,
        date=(now or datetime.now(UTC)).date().isoformat(),
        law=law_name(law),
        inputs=inputs_digest(airplane),
        names=list(law.names),
        values=[_short(x) for x in own.theta],
        covariance=[[_short(x) for x in row] for row in own.cov],
        says=says,
    )


def _short(value: float) -> float:
    """Nine digits, which is far more than is known and keeps the file readable."""
    return float(f"{value:.9g}")
