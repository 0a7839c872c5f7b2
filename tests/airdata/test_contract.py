"""What every air-data function keeps: a scalar equals an array of one; the examples in the docstrings are true."""

from __future__ import annotations

import ast
import doctest
import importlib
import inspect
import io
import pkgutil
import re
import tokenize
from pathlib import Path

import numpy as np
import pytest

import airwork.airdata
from airwork import errors, units

MODULES = [importlib.import_module(f"airwork.airdata.{m.name}") for m in pkgutil.iter_modules(airwork.airdata.__path__)]

# A plausible value for each parameter name; a function with a parameter not named here has to be entered below.
SAMPLE = {
    "height_m": 1500.0, "temperature_k": 285.0, "dewpoint_k": 280.0, "pressure_pa": 90_000.0,
    "pressure_altitude_m": 1200.0, "pressure_altitude_m_": 1200.0, "setting_pa": 101_000.0,
    "indicated_altitude_m": 1500.0, "indicated_altitude_m_": 1500.0, "station_elevation_m": 300.0,
    "isa_deviation_k": -10.0, "height_above_station_m": 700.0, "station_temperature_k": 260.0, "cas_mps": 55.0,
    "tas_mps": 60.0, "groundspeed_mps": 50.0, "bank_rad": 0.6, "turn_rad": 2.0, "rate_radps": 0.05, "radius_m": 600.0,
    "glide_ratio": 9.0, "wind_from_rad": 1.0, "wind_mps": 8.0, "course_rad": 2.0, "east_mps": 3.0, "north_mps": -4.0,
    "angle_rad": -7.0, "from_rad": 1.0, "to_rad": 6.0, "track_minus_wind_rad": 2.0, "headwind_mps": 5.0,
    "latitude_rad": 0.8, "path_rad": 0.05, "impact_pa": 1600.0,
}  # fmt: skip

# Not element by element: histories, records, and functions of one place or one lap.
OTHER = {
    "arc_time_s", "carburetor_icing_region", "decimal_year", "east_north_m", "is_night", "leg", "mean_direction_rad",
    "only_between", "place", "places", "sun_day", "sun_elevation_rad", "sun_position_rad", "turn_about_point",
    "unwrap_rad", "variation", "way_m", "zone_at",
}  # fmt: skip


def test_the_lists_above_name_nothing_that_is_gone() -> None:
    """A sample for a parameter that no function has looks as if something were held by it."""
    functions = {name for module in MODULES for name in vars(module)}
    parameters = {name for case in _functions() for name in inspect.signature(case.values[0]).parameters}
    assert functions >= OTHER
    assert parameters >= set(SAMPLE)


def _functions() -> list:
    found = {}
    for module in MODULES:
        for name, f in vars(module).items():
            own = callable(f) and getattr(f, "__module__", "") == module.__name__ and not inspect.isclass(f)
            if own and not name.startswith("_") and name not in OTHER:
                found[f"{module.__name__.rsplit('.', 1)[1]}.{name}"] = f
    return [pytest.param(f, id=name) for name, f in found.items()]


def _flat(answer) -> np.ndarray:
    parts = answer if isinstance(answer, tuple) else (answer,)
    return np.array([np.asarray(p, dtype=float).reshape(-1) for p in parts])


@pytest.mark.parametrize("function", _functions())
def test_a_scalar_equals_an_array_of_one_and_of_many(function) -> None:
    names = [n for n, p in inspect.signature(function).parameters.items() if n != "closing_k_per_m"]
    assert set(names) <= set(SAMPLE), "a new parameter name: give it a sample value, or list the function in OTHER"
    values = [SAMPLE[n] for n in names]
    one = _flat(function(*values))
    assert np.isfinite(one).all()
    np.testing.assert_allclose(_flat(function(*([v] for v in values))), one, rtol=1e-13)
    arrays = [np.full(7, v) for v in values]
    many = _flat(function(*arrays))
    assert many.shape[1] == 7
    assert all((a == v).all() for a, v in zip(arrays, values, strict=True)), "an input was changed"
    np.testing.assert_allclose(many, np.repeat(one, 7, axis=1), rtol=1e-13)


@pytest.mark.parametrize("function", _functions())
def test_nan_in_gives_nan_out_without_a_warning(function) -> None:
    """A recording has gaps; pytest turns warnings into errors."""
    names = [n for n in inspect.signature(function).parameters if n != "closing_k_per_m"]
    got = _flat(function(*(np.array([np.nan, SAMPLE[n]]) for n in names)))
    assert np.isnan(got[:, 0]).all()
    assert np.isfinite(got[:, 1]).all()


@pytest.mark.parametrize("module", [*MODULES, units, errors], ids=lambda m: m.__name__)
def test_the_examples_in_the_docstrings_are_true(module) -> None:
    import math

    failed, _ = doctest.testmod(module, extraglobs={"np": np, "math": math})
    assert failed == 0


def _prose(path: Path) -> str:
    """Docstrings and comments of a module: where keys of sources stand."""
    source = path.read_text()
    nodes = (ast.Module, ast.FunctionDef, ast.ClassDef)
    texts = [ast.get_docstring(n) or "" for n in ast.walk(ast.parse(source)) if isinstance(n, nodes)]
    comments = [t.string for t in tokenize.generate_tokens(io.StringIO(source).readline) if t.type == tokenize.COMMENT]
    return "\n".join(texts + comments)


def test_every_source_key_in_the_code_has_its_full_title_in_the_bibliography() -> None:
    project = Path(__file__).parents[2]
    package, pages = project / "src" / "airwork", (project / "docs" / "bibliography.md").read_text()
    titles = set(re.findall(r"^\| \[([^\]]+)\]", pages, re.MULTILINE))
    keys = re.compile(r"\[((?:[A-Z]{2,}[A-Z0-9]*(?:-[A-Z0-9]+)*)|61\.57)\]")
    written = [path for path in package.rglob("*.py") if keys.search(path.read_text())]
    used = {(key, path.name) for path in written for key in keys.findall(_prose(path))}
    assert len(used) > 10
    units_in_brackets = {"SI", "UTC", "NM", "SM", "AGL", "MSL", "MB"}
    assert {(key, name) for key, name in used if key not in titles | units_in_brackets} == set()
