"""The JSON Schema of the airplane file, for editors that complete and check TOML."""

from __future__ import annotations

from typing import Any

from airwork.airplane.file.model import AirplaneFile


def json_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of the airplane file, made from the models."""
    schema = AirplaneFile.model_json_schema(mode="validation")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "airwork airplane file",
        **{key: value for key, value in schema.items() if key not in {"title", "$schema"}},
    }
