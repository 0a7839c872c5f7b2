"""The JSON Schema of the airplane file, for editors that complete and check TOML."""

from __future__ import annotations

from typing import Any

from airwork.airplane.file.model import AirplaneFile


def json_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of the airplane file, made from the models."""
    schema = AirplaneFile.model_json_schema(mode="validation")
    schema = _without_null(schema)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "airwork airplane file",
        **{key: value for key, value in schema.items() if key not in {"title", "$schema"}},
    }


def _without_null(node: Any) -> Any:
    """TOML has no null: an optional key is left out, so "or null" only clutters an editor's help."""
    if isinstance(node, list):
        return [_without_null(item) for item in node]
    if not isinstance(node, dict):
        return node
    options = node.get("anyOf")
    out = {key: _without_null(value) for key, value in node.items() if not (key == "default" and value is None)}
    if isinstance(options, list) and {"type": "null"} in options:
        rest = [_without_null(option) for option in options if option != {"type": "null"}]
        out.pop("anyOf")
        return {**rest[0], **out} if len(rest) == 1 else {**out, "anyOf": rest}
    return out
