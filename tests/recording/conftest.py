"""Shared by the tests of recordings."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from airwork.recording.no_flight import no_flight
from airwork.recording.wind_fit import fit_wind

SOURCES = Path(__file__).resolve().parent.parent / "sources" / "recordings"


@pytest.fixture(scope="session")
def recordings() -> Path:
    """Folder of the recordings kept verbatim."""
    return SOURCES


@pytest.fixture(scope="session", autouse=True)
def _no_user_mapping(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No mapping of the person who runs the tests gets in."""
    none = tmp_path_factory.mktemp("nobody") / "none" / "recording-layouts.toml"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("airwork.recording.mapping.user_file", lambda: none)
        yield


@pytest.fixture(scope="module")
def columns_alone() -> Iterator[None]:
    """For tests of what a file's columns are: what the wind was, and whether it was no flight, is sought after that, in
    a third of their time.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("airwork.recording.derive.fit_wind", lambda *given: None)
        patch.setattr("airwork.recording.derive.no_flight", lambda work: ("", ""))
        yield


@pytest.fixture
def all_sought(monkeypatch: pytest.MonkeyPatch) -> None:
    """For a test among them that asks for wind or craft all the same."""
    monkeypatch.setattr("airwork.recording.derive.fit_wind", fit_wind)
    monkeypatch.setattr("airwork.recording.derive.no_flight", no_flight)
