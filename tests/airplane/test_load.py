"""The airplane file is read, or refused with a line that says where and why."""

from pathlib import Path

import pytest

from airwork.airplane import load_airplane


@pytest.mark.parametrize("name", ["larkmoor_155", "wrenbrook_108", "caldmere_200"])
def test_each_demo_airplane_loads_with_its_id(airplane_folder: Path, name: str) -> None:
    assert load_airplane(airplane_folder / f"{name}.toml").id == name
