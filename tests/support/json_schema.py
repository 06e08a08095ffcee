"""JSON against its schema, both ways: what an output holds that is not told, what is told that none holds.

Run as a program it writes the nested keys of the published schema anew from what the commands print; the
words of the top keys stay. Read what changed: `make schema`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

KINDS = {bool: "boolean", int: "number", float: "number", str: "string", list: "array", dict: "object"}
FREE = {"range": {".facts"}, "back": {".other_counts"}, "course drill": {".problems[].given"}}
"""By command where the keys are names out of the input, and no words of the tool."""


TEXTS = {"letters", "stays", "sunrise", "finished_at", "slope", "obstacle"}
LISTS_OF_TEXTS = {
    "questions",
    "remarks",
    "doubts",
    "notes",
    "sentences",
    "assumed",
    "unreached",
    "not_reached",
    "not_read",
}
NUMBERS = re.compile(
    r".*(?:_deg|_pct|_m|_share|_times|_count|_probability|_chance|_scale|_longer)|p_value|count|minutes"
)


def kind_of(value: Any) -> str:
    """The name that JSON Schema has for a value's type."""
    return "null" if value is None else KINDS[type(value)]


def wrong_with(value: Any, schema: dict[str, Any], path: str = "") -> list[str]:
    """Where a value is not what its schema says, and every key that the schema does not tell."""
    allowed = schema.get("type")
    if allowed is not None and kind_of(value) not in ([allowed] if isinstance(allowed, str) else allowed):
        return [f"{path}: {kind_of(value)} is not {allowed}"]
    found: list[str] = []
    if isinstance(value, dict):
        told, others = schema.get("properties", {}), schema.get("additionalProperties")
        found += [f"{path}.{key} is missing" for key in schema.get("required", ()) if key not in value]
        for key, one in value.items():
            if key in told or isinstance(others, dict):
                found += wrong_with(one, told.get(key, others), f"{path}.{key}")
            else:
                found.append(f"{path}.{key} is not told")
    elif isinstance(value, list):
        for one in value:
            found += wrong_with(one, schema.get("items", {"type": "told nowhere"}), f"{path}[]")
    return found


def keys_told(schema: dict[str, Any], path: str = "") -> set[str]:
    """Every key of a schema down to the leaves, as a path."""
    found: set[str] = set()
    for key, one in schema.get("properties", {}).items():
        found |= {f"{path}.{key}"} | keys_told(one, f"{path}.{key}")
    return found | (keys_told(schema["items"], f"{path}[]") if "items" in schema else set())


def keys_held(value: Any, path: str = "") -> set[str]:
    """Every key of a value down to the leaves, as a path."""
    if isinstance(value, dict):
        return {f"{path}.{key}" for key in value}.union(
            *(keys_held(one, f"{path}.{key}") for key, one in value.items())
        )
    return set().union(*(keys_held(one, f"{path}[]") for one in value)) if isinstance(value, list) else set()


def schema_of(values: Sequence[Any], free: Iterable[str] = (), path: str = "") -> dict[str, Any]:
    """The schema that several values share; what was never but null is told by its name, or is anything."""
    name = path.rpartition(".")[2]
    kinds = sorted({kind_of(value) for value in values})
    schema: dict[str, Any] = {}
    if kinds == ["null"] and (name in TEXTS or NUMBERS.fullmatch(name)):
        kinds = ["null", "string" if name in TEXTS else "number"]
    if kinds and kinds != ["null"]:
        schema["type"] = kinds[0] if len(kinds) == 1 else kinds
    objects = [value for value in values if isinstance(value, dict)]
    if objects and path in free:
        schema["additionalProperties"] = schema_of([one for value in objects for one in value.values()], free)
    elif objects:
        keys = list(dict.fromkeys(key for value in objects for key in value))
        schema["properties"] = {
            key: schema_of([value[key] for value in objects if key in value], free, f"{path}.{key}")
            for key in keys
        }
        schema["required"] = [key for key in keys if all(key in value for value in objects)]
    items = [one for value in values if isinstance(value, list) for one in value]
    if items:
        schema["items"] = schema_of(items, free, f"{path}[]")
    elif any(isinstance(value, list) for value in values):
        schema["items"] = {"type": "string"} if name in LISTS_OF_TEXTS else {}
    return schema


def _described(told: dict[str, Any], found: dict[str, Any]) -> dict[str, Any]:
    """A top key as it was told, with the nested keys that were found."""
    seen = {*_listed(found.get("type", []))}
    before = {*_listed(told["type"])}
    # What was told to be anything is what was found, or nothing.
    kinds = seen | {"null"} if len(before) == len(KINDS) - 1 and seen - {"null"} else before | seen
    nested = {key: one for key, one in found.items() if key != "type"}
    return {
        "type": sorted(kinds) if len(kinds) > 1 else kinds.pop(),
        "description": told["description"],
        **nested,
    }


def _listed(kinds: str | list[str]) -> list[str]:
    return [kinds] if isinstance(kinds, str) else kinds


def main() -> None:
    """Write the published schema anew."""
    import tempfile

    from support.json_keys import printed_objects

    path = Path(__file__).parents[2] / "src" / "pacewright" / "data" / "schema.json"
    published = json.loads(path.read_text(encoding="utf-8"))
    for command, printed in printed_objects(Path(tempfile.mkdtemp())).items():
        found = schema_of(printed, FREE.get(command, ()))
        told = published["$defs"].setdefault(command, {"type": "object", "properties": {}, "required": []})
        for key, one in found["properties"].items():
            before = told["properties"].get(key, {"type": one.get("type", "null"), "description": ""})
            told["properties"][key] = _described(before, one)
        told["required"] = sorted(found["required"])
    path.write_text(json.dumps(published, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
