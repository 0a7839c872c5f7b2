"""`airwork airplane schema`: the schema is one, and agrees with the loader."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

from airwork.cli import main


@pytest.fixture
def schema(capsys: pytest.CaptureFixture[str]) -> dict[str, object]:
    """What the command prints."""
    assert main(["airplane", "schema"]) == 0
    data: dict[str, object] = json.loads(capsys.readouterr().out)
    return data


def test_it_is_a_json_schema_that_the_invented_airplanes_fit(schema: dict[str, object], airplane_folder: Path) -> None:
    """The jsonschema library is the outside reference."""
    jsonschema.Draft202012Validator.check_schema(schema)
    for path in airplane_folder.glob("*.toml"):
        jsonschema.validate(tomllib.loads(path.read_text()), schema)


def test_it_refuses_what_the_loader_refuses(schema: dict[str, object], airplane_folder: Path) -> None:
    data = tomllib.loads((airplane_folder / "wrenbrook_108.toml").read_text())
    for table, key, value in (("airplane", "seats", "two"), ("engine", "torque", 3), ("propeller", "type", "folding")):
        broken = {**data, table: {**data[table], key: value}}
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(broken, schema)


def test_it_can_be_written_to_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "airplane.schema.json"
    assert main(["airplane", "schema", "--output", str(path)]) == 0
    assert json.loads(path.read_text())["title"] == "airwork airplane file"
    assert main(["airplane", "schema", "--output", str(tmp_path / "missing" / "x.json")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
