"""The fitted airplane as a file beside the typed one: the same text, the readings of recordings, and `[fitted]`."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import astuple, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from airwork.airplane.airplane import Airplane
from airwork.airplane.file.beside import ENDING, fitted_path
from airwork.airplane.file.fitted import Fitted, FittedFlight
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.performance.engine import FixedPitchEngine
from airwork.airplane.performance.flown import Flown
from airwork.airplane.performance.learn import Learned, learn
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.readings import Reading, readings_of
from airwork.airplane.performance.stored import inputs_digest, law_name
from airwork.errors import InputError
from airwork.units import to_unit
from airwork.version import VERSION


def reading_row(reading: Reading) -> dict[str, Any]:
    """A reading as a row of `[[observations]]`, printed units, rounded as far as it can matter."""
    row: dict[str, Any] = {
        "kind": reading.kind,
        "weight_lb": round(to_unit(reading.mass_kg, "lb"), 0),
        "pressure_altitude_ft": round(to_unit(reading.pressure_altitude_m, "ft"), 0),
        "oat_c": round(to_unit(reading.temperature_k, "°C"), 1),
        "flap_notch": reading.flap_notch,
        "kcas": round(to_unit(reading.cas_mps, "kt"), 1),
    }
    if reading.rpm is not None:
        row["rpm"] = round(reading.rpm, 0)
    if reading.manifold_pressure_pa is not None:
        row["manifold_pressure_inhg"] = round(to_unit(reading.manifold_pressure_pa, "inHg"), 1)
    if reading.climb_rate_mps is not None:
        row["rate_of_climb_fpm"] = round(to_unit(reading.climb_rate_mps, "fpm"), 0)
    if reading.fuel_flow_m3ps is not None:
        row["fuel_flow_gph"] = round(to_unit(reading.fuel_flow_m3ps, "gph"), 2)
        row["mixture"] = reading.mixture
    if reading.pitch_rad is not None:
        row["pitch_deg"] = round(to_unit(reading.pitch_rad, "deg"), 1)
    if abs(reading.bank_rad) > 1e-3:
        row["bank_deg"] = round(to_unit(reading.bank_rad, "deg"), 1)
    for key in ("recording", "left_out", "note"):
        if getattr(reading, key):
            row[key] = getattr(reading, key)
    return row


def fit(text: str, flights: Sequence[Flown], *, keep_outliers: bool = False, where: str = "") -> Performance:
    """The performance an airplane file and some flights give, as anybody will have it who loads what `compose` writes.

    Raises
    ------
    InputError : the text is not a valid airplane file.
    """
    import tomli_w

    document = tomllib.loads(text.replace("\r\n", "\n"))
    document.pop("fitted", None)
    airplane = Airplane(parse_airplane_file(tomli_w.dumps(document), where=where))
    learned = learn(airplane, readings_of(airplane), flights, keep_outliers=keep_outliers)
    marked = False
    for row, residual in zip(document.get("observations", []), learned.residuals, strict=True):
        if not residual.used and not residual.reading.left_out:
            row["left_out"], marked = residual.why, True
    if marked:  # once more from the text as it will be read, so that what is stored is what it says
        airplane = Airplane(parse_airplane_file(tomli_w.dumps(document), where=where))
        learned = learn(airplane, readings_of(airplane), flights, keep_outliers=keep_outliers)
    document["fitted"] = fitted_table(airplane, learned).model_dump(exclude_defaults=True)
    airplane = Airplane(parse_airplane_file(tomli_w.dumps(document), where=where))
    stored = learn(airplane, readings_of(airplane), stored=True)
    known = replace(
        stored, joint=learned.joint, flights=learned.flights, residuals=learned.residuals, weighed=learned.weighed
    )
    return Performance(airplane, known)


def fitted_table(airplane: Airplane, learned: Learned) -> Fitted:
    """The `[fitted]` table of an airplane (whose file already holds the readings it was fitted to)."""
    own, engine, fuel = learned.own, learned.engine, learned.fuel
    numbers = [*engine.cp, engine.strength, *engine.cov.flat] if isinstance(engine, FixedPitchEngine) else []
    line = [] if fuel is None else [float(x) for x in astuple(fuel)]
    return Fitted(
        airwork=VERSION,
        date=datetime.now(UTC).date().isoformat(),
        law=law_name(learned.law),
        inputs=inputs_digest(airplane),
        names=list(learned.law.names),
        values=[_short(x) for x in own.theta],
        covariance=[[_short(x) for x in row] for row in own.cov],
        engine=[_short(x) for x in numbers],
        fuel=[_short(x) for x in line],
        flights=[
            FittedFlight(
                recording=f.name, key=f.key, date=f.date, weight_lb=round(to_unit(f.mass_kg, "lb")),
                weight_from=f.weight_from, windows=len(f.rows),
            )
            for f in learned.flights
        ],
    )  # fmt: skip


def _short(value: float) -> float:
    """Nine digits, which is far more than is known and keeps the file readable."""
    return float(f"{value:.9g}")


def compose(text: str, performance: Performance, says: list[str]) -> str:
    """The fitted file's text from the typed one and what `fit` made of it.

    The typed text stays as it is, comments and all; readings that lie too far off are marked, and the fitted
    parameters follow, with the flights they were learned from.
    """
    import tomlkit

    text = text.replace("\r\n", "\n")
    typed = tomllib.loads(text)
    marks = {
        k: residual.reading.left_out
        for k, (row, residual) in enumerate(
            zip(typed.get("observations", []), performance.learned.residuals, strict=True)
        )
        if residual.reading.left_out and "left_out" not in row
    }
    if (
        marks or "fitted" in typed
    ):  # else the text is what stays: finding its comments takes ten times as long as reading it
        document = tomlkit.parse(text)
        document.pop("fitted", None)
        for k, why in marks.items():
            document["observations"][k]["left_out"] = why
        text = tomlkit.dumps(document)
    fitted = performance.airplane.file.fitted
    assert fitted is not None
    own = tomlkit.document()
    own["fitted"] = _plain(fitted.model_copy(update={"says": says}).model_dump(exclude_defaults=True))
    return text.rstrip("\n") + "\n\n" + tomlkit.dumps(own)


def _plain(data: dict[str, Any]) -> Any:
    """A table with the long lists, and the flights, one row a line."""
    import tomlkit

    table = tomlkit.table()
    table.comment("written by `airwork airplane fit`; typed tables and readings decide, this only saves fitting again")
    for key, value in data.items():
        if isinstance(value, list) and (key == "flights" or len(value) > 3):
            item = tomlkit.array()
            for entry in value:
                item.add_line(entry)
            item.add_line(indent="")
            table[key] = item
        else:
            table[key] = value
    return table


def refuse_over_typed(target: Path, typed: Path) -> None:
    """The fitted file must never replace the typed one.

    Raises
    ------
    InputError : they are the same file.
    """
    if target.resolve() == typed.resolve() and not typed.name.endswith(ENDING):
        raise InputError(
            f"would be written over the typed file; choose another name, e.g. {fitted_path(typed).name}.",
            where=str(target),
        )
