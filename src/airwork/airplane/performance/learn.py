"""From an airplane's file and readings to fitted parameters: handbook first, then this airplane's readings. SI.

1. A general prior for light singles, scaled by wing, propeller and flaps.
2. The handbook's tables (each table counts as a fixed number of readings): the airplane of the book.
3. The book's answer, spread by how airplanes of a type differ, is the prior for this airplane.
4. Its recorded flights, all together (`joint.py`), move it.
5. Its readings move that. Each is judged by the fit without it (`judging.py`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from airwork.airplane.airplane import Airplane
from airwork.airplane.performance import book
from airwork.airplane.performance.book import common_errors
from airwork.airplane.performance.constant_speed import ConstantSpeed
from airwork.airplane.performance.engine import Engine, FixedPitchEngine
from airwork.airplane.performance.fit import Block, Evidence, Posterior, fit
from airwork.airplane.performance.fixed_pitch import FixedPitch
from airwork.airplane.performance.flown import Flown
from airwork.airplane.performance.fuel_line import FuelLine, fuel_line
from airwork.airplane.performance.full_throttle import engine_of_flights
from airwork.airplane.performance.geometry import Geometry, geometry
from airwork.airplane.performance.joint import Joint, joint_fit
from airwork.airplane.performance.judging import Judge, Residual
from airwork.airplane.performance.priors import Law, Prior, general_prior, own_airplane
from airwork.airplane.performance.readings import Reading, states_of
from airwork.airplane.performance.stored import stored_engine, stored_fit, stored_fuel


@dataclass(frozen=True, repr=False)
class Learned:
    """What was learned of one airplane.

    book : the fit to the handbook alone; None where it prints nothing the law can use. own : this airplane.
    prior : what handbook and general knowledge say.
    weighed : what the readings were weighed against, flights included. evidence : the readings used.
    """

    law: Law
    geometry: Geometry
    engine: Engine
    book_engine: Engine
    book: Posterior | None
    own: Posterior
    general: Prior
    prior: Prior
    evidence: Evidence
    residuals: tuple[Residual, ...]
    flights: tuple[Flown, ...] = ()
    joint: Joint | None = None
    fuel: FuelLine | None = None
    weighed: Prior | None = None

    @property
    def readings_used(self) -> tuple[Reading, ...]:
        return tuple(r.reading for r in self.residuals if r.used)

    @property
    def outliers(self) -> tuple[Residual, ...]:
        """Readings that lie too far off, or can't be used."""
        return tuple(r for r in self.residuals if not r.used)


def law_of(airplane: Airplane, sizes: Geometry) -> Law:
    """The law for this propeller."""
    if airplane.fixed_pitch:
        return FixedPitch(sizes.wing_area_m2, sizes.diameter_m, sizes.deflections.size, sizes.gear)
    return ConstantSpeed(sizes.wing_area_m2, sizes.diameter_m, sizes.deflections.size)


def _telling(flights: Sequence[Flown], power_known: bool) -> Sequence[Flown]:
    """The flights without RPM left out where the book prints powers, or another flight has RPM: both know better."""
    blind = [f.without_rpm for f in flights]
    if not any(blind) or (all(blind) and not power_known):
        return flights
    return [f for f, without in zip(flights, blind, strict=True) if not without]


def learn(
    airplane: Airplane,
    readings: Sequence[Reading],
    flights: Sequence[Flown] = (),
    *,
    keep_outliers: bool = False,
    stored: bool = False,
) -> Learned:
    """Fit handbook, flights and readings.

    flights : whole recorded flights; what they say is what the readings are weighed against.
    stored : take this airplane's parameters from the file's `[fitted]` table where it still holds.
    """
    sizes = geometry(airplane)
    law = law_of(airplane, sizes)
    cruise, climb, glide = book.cruise_rows(airplane), book.climb_rows(airplane), book.glide_rows(airplane)
    book_engine: Engine = book.manifold_engine(airplane)
    if airplane.fixed_pitch:
        book_engine = book.fixed_pitch_engine(airplane, sizes.diameter_m, cruise, sizes.gear)
    general = general_prior(law, sizes.aspect_ratio, sizes.deflections)
    printed = book.book_evidence(airplane, book_engine, cruise, climb, glide)
    if not book_engine.known:  # without powers the climb table has no control to go with it
        printed = replace(printed, climb=Block())
    from_book = fit(law, general, printed) if len(printed) else None
    prior = general
    if from_book is not None:
        unsure = from_book.cov + common_errors(law, from_book, printed, book_engine)
        prior = own_airplane(law, from_book.theta, unsure, general)
    engine = book_engine
    if isinstance(book_engine, FixedPitchEngine):
        climbs = [r for r in readings if r.kind == "full_throttle_climb" and r.rpm is not None and not r.left_out]
        if climbs:
            at = states_of(airplane, climbs)
            engine = book.calibrated_engine(book_engine, climbs, [at.take(np.array([i])) for i in range(len(climbs))])
    flights = _telling(flights, book_engine.known)
    kept = stored_fit(airplane, law) if stored else None
    fuel = fuel_line(flights, engine)
    if kept is not None and airplane.file.fitted is not None:
        engine, fuel = stored_engine(airplane.file.fitted, engine), stored_fuel(airplane.file.fitted)
    elif flights and isinstance(engine, FixedPitchEngine):
        engine = engine_of_flights(engine, flights)
        fuel = fuel_line(flights, engine)
    joint = joint_fit(law, prior, airplane, flights, engine) if flights and kept is None else None
    if joint is not None and joint.full_share and isinstance(engine, FixedPitchEngine) and not engine.known:
        engine = engine.turning(joint.full_share)
    weighed = prior if joint is None else replace(prior, mean=joint.own.theta, cov=joint.own.cov)
    judge = Judge(airplane, law, weighed, engine)
    found = judge.judged(readings, keep_all=keep_outliers) if kept is None else judge.held_against(readings, kept)
    return Learned(
        law, sizes, engine, book_engine, from_book, found.own, general, prior, found.evidence, found.residuals,
        tuple(flights), joint, fuel, weighed,
    )  # fmt: skip
