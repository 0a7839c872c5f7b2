"""The fitted airplane as pictures: power curve, climb, sustained bank, the collapse with the readings. SVG or PNG.

Black on white first: curves differ by dash and are named where they end, readings by mark; the grey band is the 90 %
band. Matplotlib is loaded only when a picture is asked for.
"""

from __future__ import annotations

import io
import textwrap
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.performance import Condition, Performance
from airwork.airplane.performance.accuracy import LOWEST_SPEED
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.speeds import back_side, max_level_speed
from airwork.airplane.performance.state import Array
from airwork.airplane.performance.throttle import full_throttle_rpm
from airwork.airplane.performance.today import title_of
from airwork.airplane.performance.turning import sustained_bank
from airwork.errors import AirworkError
from airwork.files import write_whole
from airwork.output.performance_collapse import collapse
from airwork.output.performance_frame import (
    BAND,
    CRUISE_POWER,
    DASHES,
    INK,
    MARKS,
    QUIET,
    SLOW_FLIGHT,
    STYLE,
    flaps_word,
    kind_of,
    notches_with_stall,
    roomy,
)  # fmt: skip

PANELS = ("rpm", "power", "climb", "bank", "collapse")


def plot_performance(
    performance: Performance, today: Condition, path: Path, panels: Sequence[str] = PANELS, *, caution: str = ""
) -> None:
    """Draw into a file, as `kind_of` says. `caution` stands at the foot."""
    write_whole(path, picture(performance, today, kind_of(path), panels, caution=caution))


def picture(
    performance: Performance, today: Condition, kind: str = "svg", panels: Sequence[str] = PANELS, *, caution: str = ""
) -> bytes:
    """The pictures as bytes of an SVG or PNG."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    draw: dict[str, Callable[[Any, Performance, Condition], None]] = {
        "rpm": _setting, "power": _power, "climb": _climb, "bank": _bank, "collapse": collapse,
    }  # fmt: skip
    columns = 1 if len(panels) == 1 else 2
    rows = -(-len(panels) // columns)
    with mpl.rc_context(STYLE):
        figure = Figure(figsize=(5.6 * columns, 4.1 * rows + 0.8), layout="constrained")
        axes = np.atleast_1d(figure.subplots(rows, columns)).ravel()
        for ax, name in zip(axes, panels, strict=False):
            draw[name](ax, performance, today)
        for ax in axes[len(panels) :]:
            _words(ax, performance, today)
        figure.suptitle(title_of(performance, today), x=0.01, ha="left", fontsize=11, weight="bold")
        figure.supxlabel(textwrap.fill(caution, 85 * columns), x=0.01, ha="left", fontsize=7.5, color=QUIET)
        out = io.BytesIO()
        options: Any = {"metadata": {"Date": None, "Creator": "airwork"}} if kind == "svg" else {"dpi": 150}
        figure.savefig(out, format=kind, **options)
    return out.getvalue()


def _unit(p: Performance) -> str:
    return p.airplane.dial_unit


def _speeds(p: Performance, today: Condition, notch: int, top_kcas: float | None = None) -> tuple[Array, Array]:
    """(calibrated, indicated in the dial's unit) from 1.05 Vs to the notch's limit or never exceed."""
    stall = float(p.airplane.stall_cas_mps(today.mass_kg, notch))
    high = p.never_exceed_cas_mps if top_kcas is None else top_kcas
    limit = p.airplane.flap_notches[notch].max_ias_mps
    if limit is not None:
        high = min(high, float(p.airplane.calibration[notch].cas(limit)))
    cas = np.linspace(LOWEST_SPEED * stall * 1.00001, high * 0.99999, 160)
    ias = p.airplane.calibration[notch].ias(cas) / units.from_unit(1.0, _unit(p))
    return cas[np.isfinite(ias)], ias[np.isfinite(ias)]


def _top_cas(p: Performance, today: Condition) -> float:
    """Where the curves end: a little above the fastest level flight."""
    try:
        return min(1.03 * max_level_speed(p, today).cas_mps, p.never_exceed_cas_mps)
    except AirworkError:
        return p.never_exceed_cas_mps


def _curve(
    ax: Any, p: Performance, today: Condition, notch: int, of: Callable[[Any], tuple[Array, Array]]
) -> tuple[Array, Array]:
    """One flap setting's curve with its band, named at its right end."""
    cas, ias = _speeds(p, today, notch, _top_cas(p, today))
    answer = level_flight(p, cas, today.with_flaps(notch))
    value, half = of(answer)
    open_ = np.asarray(answer.marginal)  # the bands leave it open whether full throttle holds it
    possible = np.asarray(answer.possible) | open_
    band = np.where(possible, half, np.nan)
    ax.fill_between(ias, value - band, value + band, color=BAND, lw=0, alpha=0.6, zorder=1)
    ax.plot(ias, np.where(possible & ~open_, value, np.nan), color=INK, ls=DASHES[notch % len(DASHES)], zorder=3)
    ax.plot(ias, np.where(open_, value, np.nan), color=INK, lw=0.8, ls=(0, (1, 2)), zorder=3)
    if open_.any():
        middle = int(np.flatnonzero(open_)[open_.sum() // 2])
        ax.annotate(
            "marginal", (ias[middle], value[middle]), (3, -9), textcoords="offset points", fontsize=7, color=QUIET
        )
    ax.plot(ias, np.where(possible, np.nan, value), color=QUIET, lw=0.8, ls=":", zorder=2)
    last = np.flatnonzero(np.isfinite(value) & possible)
    name = flaps_word(notch, p.airplane.flaps_full)
    if not last.size:
        last, name = np.flatnonzero(np.isfinite(value)), f"{name}: not possible"
    if last.size:
        i = int(last[-1])
        ax.annotate(name, (ias[i], value[i]), (4, 3), textcoords="offset points", fontsize=8, color=INK, va="bottom")
    return ias, value


def _marks(ax: Any, p: Performance, today: Condition, notch: int, of: Callable[[Any], tuple[Array, Array]]) -> None:
    """Stall (a tick on the axis) and slow flight (a mark on the curve) of a flap setting."""
    stall = float(p.airplane.stall_cas_mps(today.mass_kg, notch))
    unit = units.from_unit(1.0, _unit(p))
    ias = float(p.airplane.calibration[notch].ias(stall)) / unit
    if np.isfinite(ias):
        ax.plot([ias], [0.0], marker="|", ms=14, mew=1.6, color=INK, transform=ax.get_xaxis_transform(), clip_on=False)
    slow = SLOW_FLIGHT * stall
    answer = level_flight(p, np.array([slow]), today.with_flaps(notch))
    at = float(p.airplane.calibration[notch].ias(slow)) / unit
    ax.plot([at], [of(answer)[0][0]], marker=MARKS[notch % len(MARKS)], ms=6, mfc="white", mec=INK, mew=1.2, zorder=5)


def _cruise_mark(ax: Any, p: Performance, today: Condition, of: Callable[[Any], tuple[Array, Array]]) -> None:
    """65 % power on the fast side, flaps up."""
    cas, ias = _speeds(p, today, 0, _top_cas(p, today))
    answer = level_flight(p, cas, today)
    fast = np.arange(cas.size) >= int(np.nanargmin(answer.power_ratio))
    power = answer.power_ratio[fast]
    if not power[0] < CRUISE_POWER < np.nanmax(power):
        return
    x = float(np.interp(CRUISE_POWER, power, ias[fast]))
    y = float(np.interp(CRUISE_POWER, power, of(answer)[0][fast]))
    ax.plot([x], [y], marker="*", ms=10, mfc="white", mec=INK, mew=1.1, zorder=5)
    ax.annotate(
        f"cruise, {CRUISE_POWER:.0%}", (x, y), (7, -9), textcoords="offset points", fontsize=8, color=INK, ha="left"
    )


def _axis(ax: Any, p: Performance, ylabel: str, title: str) -> None:
    ax.set_xlabel(f"indicated airspeed [{_unit(p)}]")
    ax.set_ylabel(ylabel)
    ax.set_title(title)


def _setting(ax: Any, p: Performance, today: Condition) -> None:
    """RPM, or manifold pressure at the usual RPM, for level flight."""

    def of(answer: Any) -> tuple[Array, Array]:
        if p.fixed is not None:
            return answer.rpm, answer.rpm_90
        inhg = units.from_unit(1.0, "inHg")
        return answer.manifold_pressure_pa / inhg, answer.manifold_pressure_90_pa / inhg

    name = "RPM" if p.fixed is not None else f"manifold pressure at {p.usual_rpm:,.0f} RPM [inHg]"
    for notch in notches_with_stall(p, today):
        _curve(ax, p, today, notch, of)
    _axis(ax, p, name, f"Level flight: {'RPM' if p.fixed is not None else 'manifold pressure'}")
    cas, ias = _speeds(p, today, 0, _top_cas(p, today))
    if p.fixed is not None:
        full = np.minimum(full_throttle_rpm(p, cas, today), p.redline_rpm)
    else:
        top = p.manifold.full_throttle_mp_pa(today.pressure_altitude_m) if p.manifold is not None else np.nan
        full = np.full(cas.size, units.to_unit(float(top), "inHg"))
    ax.plot(ias, full, color=QUIET, lw=0.9)
    ax.annotate(
        "full throttle", (ias[0], full[0]), (2, 4), textcoords="offset points", fontsize=8, color=QUIET, ha="left"
    )
    for notch in notches_with_stall(p, today):
        _marks(ax, p, today, notch, of)
    _cruise_mark(ax, p, today, of)
    roomy(ax)
    ax.text(
        0.02, 0.98, f"open marks: slow flight, {SLOW_FLIGHT:g} Vs; ticks on the axis: stall\n"
        "grey: nine in ten; thin dots: beyond full throttle",
        transform=ax.transAxes, fontsize=7.5, color=QUIET, va="top",
    )  # fmt: skip


def _power(ax: Any, p: Performance, today: Condition) -> None:
    """Percent power for level flight: the power curve and its back side."""

    def of(answer: Any) -> tuple[Array, Array]:
        return 100.0 * answer.power_ratio, 100.0 * answer.power_90

    for notch in notches_with_stall(p, today):
        ias, value = _curve(ax, p, today, notch, of)
        i = int(np.nanargmin(value))
        ax.plot([ias[i]], [value[i]], marker="_", ms=11, mew=1.6, color=INK, zorder=4)
    _axis(ax, p, "percent of rated power", "Level flight: power")
    for notch in notches_with_stall(p, today):
        _marks(ax, p, today, notch, of)
    _cruise_mark(ax, p, today, of)
    ax.set_ylim(bottom=0)
    roomy(ax)
    ax.text(
        0.02, 0.98, "short bar: least power; slower than it is the back side",
        transform=ax.transAxes, fontsize=7.5, color=QUIET, va="top",
    )  # fmt: skip


def _climb(ax: Any, p: Performance, today: Condition) -> None:
    """Full-throttle rate of climb against speed, flaps up, at three heights."""
    off = today.temperature_k - float(standard_temperature_k(today.pressure_altitude_m))
    here = float(today.pressure_altitude_m)
    heights = sorted({0.0, here, max(here, 0.0) + units.from_unit(4000.0, "ft")})
    cas, ias = _speeds(p, today, 0, _top_cas(p, today))
    fpm = units.from_unit(1.0, "fpm")
    for i, h in enumerate(heights):
        there = Condition(today.mass_kg, h, float(standard_temperature_k(h)) + off)
        answer = climb(p, cas, there)
        rate, half = answer.climb_rate_mps / fpm, answer.climb_rate_90_mps / fpm
        if h == here:
            ax.fill_between(ias, rate - half, rate + half, color=BAND, lw=0, alpha=0.7, zorder=1)
        ax.plot(ias, rate, color=INK, ls=DASHES[i], zorder=3)
        top, steep = int(np.nanargmax(rate)), int(np.nanargmax(answer.gradient))
        ax.plot([ias[top]], [rate[top]], marker="^", ms=6, mfc="white", mec=INK, zorder=5)
        ax.plot([ias[steep]], [rate[steep]], marker="<", ms=6, mfc="white", mec=INK, zorder=5)
        name = units.write(h, "ft")
        ax.annotate(name, (ias[top], rate[top]), (5, 5), textcoords="offset points", fontsize=8, color=INK)
    ax.axhline(0.0, color=QUIET, lw=0.8)
    _axis(ax, p, "rate of climb [ft/min]", "Full-throttle climb, flaps up")
    ax.text(
        0.02, 0.02, "△ best rate   ◁ best angle", transform=ax.transAxes, fontsize=7.5, color=QUIET,
    )  # fmt: skip


def _bank(ax: Any, p: Performance, today: Condition) -> None:
    """Steepest level turn at full throttle against height, at two speeds, flaps up and full."""
    off = today.temperature_k - float(standard_temperature_k(today.pressure_altitude_m))
    top = p.airplane.limits.max_altitude_m or units.from_unit(12_000.0, "ft")
    heights = np.linspace(0.0, top, 90)
    temps = standard_temperature_k(heights) + off
    ends: list[tuple[float, float, str]] = []
    for i, (notch, factor) in enumerate(((0, 1.7), (0, 1.3), (p.airplane.flaps_full, 1.3))):
        if notch not in notches_with_stall(p, today) or (notch == 0 and i == 2):
            continue
        cas = factor * float(p.airplane.stall_cas_mps(today.mass_kg, notch))
        answer = sustained_bank(p, cas, Condition(today.mass_kg, heights, temps, notch))
        bank, half = np.degrees(answer.bank_rad), np.degrees(answer.bank_90_rad)
        feet = heights / units.FT_M
        by_power = answer.limit == "power"
        band = np.where(by_power & (half < 6.0), half, np.nan)
        ax.fill_betweenx(feet, bank - band, bank + band, color=BAND, lw=0, alpha=0.6, zorder=1)
        ax.plot(np.where(by_power, bank, np.nan), feet, color=INK, ls=DASHES[i], zorder=3)
        ax.plot(np.where(by_power, np.nan, bank), feet, color=QUIET, lw=2.8, zorder=2)
        speed = units.to_unit(float(p.airplane.calibration[notch].ias(cas)), _unit(p))
        name = f"{flaps_word(notch, p.airplane.flaps_full)}, {speed:.0f} {_unit(p)}"
        h = (0.12 + 0.09 * i) * top
        ends.append((float(np.interp(h, heights, np.nan_to_num(bank))), h, name))
    ax.axhline(units.to_unit(float(today.pressure_altitude_m), "ft"), color=QUIET, lw=0.8, ls=":")
    for x, h, name in ends:
        ax.annotate(
            name, (x, h / units.FT_M), (62.5, h / units.FT_M), fontsize=8, color=INK, va="center",
            arrowprops={"arrowstyle": "-", "lw": 0.5, "color": QUIET, "shrinkA": 2, "shrinkB": 1},
        )  # fmt: skip
    ax.set(xlim=(0, 80), ylim=(0, top / units.FT_M))
    ax.set_xlabel("bank [°]")
    ax.set_ylabel("pressure altitude [ft]")
    ax.set_title("Steepest level turn, full throttle")
    ax.text(
        0.02, 0.02, "thick: the stall or the load limit acts\ninstead of power", transform=ax.transAxes, fontsize=7.5,
        color=QUIET,
    )  # fmt: skip


def _words(ax: Any, p: Performance, today: Condition) -> None:
    """What the curves rest on, in place of an empty panel."""
    ax.set_axis_off()
    ax.grid(visible=False)
    learned = p.learned
    used = learned.readings_used
    back = back_side(p, today)
    lines = [
        "What this rests on",
        f"  {'handbook tables and ' if learned.book is not None else ''}{len(used)} readings of this airplane",
        "  grey: 90 % band; dotted grey: beyond full throttle",
        "",
        "On the back side, flaps up",
        f"  least power at {_dial(p, back.min_power_cas_mps)}",
    ]
    if p.fixed is not None:
        lines.append(f"  least RPM at {_dial(p, back.min_rpm_cas_mps)}")
    slower = -units.to_unit(back.climb_rate_per_kt_mps, "fpm")
    lines += [f"  at {_dial(p, back.at_cas_mps)} a knot slower costs {slower:.0f} ft/min of climb", ""]
    bare = [
        n for n in notches_with_stall(p, today) if n and not any(r.flap_notch == n and r.kind == "level" for r in used)
    ]
    if bare:
        which = ", ".join(flaps_word(n, p.airplane.flaps_full) for n in bare)
        lines.append(f"No level reading yet: {which} (wide bands)")
    ax.text(0.0, 1.0, "\n".join(lines), va="top", fontsize=9, linespacing=1.6, color=INK, transform=ax.transAxes)


def _dial(p: Performance, cas_mps: float) -> str:
    ias = float(p.airplane.calibration[0].ias(cas_mps))
    return p.airplane.dial(ias) if np.isfinite(ias) else f"{units.to_unit(cas_mps, 'kt'):.0f} KCAS"
