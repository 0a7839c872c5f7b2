"""The JSON Schema of the airplane file, for editors that complete and check TOML."""

from __future__ import annotations

from typing import Any

from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import spellings


def json_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of the airplane file, made from the models."""
    schema = AirplaneFile.model_json_schema(mode="validation")
    schema = _without_null(schema)
    models = schema.get("$defs", {})
    for model in models.values():
        row = models.get(
            str(model.get("properties", {}).get("rows", {}).get("items", {}).get("$ref", "")).split("/")[-1]
        )
        if row is not None:  # what is the same in every row may stand once over them
            model["properties"] = {**row["properties"], **model["properties"]}
            row.pop("required", None)
    for model in (schema, *models.values()):
        _with_printed(model)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "airwork airplane file",
        **{key: value for key, value in schema.items() if key not in {"title", "$schema"}},
    }


def _with_printed(model: dict[str, Any]) -> None:
    """The other ways to print a key, and the table of bare rows under `columns`; the reader sees that one is given."""
    keys = model.get("properties")
    if not keys:
        return
    for key in list(keys):
        for name, unit in spellings(key):
            if name not in keys:
                keys[name] = {"description": f"{keys[key].get('description', key)}, {unit}"}
        if spellings(key) and key in model.get("required", []):
            model["required"].remove(key)
    if keys.get("rows", {}).get("type") == "array":
        bare = {"type": "array", "items": {"type": "array"}}
        keys["rows"] = {"anyOf": [{**keys["rows"]}, bare]}
        keys["columns"] = {
            "type": "array",
            "items": {"type": "string"},
            "description": "keys of the columns of bare rows",
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
