"""Shared by the tests of recordings."""

from __future__ import annotations

from pathlib import Path

import pytest

SOURCES = Path(__file__).resolve().parent.parent / "sources" / "recordings"


@pytest.fixture(scope="session")
def recordings() -> Path:
    """Folder of the recordings kept verbatim."""
    return SOURCES


@pytest.fixture(autouse=True)
def _no_user_mapping(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No mapping of the person who runs the tests gets in."""
    monkeypatch.setattr("airwork.recording.mapping.user_file", lambda: tmp_path / "none" / "recording-layouts.toml")
