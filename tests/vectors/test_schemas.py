"""Every shared file is of its schema, and the schemas refuse what they do not know."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any

import pytest

from tests.vectors.shared_files import JUDGE_VECTORS, PROTOCOL_FILE, SETTINGS_FILE, SHARED, read, validator

CLOSED = ("protocol", "settings", "vector")
SEEN_ONLY_BY_THE_READERS = (
    # Two places that have to fit together, or the text of the file: a schema cannot say it.
    "two contents under one id",
    "not a possible day",
    "of the corrected step",
    "names a correction",
    "not on the unit's list",
    "strength beside a chain in a correction",
)


def schema_objects(schema: Any) -> Iterator[dict[str, Any]]:
    """Yield every object schema that lists its members."""
    if isinstance(schema, dict):
        if "properties" in schema and schema.get("type") == "object":
            yield schema
        for child in schema.values():
            yield from schema_objects(child)
    elif isinstance(schema, list):
        for child in schema:
            yield from schema_objects(child)


def files() -> list[tuple[str, Any]]:
    vectors = [("vector", path) for path in sorted(JUDGE_VECTORS.glob("*.json"))]
    return [("protocol", PROTOCOL_FILE), ("settings", SETTINGS_FILE), *vectors]


@pytest.mark.parametrize(("schema", "path"), files(), ids=lambda value: getattr(value, "name", value))
def test_each_shared_file_is_of_its_schema(schema, path):
    problems = [f"{error.json_path}: {error.message}"[:300] for error in validator(schema).iter_errors(read(path))]
    assert problems == []


@pytest.mark.parametrize("name", CLOSED)
def test_closed_schemas_leave_no_object_open(name):
    objects = list(schema_objects(read(SHARED / f"schemas/{name}.schema.json")))
    assert len(objects) >= 2
    assert [item for item in objects if item.get("additionalProperties") is not False] == []


def test_the_protocol_schema_refuses_a_member_that_it_does_not_know():
    document = read(PROTOCOL_FILE)
    check = validator("protocol")
    for place in (
        [],
        ["steps", 0],
        ["steps", 5, "fields", 0],
        ["unit_values"],
        ["fixed"],
        ["order", 0],
        ["grades", "dose"],
    ):
        changed = copy.deepcopy(document)
        target = changed
        for name in place:
            target = target[name]
        target["surprise"] = 1
        assert not check.is_valid(changed), place


def test_the_case_schema_knows_the_fields_of_every_step():
    schema = read(SHARED / "schemas/case.schema.json")
    step_event = schema["$defs"]["event"]["allOf"][0]["then"]["allOf"]
    known = {
        rule["if"]["properties"]["step"]["const"]: set(rule["then"]["properties"]["value"]["properties"])
        for rule in step_event
    }
    assert known == {step["step"]: {field["name"] for field in step["fields"]} for step in read(PROTOCOL_FILE)["steps"]}


def test_case_files_of_the_vectors_are_of_the_case_schema_or_say_why_not():
    check = validator("case")
    vectors = [vector for path in sorted(JUDGE_VECTORS.glob("*.json")) for vector in read(path)["vectors"]]
    with_case = [vector for vector in vectors if "case_file" in vector["input"]]
    assert len(with_case) > 200
    wrong = []
    for vector in with_case:
        valid = check.is_valid(vector["input"]["case_file"])
        only_readers = any(words in vector["reason"] for words in SEEN_ONLY_BY_THE_READERS)
        if valid != ("answer" in vector["expect"]) and not (valid and only_readers):
            wrong.append(vector["id"])
    assert wrong == []
