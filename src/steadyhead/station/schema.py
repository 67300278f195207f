"""The station file as JSON Schema, for editors and for programs that write such files."""

from __future__ import annotations

from typing import Any

from steadyhead.records.station import FORMAT, Station

DIALECT = "https://json-schema.org/draft/2020-12/schema"
IDENTITY = "urn:steadyhead:schema:station:1"


def schema() -> dict[str, Any]:
    """Return the JSON Schema of the station file (draft 2020-12).

    It describes the file's plain data. A file it refuses is refused by `load` too; `load` also refuses
    what a schema cannot say: unknown units, values out of range, ids used twice, taps that do not exist.

    Examples
    --------
    >>> schema()["$id"]
    'urn:steadyhead:schema:station:1'
    """
    made = Station.model_json_schema(mode="validation")
    head = {
        "$schema": DIALECT,
        "$id": IDENTITY,
        "title": "Station file",
        "description": (
            f"One pressure-reducing station, format {FORMAT}. Quantities are text with a unit; "
            "pressures are gauge at their own place unless they say 'bar a' or 'psia'."
        ),
    }
    body = {key: value for key, value in made.items() if key not in ("title", "description")}
    shared: dict[str, Any] = {}
    tidy: dict[str, Any] = _tidy({**head, **body}, shared)
    tidy["$defs"].update(sorted(shared.items()))
    return tidy


def _tidy(node: Any, shared: dict[str, Any], key: str = "") -> Any:
    """Drop generated titles, share the quantities, and let numbers be written as text, as the file does."""
    if isinstance(node, list):
        return [_tidy(item, shared) for item in node]
    if not isinstance(node, dict):
        return node
    if "x-quantity" in node:
        return _quantity(node, shared)
    inside = key in ("properties", "$defs")
    generated = not inside and "$id" not in node
    tidy = {
        name: _tidy(value, shared, name)
        for name, value in node.items()
        if not (generated and name == "title")
    }
    if not inside and tidy.get("type") == "number":
        tidy["type"] = ["number", "string"]
        tidy["pattern"] = r"^\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*$"
    return tidy


def _quantity(node: dict[str, Any], shared: dict[str, Any]) -> dict[str, Any]:
    """Return a reference to the shared form of this kind of quantity, with the limits of this field."""
    kind = node["x-quantity"]
    name = "quantity_" + kind
    text, stated = node["anyOf"]
    if name not in shared:
        of_text = {"$ref": f"#/$defs/{name}_text"}
        fields = {
            field: {**of_text, **{k: v for k, v in form.items() if k == "description"}}
            if field in ("value", "plus_minus")
            else form
            for field, form in stated["properties"].items()
        }
        fields["value"] = of_text
        shared[f"{name}_text"] = text
        shared[name] = {"x-quantity": kind, "anyOf": [of_text, {**stated, "properties": fields}]}
    limits = {k: v for k, v in node.items() if k not in ("anyOf", "title", "x-quantity")}
    return {"$ref": f"#/$defs/{name}", **limits}
