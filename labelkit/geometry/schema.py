"""The published JSON Schema of layout files, made from the models that read them.

An editor can check a file with it as it is written. A file that extends another may leave
anything out, so the schema asks for the required keys only where ``extends`` is absent.
"""

import json
from typing import Any

from labelkit.geometry.format import LayoutFile

_WHOLE = "#/$defs/"
_PART = "#/$defs/part-"


def schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a layout file."""
    whole = LayoutFile.model_json_schema(mode="validation")
    tables = whole.pop("$defs")
    tables["LayoutFile"] = whole
    parts = {f"part-{name}": _without_required(table) for name, table in tables.items()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "labelkit layout",
        "description": "A layout definition; lengths in millimetres. See layouts/README.md.",
        "if": {"required": ["extends"]},
        "then": {"$ref": f"{_PART}LayoutFile"},
        "else": {"$ref": f"{_WHOLE}LayoutFile"},
        "$defs": dict(sorted({**tables, **parts}.items())),
    }


def schema_text() -> str:
    """The schema as it is published in ``layouts/layout.schema.json``."""
    return json.dumps(schema(), indent=1, ensure_ascii=False, sort_keys=True) + "\n"


def _without_required(node: Any) -> Any:
    """The same table with nothing required, its references to tables of the same kind."""
    if isinstance(node, dict):
        return {
            key: value.replace(_WHOLE, _PART) if key == "$ref" else _without_required(value)
            for key, value in node.items()
            if key != "required" or not isinstance(value, list)
        }
    return [_without_required(entry) for entry in node] if isinstance(node, list) else node
