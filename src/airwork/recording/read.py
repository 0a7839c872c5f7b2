"""Reading a recording: open → read → clean → derive → `Flight`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from airwork.errors import AirworkError, InputError
from airwork.recording.clean import clean
from airwork.recording.derive import derive
from airwork.recording.flight import Flight, Mend
from airwork.recording.open_file import Opened, open_recording
from airwork.recording.recorded import Recorded
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.airplane import Airplane

_SHARE, _NOTHING_FLIES_MPS = 70.0, 400.0  # of the samples slower than this: 780 kt
MOST_ROWS = 750_000  # 20 hours at 10 Hz, a week of seconds


def read_flight(
    path: Path | str,
    *,
    airplane: Airplane | None = None,
    setting_pa: float | None = None,
    ground_elevation_m: float | None = None,
    mapping: Path | None = None,
    mass_kg: float | None = None,
    aircraft: str | None = None,
) -> Flight:
    """Any recording as one clean `Flight`.

    Parameters
    ----------
    airplane : its file's tables give calibrated airspeed, percent power, fuel flow and flap notches.
    setting_pa : altimeter setting flown, where the file doesn't record it. [Pa]
    ground_elevation_m : elevation of the ground, where the recording never stands on it. [m]
    mapping : a layout mapping to use instead of the one found beside the file.
    mass_kg : airplane's mass; kept in `source` for those who grade. [kg]
    aircraft : which one, in a file that holds several.

    Raises
    ------
    InputError : the file can't be used; one line says why and what to do.
    """
    path = Path(path)
    opened = open_recording(path)
    recorded = read_raw(opened, path, mapping=mapping, aircraft=aircraft)
    digest, where, size, packed = opened.start_digest(), opened.where, opened.size, opened.packed
    del opened  # the text is no longer needed; the columns are
    with np.errstate(all="ignore"):  # what can't be computed is NaN; the report says what was taken out
        clean(recorded, where)
    recorded.facts.update(name=path.name, format=recorded.format, bytes=size, packed=packed, sha256=digest.result())
    if mass_kg is not None:
        recorded.facts["mass_kg"] = mass_kg
    with np.errstate(all="ignore"):
        flight = derive(recorded, airplane=airplane, setting_pa=setting_pa, ground_elevation_m=ground_elevation_m)
    _refuse_nonsense(flight, where)
    return flight


def _refuse_nonsense(flight: Flight, where: str) -> None:
    """Faster than anything that is flown, for a good part of it: columns that aren't what they are taken for."""
    speed = flight.get("groundspeed_mps")
    fast = float(np.nanpercentile(speed, _SHARE)) if speed is not None and np.isfinite(speed).any() else 0.0
    if fast < _NOTHING_FLIES_MPS:
        return
    taken = ", ".join(
        f"{r['column']!r} as {r['quantity'].replace('_', ' ')}" for r in flight.source.get("understood", [])
    )
    raise InputError(
        f"makes {to_unit(fast, 'kt'):,.0f} kt over the ground as airwork reads it ({taken[:300] or 'positions'}); "
        "say which column is what with: airwork recording map FILE.",
        where=where,
    )


def read_raw(opened: Opened, path: Path, *, mapping: Path | None = None, aircraft: str | None = None) -> Recorded:
    """A file's content in house quantities, nothing mended yet; whatever a reader trips over becomes one line."""
    try:
        with np.errstate(all="ignore"):
            recorded = _read(opened, path, mapping, aircraft)
    except AirworkError:
        raise
    except (MemoryError, RecursionError):
        raise InputError("is too large or too deeply nested to be read.", where=opened.where) from None
    except (ValueError, LookupError, TypeError, OverflowError, ArithmeticError, AttributeError) as problem:
        raise InputError(
            f"is damaged or of a form airwork can't read ({type(problem).__name__}: {str(problem)[:80]}).",
            where=opened.where,
        ) from problem
    except BaseException as problem:
        if type(problem).__name__ != "PanicException":  # of the tables' library; no Exception, so nobody else holds it
            raise
        raise InputError("is damaged: its parts don't fit together.", where=opened.where) from None
    if recorded.time_s.size > MOST_ROWS:
        raise InputError(
            f"has {recorded.time_s.size:,} rows; a recording has at most {MOST_ROWS:,}.", where=opened.where
        )
    if recorded.time_s.size < 2:
        raise InputError("has fewer than two readable rows; nothing to read.", where=opened.where)
    recorded.mends[:0] = list[Mend](opened.mends)
    return recorded


def _read(opened: Opened, path: Path, mapping: Path | None, aircraft: str | None) -> Recorded:
    if opened.kind in {"igc", "nmea"}:
        from importlib import import_module

        reader = import_module(f"airwork.recording.read_{opened.kind}")
        recorded: Recorded = reader.read(opened.data, opened.where)
        return recorded
    from airwork.recording.read_table import read

    return read(opened, path, mapping, aircraft)
