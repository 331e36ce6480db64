"""No check is switched off anywhere, and nothing is put off."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.architecture.source_files import files_under, shown

SWITCHES = {
    "a type error ignored": (
        r"#\s*type:\s*ignore|@ts-(ignore|expect-error|nocheck)|\bas any\b|:\s*any\b(?=\s*[;,)=\]>|&])"
    ),
    "a lint rule switched off": r"#\s*noqa(?!: [A-Z]+\d+)|#\s*ruff:\s*noqa|(eslint|oxlint)-disable",
    "a test skipped": (
        r"\bmark\.(skip|skipif|xfail)\b|\bpytest\.(skip|xfail)\("
        r"|\b(it|test|describe)\.(skip|only|todo|fails)\b"
    ),
    "work put off": r"\b(TODO|FIXME|XXX|HACK)\b",
}
SOURCES = [
    path
    for path in files_under("server", "web", "seed_demo", "tests", ending=(".py", ".ts", ".tsx", ".mjs", ".css"))
    if path != Path(__file__)
]


def switched_off(source: str) -> list[str]:
    """Return the kinds of switched-off checks that the text of a module holds."""
    return [what for what, pattern in SWITCHES.items() if re.search(pattern, source)]


@pytest.mark.parametrize("path", SOURCES, ids=shown)
def test_no_check_is_switched_off(path):
    assert switched_off(path.read_text()) == []


@pytest.mark.parametrize(
    "source",
    [
        "x = f()  # type: ignore[misc]",
        "// @ts-expect-error\n",
        "const x = y as any;",
        "function f(x: any) {}",
        "import os  # noqa",
        "// oxlint-disable-next-line no-console",
        "@pytest.mark.skip\ndef test_a(): ...",
        "pytest.skip('later')",
        "it.only('a', () => {});",
        "# TODO: later",
    ],
)
def test_a_switched_off_check_is_found(source):
    assert len(switched_off(source)) == 1


@pytest.mark.parametrize("source", ["connect(uri)  # noqa: S310 the address is checked above", "many: anything"])
def test_a_reasoned_exception_to_one_rule_is_left_in_peace(source):
    assert switched_off(source) == []
