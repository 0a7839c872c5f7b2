"""Writing a made flight as CSV text of any layout."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from recording.made_flight import FT, KT, START_UTC_S, Made, stamp

Array = NDArray[np.float64]
DEG = 180.0 / math.pi

# What a layout may ask of a made flight, in the unit of the key.
GET: dict[str, Callable[[Made], Array]] = {
    "lat_deg": lambda m: m.latitude_rad * DEG,
    "lon_deg": lambda m: m.longitude_rad * DEG,
    "alt_ft": lambda m: m.altitude_m / FT,
    "alt_m": lambda m: m.altitude_m,
    "gs_kt": lambda m: m.groundspeed_mps / KT,
    "gs_mps": lambda m: m.groundspeed_mps,
    "gs_kmh": lambda m: m.groundspeed_mps * 3.6,
    "trk_deg": lambda m: m.track_rad * DEG,
    "hdg_deg": lambda m: m.heading_rad * DEG,
    "hdg_rad": lambda m: m.heading_rad,
    "bank_deg": lambda m: m.bank_rad * DEG,
    "bank_rad": lambda m: m.bank_rad,
    "vs_fpm": lambda m: m.vertical_speed_mps / FT * 60.0,
    "vs_mps": lambda m: m.vertical_speed_mps,
    "ias_kt": lambda m: ias_mps(m) / KT,
    "ias_mph": lambda m: ias_mps(m) * 3600.0 / 1609.344,
    "ias_kmh": lambda m: ias_mps(m) * 3.6,
    "tas_kt": lambda m: m.tas_mps / KT,
    "n_g": lambda m: m.load_factor,
    "oat_c": lambda m: 15.0 - 0.0065 * m.altitude_m,
    "oat_f": lambda m: (15.0 - 0.0065 * m.altitude_m) * 1.8 + 32.0,
    "rpm": lambda m: np.full(m.time_s.size, 2400.0),
    "fuel_gal": lambda m: 20.0 - m.time_s / 900.0,
}


def ias_mps(made: Made) -> Array:
    """Calibrated airspeed in the standard atmosphere (IAS = CAS): V·√σ, low-speed form, good to 0.1 kt here."""
    sigma = (1.0 - 6.8755856e-6 * made.altitude_m / FT) ** 4.2558798
    return made.tas_mps * np.sqrt(sigma)


def table(
    made: Made,
    columns: Mapping[str, tuple[str, int]],
    *,
    times: Sequence[str] | None = None,
    time_names: str = "UTC Time",
    delimiter: str = ",",
    decimal: str = ".",
    units: str | None = None,
    before: str = "",
) -> str:
    """CSV text: header name → (key of GET, decimals)."""
    stamps = list(times) if times is not None else [stamp(START_UTC_S + t) for t in made.time_s]
    cells = [stamps]
    for key, digits in columns.values():
        cells.append([f"{v:.{digits}f}".replace(".", decimal) for v in GET[key](made)])
    lines = [delimiter.join([time_names, *columns])]
    if units is not None:
        lines.append(units)
    lines += map(delimiter.join, zip(*cells, strict=True))
    return before + "\n".join(lines) + "\n"


GPS = {
    "Latitude (deg)": ("lat_deg", 7),
    "Longitude (deg)": ("lon_deg", 7),
    "GPS Altitude (ft)": ("alt_ft", 1),
    "Groundspeed (kt)": ("gs_kt", 2),
    "Track (deg)": ("trk_deg", 2),
}
FULL = {
    **GPS,
    "Indicated Altitude (ft)": ("alt_ft", 1),
    "OAT (C)": ("oat_c", 2),
    "IAS (kt)": ("ias_kt", 3),
    "True Heading (deg)": ("hdg_deg", 2),
    "Roll (deg)": ("bank_deg", 2),
    "Vertical Speed (fpm)": ("vs_fpm", 1),
    "RPM": ("rpm", 0),
}


def save(folder: Path, text: str | bytes, name: str = "flight.csv") -> Path:
    """Write a file for a test."""
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path
