"""Shared fixtures: where the invented airplanes are."""

from pathlib import Path

import pytest

import airwork

AIRPLANES = Path(airwork.__file__).parent / "demo_files" / "airplanes"


@pytest.fixture(scope="session")
def airplane_folder() -> Path:
    """Folder of the invented airplanes that ship with the demo."""
    return AIRPLANES
