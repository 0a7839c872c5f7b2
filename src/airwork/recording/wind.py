"""The wind out of the flight itself: from turns (circle fit of the ground velocity) and from full air data.

From turns: at one airspeed the ground velocities of a turn lie on a circle about the wind. With (x, y) the ground
velocity and V the true airspeed,  2·wx·x + 2·wy·y + c = x² + y² − V²,  c = V0² − |w|²: linear least squares for
(wx, wy, c); V² is nought where the airspeed isn't recorded, and then √(c + |w|²) is the airspeed itself.

From full air data: ground velocity = k·R(δ)·(air velocity) + w, least squares for wind, airspeed scale k and heading
error δ where the flight turns; on straight legs the wind is the difference, with the k and δ found.

Fits run over windows of several lengths at once, from running sums; each comes with its standard error, for which the
residuals count as independent only every `INDEPENDENT_S`. (Method derived here.)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

INDEPENDENT_S = 8.0  # airspeed held by hand wanders slowly: residuals this close are one observation
WINDOWS_S = (40.0, 80.0, 160.0, 320.0)
WORST_MPS = 1.6  # fits with a larger standard error are not used
LEAST_ARC = 0.06  # smaller axis of the velocities' spread over V²; a half circle has 0.1, a full one 0.5 (our choice)
SLOWEST_MPS = 17.0  # a circle smaller than this is no airspeed


@dataclass(frozen=True, slots=True)
class WindFits:
    """Estimates, one per window that turned enough. Arrays of one length, SI.

    east_mps, north_mps : velocity of the air over the ground.
    error_mps : one standard error of each component.
    tas_mps : mean true airspeed of the window where it came out of the fit, else NaN.
    turn_rad : net turn within the window, right positive.
    """

    time_s: Array
    altitude_m: Array
    east_mps: Array
    north_mps: Array
    error_mps: Array
    tas_mps: Array
    turn_rad: Array
    length_s: Array

    def __len__(self) -> int:
        return int(self.time_s.size)


def _sums(parts: list[Array], low: NDArray[np.intp], high: NDArray[np.intp]) -> list[Array]:
    out = []
    for part in parts:
        running = np.concatenate(([0.0], np.cumsum(part)))
        out.append(running[high] - running[low])
    return out


def fit_turns(
    time_s: Array, east_mps: Array, north_mps: Array, altitude_m: Array, tas_mps: Array | None = None
) -> WindFits:
    """Wind from the turns in a stretch of flight.

    Parameters
    ----------
    time_s : shape (n,), about one sample per second.
    east_mps, north_mps : ground velocity; NaN where the airplane isn't flying.
    tas_mps : true airspeed, where recorded.
    """
    good = np.isfinite(east_mps) & np.isfinite(north_mps)
    if tas_mps is not None:
        good &= np.isfinite(tas_mps)
    t, x, y, h = time_s[good], east_mps[good], north_mps[good], altitude_m[good]
    empty = np.empty(0)
    if t.size < 20:
        return WindFits(*(empty,) * 8)
    air2 = np.zeros(t.size) if tas_mps is None else tas_mps[good] ** 2
    x0, y0 = float(x.mean()), float(y.mean())  # fitted about the mean: less cancellation in the running sums
    u, v = x - x0, y - y0
    z = u * u + v * v - air2
    z0 = float(z.mean())
    z = z - z0
    track = np.unwrap(np.arctan2(x, y))
    parts = [u, v, u * u, u * v, v * v, z, u * z, v * z, z * z, t, h]
    out: list[tuple[Array, ...]] = []
    step = float(np.median(np.diff(t)))
    for length in WINDOWS_S:
        stride = max(int(length / 8.0 / step), 1)
        low = np.arange(0, t.size, stride)
        high = np.searchsorted(t, t[low] + length, side="right")
        enough = (t[high - 1] - t[low] > 0.8 * length) & ((high - low) * step > 0.7 * length)
        low, high = low[enough], high[enough]
        if low.size:
            out.append(_solve(parts, low, high, (x0, y0, z0), step, length, track, tas_mps is not None))
    if not out:
        return WindFits(*(empty,) * 8)
    fits = WindFits(*(np.concatenate(column) for column in zip(*out, strict=True)))
    keep = fits.error_mps < WORST_MPS
    return WindFits(*(getattr(fits, f)[keep] for f in WindFits.__slots__))


def _solve(
    parts: list[Array], low: NDArray[np.intp], high: NDArray[np.intp], center: tuple[float, float, float],
    step: float, length: float, track: Array, with_air: bool,
) -> tuple[Array, ...]:  # fmt: skip
    n = (high - low).astype(np.float64)
    su, sv, suu, suv, svv, sz, suz, svz, szz, st, sh = _sums(parts, low, high)
    mu, mv, mz = su / n, sv / n, sz / n
    cuu, cuv, cvv = suu - n * mu * mu, suv - n * mu * mv, svv - n * mv * mv
    cuz, cvz, czz = suz - n * mu * mz, svz - n * mv * mz, szz - n * mz * mz
    det = cuu * cvv - cuv * cuv
    with np.errstate(invalid="ignore", divide="ignore"):
        a = (cvv * cuz - cuv * cvz) / det  # 2·wind about the mean ground velocity
        b = (cuu * cvz - cuv * cuz) / det
        left = np.maximum(czz - a * cuz - b * cvz, 0.0)
        independent = np.maximum(n * step / INDEPENDENT_S, 3.5)
        scatter = left / n * independent / (independent - 3.0)
        speed = np.sqrt(np.maximum(cuu + cvv, 0.0) / n)
        scatter = np.maximum(scatter, (2.0 * np.maximum(speed, 15.0) * 0.3) ** 2)  # 0.3 m/s is the best there is
        # covariance of (a, b) scales with n/independent: only every INDEPENDENT_S a new observation
        worst = 0.5 * (cuu + cvv) + np.sqrt(np.maximum(0.25 * (cuu - cvv) ** 2 + cuv**2, 0.0))
        least = np.maximum(0.5 * (cuu + cvv) - (worst - 0.5 * (cuu + cvv)), 1e-9)
        error = 0.5 * np.sqrt(scatter * (n / independent) / least)
        east, north = a / 2.0 + center[0], b / 2.0 + center[1]
        c = mz - a * mu - b * mv + center[2]
        radius2 = c + (a * a + b * b) / 4.0
        # an arc no wider than its noise makes a small circle of its own: such a fit says nothing
        air2 = 0.5 * (cuu + cvv) / n if with_air else radius2
        error = np.where((least / n > LEAST_ARC * air2) & (air2 > SLOWEST_MPS**2), error, np.inf)
        tas = np.sqrt(np.where(radius2 > 0, radius2, np.nan)) if not with_air else np.full(n.shape, np.nan)
    return st / n, sh / n, east, north, error, tas, track[high - 1] - track[low], np.full(n.shape, length)


@dataclass(frozen=True, slots=True)
class AirDataFit:
    """What full air data say over a whole flight: airspeed scale, heading error, each with its standard error."""

    scale: float
    scale_error: float
    heading_error_rad: float
    heading_error_error_rad: float
    turned: bool  # the flight turned enough to tell them


def fit_air_data(
    time_s: Array, east_mps: Array, north_mps: Array, air_east_mps: Array, air_north_mps: Array, length_s: float = 120.0
) -> AirDataFit:
    """Airspeed scale and heading error from the stretches that turn: median over windows, weighted by their turning."""
    good = np.isfinite(east_mps) & np.isfinite(north_mps) & np.isfinite(air_east_mps) & np.isfinite(air_north_mps)
    t = time_s[good]
    unknown = AirDataFit(1.0, 1.0, 0.0, 1.0, False)
    if t.size < 40:
        return unknown
    g = east_mps[good] + 1j * north_mps[good]
    a = air_east_mps[good] + 1j * air_north_mps[good]
    step = float(np.median(np.diff(t)))
    low = np.arange(0, t.size, max(int(length_s / 4.0 / step), 1))
    high = np.searchsorted(t, t[low] + length_s, side="right")
    enough = t[high - 1] - t[low] > 0.8 * length_s
    low, high = low[enough], high[enough]
    if not low.size:
        return unknown
    n = (high - low).astype(np.float64)
    cross, power = g * np.conj(a), np.abs(a) ** 2
    sums = [np.concatenate(([0.0], np.cumsum(p))) for p in (g, a, cross, power, np.abs(g) ** 2)]
    sg, sa, sc, sp, sgg = (running[high] - running[low] for running in sums)
    saa = np.real(sp) - np.abs(sa) ** 2 / n
    sca = sc - sg * np.conj(sa) / n
    sgc = np.real(sgg) - np.abs(sg) ** 2 / n
    with np.errstate(invalid="ignore", divide="ignore"):
        q = sca / saa
        left = np.maximum(sgc - np.abs(sca) ** 2 / saa, 0.0)
        independent = np.maximum(n * step / INDEPENDENT_S, 3.0)
        scatter = np.maximum(left / n * independent / (independent - 2.0), 0.3**2)
        error = np.sqrt(scatter * (n / independent) / saa)
    use = np.isfinite(error) & (error < 0.06) & (np.abs(q) > 0.2) & (np.abs(q) < 5.0)
    if not use.any():
        return unknown
    weight = 1.0 / error[use] ** 2
    scale, turn = np.abs(q[use]), np.angle(q[use])
    best = _weighted_median(scale, weight)
    # windows overlap by three quarters
    spread = max(float(np.sqrt(4.0 / weight.sum())), 1.25 * _mad(scale) / np.sqrt(max(use.sum() / 4.0, 1.0)))
    delta = -_weighted_median(turn, weight)  # complex angle is counter-clockwise, headings turn clockwise
    return AirDataFit(best, spread, delta, spread, True)


def _weighted_median(values: Array, weight: Array) -> float:
    order = np.argsort(values)
    total = np.cumsum(weight[order])
    return float(values[order][np.searchsorted(total, 0.5 * total[-1])])


def _mad(values: Array) -> float:
    return float(np.median(np.abs(values - np.median(values)))) * 1.4826


def first_guess(fits: WindFits) -> tuple[float, float]:
    """(east, north) of the wind by the best circle fits, weighted by their errors; calm without any. [m/s]"""
    if not len(fits):
        return 0.0, 0.0
    weight = 1.0 / fits.error_mps**4
    total = float(weight.sum())
    return float(fits.east_mps @ weight) / total, float(fits.north_mps @ weight) / total
