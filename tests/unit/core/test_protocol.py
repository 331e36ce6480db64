"""The loader of the protocol file refuses what it does not wholly understand."""

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest

from server.core.errors import InvalidInput
from server.core.protocol import load
from server.review import PROTOCOL_FILE

TEXT = PROTOCOL_FILE.read_text(encoding="utf-8")
FREE = {
    # Prose, and names that no rule reads.
    *("$schema", "protocol", "title", "caution", "phases.title", "grade_words", "sources", "not_done_reasons"),
    *("steps.code", "steps.key_word", "steps.prompt", "steps.why", "steps.source", "steps.answers.label"),
    *("steps.answers.value", "steps.readback.label"),
    # Lists that say what there is; what others read of them is held by the names that read it.
    *("plan", "allergies", "steps.step", "steps.fields.name", "steps.fields.choices"),
}
Path = tuple[str | int, ...]


def texts(node: Any, path: Path = ()) -> Iterator[Path]:
    """The path of every text in the file."""
    if isinstance(node, str):
        yield path
    for key, child in node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ():
        yield from texts(child, (*path, key))


def name_of(path: Path) -> str:
    return ".".join(part for part in path if isinstance(part, str))


def set_at(path: Path, value: object) -> Any:
    """The file with the value at `path` replaced or added."""
    document = json.loads(TEXT)
    holder = document
    for part in path[:-1]:
        holder = holder[part]
    holder[path[-1]] = value
    return document


def is_free(path: Path) -> bool:
    name = name_of(path)
    return any(name == free or name.startswith(f"{free}.") for free in FREE)


NAMES = [path for path in texts(json.loads(TEXT)) if not is_free(path)]


def step_at(code: str) -> int:
    return [step["step"] for step in json.loads(TEXT)["steps"]].index(code)


def test_the_file_is_understood():
    assert load(json.loads(TEXT)).name == "phaco-cataract@1"


def test_every_name_that_a_rule_reads_must_be_one_that_the_file_holds():
    assert len(NAMES) > 500
    understood = []
    for path in NAMES:
        try:
            load(set_at(path, "unheard-of"))
        except InvalidInput:
            continue
        understood.append(path)
    assert understood == []


def test_no_object_may_hold_a_member_that_is_not_known():
    def objects(node: Any, path: Path = ()) -> Iterator[Path]:
        if isinstance(node, dict):
            yield path
        for key, child in node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ():
            yield from objects(child, (*path, key))

    open_ended = re.compile(r"sources|grades\.complication|unit_values\.(drugs|dyes)")
    paths = [path for path in objects(json.loads(TEXT)) if not open_ended.fullmatch(name_of(path))]
    assert len(paths) > 400
    for path in paths:
        with pytest.raises(InvalidInput):
            load(set_at((*path, "extra"), {}))


@pytest.mark.parametrize(
    "due",
    [
        True,
        [],
        ["xor", ["lit", True], ["lit", True]],
        ["==", ["lit", 1]],
        ["not", ["lit", True], ["lit", True]],
        ["lit", [1]],
        ["lit", None],
        ["ref", "weather"],
        ["ref", "torn", "x"],
        ["ref", "plan", "eyes"],
        ["ref", "fixed", "x"],
        ["ref", "last", "rhexes", "diameter_um"],
        ["ref", "last", "rhexis", "diameter"],
        ["count", ["ref", "records", "rhexes"], ["lit", True]],
        ["any", ["ref", "records", "rhexis"], ["ref", "it", "state"]],
        ["ref", "it", "state"],
        ["any", ["ref", "not_done", "rhexis"], ["lit", True]],
        ["==", ["ref", "plan", "eye"], ["lit", "both"]],
        ["==", ["lit", "wet"], ["ref", "last", "seal-check", "state"]],
        ["any", ["ref", "records", "seal-check"], ["==", ["ref", "it", "state"], ["lit", "wet"]]],
        ["in", ["lit", "tired"], ["ref", "not_done", "rhexis"]],
        ["or", ["lit", True], ["and", ["lit", True], ["not", ["ref", "x"]]]],
    ],
    ids=json.dumps,
)
def test_a_condition_that_is_not_wholly_understood_is_refused(due):
    with pytest.raises(InvalidInput) as refused:
        load(set_at(("steps", step_at("rhexis"), "due"), due))
    assert refused.value.where.endswith(f"steps[{step_at('rhexis')}].due")


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("agent", {"default": "iodine"}),
        ("agent", {"type": "text"}),
        ("contact_s", {"choices": ["one"]}),
        ("contact_s", {"default": "120"}),
        ("contact_s", {"name": "agent"}),
        ("contact_s", {"type": "text"}),
    ],
)
def test_a_field_whose_parts_do_not_fit_is_refused(field, change):
    step = json.loads(TEXT)["steps"][step_at("antiseptic")]
    at = [each["name"] for each in step["fields"]].index(field)
    with pytest.raises(InvalidInput):
        load(set_at(("steps", step_at("antiseptic"), "fields", at), {**step["fields"][at], **change}))
