"""The collapse: all weights and densities of a flap setting on one curve, with the readings on it."""

from __future__ import annotations

from typing import Any

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3
from airwork.airplane.performance import Condition, Performance
from airwork.airplane.performance.accuracy import LOWEST_SPEED, Z90
from airwork.airplane.performance.readings import states_of
from airwork.airplane.performance.state import state
from airwork.output.performance_frame import BAND, DASHES, INK, MARKS, flaps_word, notches_with_stall, roomy


def collapse(ax: Any, p: Performance, today: Condition) -> None:
    """All weights and densities of a flap setting on one curve, with the readings."""
    mass = p.airplane.handbook_mass_kg
    knot = units.from_unit(1.0, "kt")
    fixed = p.fixed is not None
    for notch in notches_with_stall(p, today):
        stall = float(p.airplane.stall_cas_mps(mass, notch))
        cas = np.linspace(LOWEST_SPEED * stall, min((2.6 if notch == 0 else 2.0) * stall, p.never_exceed_cas_mps), 160)
        at = state(cas, RHO0_KGPM3, mass * G0_MPS2, (stall / cas) ** 2, notch)
        control, gradient = p.law.control_gradient(p.theta, at)
        scale = 60.0 if fixed else 100.0 / p.airplane.rated_power_w
        half = Z90 * scale * p.learned.own.half_width(gradient)
        ax.fill_between(
            cas / knot, scale * control - half, scale * control + half, color=BAND, lw=0, alpha=0.7, zorder=1
        )
        ax.plot(cas / knot, scale * control, color=INK, ls=DASHES[notch % len(DASHES)], zorder=3)
        ax.annotate(
            flaps_word(notch, p.airplane.flaps_full), (cas[-1] / knot, scale * control[-1]), (4, 0),
            textcoords="offset points", fontsize=8, color=INK, va="center",
        )  # fmt: skip
    _readings(ax, p, mass, fixed)
    roomy(ax)
    ax.set_xlabel("calibrated airspeed × √(handbook weight / weight) [kt]")
    ax.set_ylabel(
        "RPM × √(σ · handbook weight / weight)" if fixed else "% power × √σ · (handbook weight / weight)$^{1.5}$"
    )
    ax.set_title("All weights and densities on one curve, with the readings")


def _readings(ax: Any, p: Performance, mass: float, fixed: bool) -> None:
    """Readings scaled to the curve: open when used, crossed when left out."""
    for residual in p.learned.residuals:
        r = residual.reading
        if r.kind != "level" or r.rpm is None or "stall speed" in residual.why:
            continue
        at = states_of(p.airplane, [r])
        sigma, ratio = float(at.density_kgpm3[0]) / RHO0_KGPM3, mass / r.mass_kg
        x = r.cas_mps * np.sqrt(ratio) / units.from_unit(1.0, "kt")
        if fixed:
            y = r.rpm * np.sqrt(sigma * ratio)
        elif p.manifold is not None and r.manifold_pressure_pa is not None:
            watts = float(p.manifold.power_w(r.rpm, r.manifold_pressure_pa, r.pressure_altitude_m, r.temperature_k))
            y = 100.0 * watts / p.airplane.rated_power_w * np.sqrt(sigma) * ratio**1.5
        else:
            continue
        mark = MARKS[r.flap_notch % len(MARKS)] if residual.used else "x"
        ax.plot([x], [y], marker=mark, ms=5.5, mfc="white", mec=INK, mew=1.1, ls="none", zorder=5)
