"""What airwork is put together from: the lock is whole, and every license of what ships lets it ship."""

from __future__ import annotations

import importlib.util
import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
_spec = importlib.util.spec_from_file_location("supply", ROOT / "tools" / "supply.py")
assert _spec is not None
supply = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(supply)  # type: ignore[union-attr]


def lines() -> list[str]:
    return [line for line in supply.LOCK.read_text("utf-8").splitlines() if not line.startswith("#")]


def test_the_lock_names_a_version_and_a_hash_for_each_package_and_no_place() -> None:
    for line in lines():
        assert re.fullmatch(r"[a-z0-9-]+==[A-Za-z0-9.!+]+ --hash=sha256:[0-9a-f]{64}", line), line


def test_everything_the_project_asks_for_is_in_the_lock() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    groups = project["dependency-groups"]
    asked = [*project["project"]["dependencies"], *(r for g in ("test", "lint", "docs") for r in groups[g])]
    names = {supply._name(re.match(r"[A-Za-z0-9._-]+", r)[0]) for r in asked if isinstance(r, str)}  # type: ignore[index]
    assert names <= {line.partition("==")[0] for line in lines()}


def test_every_license_of_what_ships_is_listed_and_lets_it_ship() -> None:
    """A package that names no license, or one that would bind the whole, turns this red."""
    rows = re.findall(r"^\| (.+?) \| (.+?) \|$", supply.licenses(), re.M)[1:]
    listed = supply.PAGE.read_text("utf-8")
    assert len(rows) > 50
    for name, license in rows[1:]:
        assert supply.ALLOWED.search(license), f"{name}: {license}"
        assert not supply.STRONG.search(license), f"{name}: {license}"
        assert f"| {name} |" in listed, f"{name} is not on the page: python tools/supply.py licenses"


@pytest.mark.parametrize(
    ("said", "allowed"), [("MIT", True), ("GPL-3.0-only", False), ("AGPL-3.0", False), ("", False)]
)
def test_what_may_ship_is_told_from_what_may_not(said: str, allowed: bool) -> None:
    assert bool(supply.ALLOWED.search(said) and not supply.STRONG.search(said)) is allowed
