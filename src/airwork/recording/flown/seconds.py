"""A flight at whole seconds: means over each second, short gaps bridged, long ones left open, spikes taken out. SI."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import density_kgpm3, standard_air, standard_temperature_k
from airwork.airplane import Airplane
from airwork.recording.flight import Array, Flight

GAP_S = 2.0  # a longer silence of the recorder is a gap
_SPIKE_WIDTH = 5


@dataclass(frozen=True)
class Seconds:
    """Columns at whole seconds, NaN where not known; `_measured` names say whether a column came from the file."""

    time_s: Array
    cas_mps: Array
    tas_mps: Array
    altitude_m: Array  # pressure altitude
    temperature_k: Array
    density_kgpm3: Array
    rpm: Array
    pressure_pa: Array
    bank_rad: Array
    load_factor: Array
    pitch_rad: Array
    flow_m3ps: Array
    burned_m3: Array
    notch: NDArray[np.int64]  # −1 where flaps are not recorded
    on_ground: NDArray[np.bool_]
    ground_east_mps: Array
    ground_north_mps: Array
    wind_east_mps: Array
    wind_north_mps: Array


def measured(flight: Flight, *names: str) -> bool:
    """Any of these columns came from the file."""
    return any(name in flight.columns and flight.columns[name].known == "measured" for name in names)


def by_second(flight: Flight, airplane: Airplane) -> Seconds | None:
    """The flight at whole seconds; None when there is next to nothing."""
    if len(flight) < 60 or flight.time_s[-1] - flight.time_s[0] < 60.0:
        return None
    time = np.arange(np.ceil(flight.time_s[0]), np.floor(flight.time_s[-1]) + 1.0)
    missing = np.full(time.size, np.nan)

    def column(name: str, *, spikes: bool = False) -> Array:
        values = flight.get(name)
        if values is None:
            return missing.copy()
        found = at_seconds(flight.time_s, values, time)
        return despiked(found) if spikes else found

    altitude = column("pressure_altitude_m")
    temp = column("oat_k")
    temp = np.where(np.isfinite(temp), temp, standard_temperature_k(altitude))
    flow = column("fuel_flow_m3ps") if measured(flight, "fuel_flow_m3ps") else missing.copy()
    ground, track = column("groundspeed_mps"), flight.get("track_rad")
    if track is None:
        east = north = missing.copy()
    else:
        east = ground * at_seconds(flight.time_s, np.sin(track), time)
        north = ground * at_seconds(flight.time_s, np.cos(track), time)
    wind, wind_from = column("wind_mps"), flight.get("wind_from_rad")
    if wind_from is None:
        wind_east = wind_north = missing.copy()
    else:
        wind_east = -wind * at_seconds(flight.time_s, np.sin(wind_from), time)
        wind_north = -wind * at_seconds(flight.time_s, np.cos(wind_from), time)
    bank = column("bank_rad")
    bank = np.where(np.isfinite(bank), bank, 0.0)
    load = column("load_factor") if measured(flight, "load_factor") else missing.copy()
    load = np.where(np.isfinite(load), load, 1.0 / np.cos(np.clip(bank, -1.2, 1.2)))
    ground_contact = column("on_ground")
    return Seconds(
        time, column("cas_mps", spikes=True), column("tas_mps", spikes=True), altitude, temp,
        density_kgpm3(standard_air(altitude).pressure_pa, temp), column("rpm", spikes=True),
        column("manifold_pressure_pa", spikes=True), bank, load,
        column("pitch_rad") if measured(flight, "pitch_rad") else missing.copy(), flow, _burned(flight, time, flow),
        _notches(flight, airplane, time), np.nan_to_num(ground_contact, nan=0.0) > 0.01, east, north, wind_east,
        wind_north,
    )  # fmt: skip


def at_seconds(time_s: Array, values: Array, at_s: Array) -> Array:
    """Mean over each whole second (± half), straight lines across gaps of up to two seconds, NaN elsewhere."""
    good = np.isfinite(values)
    if good.sum() < 2:
        return np.full(at_s.size, np.nan)
    t, v = time_s[good], values[good]
    slot = np.round(t - at_s[0]).astype(int)
    inside = (slot >= 0) & (slot < at_s.size)
    count = np.bincount(slot[inside], minlength=at_s.size)
    # the mean stands at the mean time of its samples: at 1 Hz a recorder's clock need not tick on the second
    total = np.bincount(slot[inside], v[inside], minlength=at_s.size)
    when = np.bincount(slot[inside], t[inside], minlength=at_s.size)
    some = count > 0
    mean, mean_t = total[some] / count[some], when[some] / count[some]
    out = np.interp(at_s, mean_t, mean)
    after = np.clip(np.searchsorted(mean_t, at_s), 1, mean_t.size - 1)
    silence = mean_t[after] - mean_t[after - 1]
    near = np.minimum(np.abs(at_s - mean_t[after]), np.abs(at_s - mean_t[after - 1]))
    return np.where((silence <= GAP_S + 1e-6) | (near < 0.51), out, np.nan)


def despiked(values: Array) -> Array:
    """Single samples far from the median of their neighborhood are replaced by it."""
    if values.size < _SPIKE_WIDTH:
        return values
    half = _SPIKE_WIDTH // 2
    around = np.lib.stride_tricks.sliding_window_view(np.pad(values, half, mode="edge"), _SPIKE_WIDTH)
    middle = np.median(around, axis=1)
    off = np.abs(values - middle)
    known = off[np.isfinite(off)]
    if not known.size:
        return values
    limit = max(8.0 * float(np.median(known)), 0.02 * float(np.nanmedian(np.abs(values))))
    return np.where(off > limit, middle, values)


def _burned(flight: Flight, time: Array, flow: Array) -> Array:
    """Fuel burned since the start, by the gauges where they are recorded, else by the flow. [m³]"""
    flow_used = np.nan_to_num(flow, nan=float(np.nanmean(flow)) if np.isfinite(flow).any() else 0.0)
    by_flow = np.concatenate([[0.0], np.cumsum(flow_used)[:-1]])
    total = flight.get("fuel_total_m3")
    if total is None or not measured(flight, "fuel_total_m3", "fuel_left_m3"):
        return by_flow
    level = at_seconds(flight.time_s, total, time)
    known = np.isfinite(level)
    if known.sum() < 0.5 * time.size:
        return by_flow
    slope, start = np.polyfit(time[known], level[known], 1)  # a line: gauges slosh in turns
    return np.maximum(-slope, 0.0) * (time - time[0]) if start > 0 else by_flow


def _notches(flight: Flight, airplane: Airplane, time: Array) -> NDArray[np.int64]:
    if airplane.flaps_full == 0:
        return np.zeros(time.size, dtype=np.int64)
    flap = flight.get("flap_notch")
    if flap is None or not measured(flight, "flap_notch", "flap_deg"):
        found = flight.columns.get("flap_notch")
        if found is None or "lever" not in found.note:
            return np.full(time.size, -1, dtype=np.int64)
    assert flap is not None
    index = np.clip(np.searchsorted(flight.time_s, time + 0.5, side="right") - 1, 0, len(flight) - 1)
    notch = np.where(np.isfinite(flap[index]), flap[index], -1.0)
    return np.clip(np.round(notch), -1, airplane.flaps_full).astype(np.int64)
