"""Shared by the tests of recordings."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

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
def no_wind_sought() -> Iterator[None]:
    """For tests of what a file's columns are: what the wind was is sought after that, in a quarter of their time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("airwork.recording.derive.fit_wind", lambda *given: None)
        yield
