"""Modules and functions stay small, and every module begins with the one job it has."""

from __future__ import annotations

import ast
import json
import textwrap

import pytest

from tests.architecture.source_files import ROOT, files_under, shown

FUNCTION_LINES_MAX = 60
MODULE_LINES_MAX = 400
PYTHON = files_under("server", "seed_demo", "tests", ending=".py")
TYPESCRIPT = files_under("web", ending=(".ts", ".tsx", ".mjs"))


def long_functions(source: str) -> list[str]:
    """Return `name: lines` of each function that is too long; docstrings are not counted."""
    functions = (
        node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    )
    lines = {node.name: node.end_lineno - node.lineno + 1 - _docstring_lines(node) for node in functions}
    return [f"{name}: {count}" for name, count in lines.items() if count > FUNCTION_LINES_MAX]


def _docstring_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    if ast.get_docstring(function) is None:
        return 0
    first = function.body[0]
    return first.end_lineno - first.lineno + 1


def lacks_first_line(name: str, source: str) -> bool:
    """Say whether a module does not begin with a sentence on its job; an empty package marker may."""
    if name == "__init__.py" and not source:
        return False
    if name.endswith(".py"):
        return not (ast.get_docstring(ast.parse(source)) or "").splitlines()
    return not source.startswith(("/**", "// "))


@pytest.mark.parametrize("path", PYTHON, ids=shown)
def test_python_functions_are_short(path):
    assert long_functions(path.read_text()) == []


@pytest.mark.parametrize("path", [*PYTHON, *TYPESCRIPT], ids=shown)
def test_modules_are_short_and_say_their_job_first(path):
    source = path.read_text()
    assert len(source.splitlines()) <= MODULE_LINES_MAX
    assert not lacks_first_line(path.name, source)


def test_the_web_linter_holds_the_same_limits():
    rules = json.loads((ROOT / "web/.oxlintrc.json").read_text())["rules"]
    assert rules["eslint/max-lines"] == ["error", {"max": MODULE_LINES_MAX}]
    assert rules["eslint/max-lines-per-function"][1]["max"] == FUNCTION_LINES_MAX


def test_a_function_of_61_lines_is_found_and_one_of_60_is_not():
    body = "    pass\n" * 59
    docstring = '    """One.\n\n    Two.\n    """\n'
    assert long_functions(f"def short():\n{docstring}{body}") == []
    assert long_functions(f"def long():\n{docstring}{body}    pass\n") == ["long: 61"]


@pytest.mark.parametrize(
    ("name", "source"), [("a.py", "import re\n"), ("a.py", ""), ("a.ts", "const a = 1;\n"), ("a.ts", "")]
)
def test_a_module_that_does_not_say_its_job_is_found(name, source):
    assert lacks_first_line(name, textwrap.dedent(source))
