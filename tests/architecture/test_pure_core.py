"""Both cores are values in, values out: no clock, no chance, no input or output, no framework."""

from __future__ import annotations

import ast
import re

import pytest

from tests.architecture.source_files import files_under, shown

PURE_MODULES = {
    "__future__", "abc", "base64", "bisect", "binascii", "calendar", "collections", "csv", "dataclasses",
    "datetime", "decimal", "enum", "fractions", "functools", "hashlib", "heapq", "hmac", "io", "itertools",
    "json", "math", "operator", "re", "string", "types", "typing", "unicodedata", "uuid", "zoneinfo",
}  # fmt: skip
"""What server/core may import from the standard library."""
SIGNING_MODULE = "crypto.py"
"""The one module of server/core that may import the signing library."""
IMPURE_CALLS = {
    "open", "print", "input", "eval", "exec", "__import__", "breakpoint",
    "now", "utcnow", "today", "fromtimestamp", "uuid1", "uuid4", "urandom", "generate_private_key",
    "read_text", "read_bytes", "write_text", "write_bytes",
}  # fmt: skip
IMPURE_TYPESCRIPT = {
    "the clock": r"\bDate\s*\.\s*now\b|\bnew\s+Date\s*(\(\s*\)|[^(\s])|\bperformance\s*\.|\bDate\s*\(\s*\)",
    "chance": r"\bMath\s*\.\s*random\b|\bgetRandomValues\b|\brandomUUID\b|\bcrypto\s*\.\s*subtle\b",
    "the network": r"\bfetch\s*\(|\bXMLHttpRequest\b|\bWebSocket\b|\bEventSource\b|\bsendBeacon\b",
    "storage": r"\bindexedDB\b|\blocalStorage\b|\bsessionStorage\b|\bcaches\s*\.",
    "the page": r"\b(window|document|navigator|location|globalThis|self)\s*[.\[]",
    "a timer": r"\b(setTimeout|setInterval|queueMicrotask|requestAnimationFrame)\b",
    "the console or process": r"\b(console|process)\s*\.|\bimport\s*\.\s*meta\b",
}
PYTHON_CORE = files_under("server/core", ending=".py")
TYPESCRIPT_CORE = files_under("web/src/core", ending=(".ts", ".tsx"))


def impurities_in_python(name: str, source: str) -> list[str]:
    """Return what a module of server/core imports or calls that it must not."""
    faults = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            faults += [f"imports {alias.name}" for alias in node.names if not _is_pure(name, alias.name)]
        elif isinstance(node, ast.ImportFrom) and not _is_pure(name, node.module or "."):
            faults.append(f"imports {node.module}")
        elif isinstance(node, ast.Call) and _called(node.func) in IMPURE_CALLS:
            faults.append(f"calls {_called(node.func)}")
    return faults


def _is_pure(module: str, imported: str) -> bool:
    package = imported.partition(".")[0]
    if package == "cryptography":
        return module == SIGNING_MODULE
    return package in PURE_MODULES or imported == "server.core" or imported.startswith("server.core.")


def _called(function: ast.expr) -> str:
    if isinstance(function, ast.Attribute):
        return function.attr
    return function.id if isinstance(function, ast.Name) else ""


def impurities_in_typescript(source: str) -> list[str]:
    """Return which impure things the code (not the comments) of a module of web/src/core names."""
    code = re.sub(r"/\*.*?\*/|(?<!:)//[^\n]*", "", source, flags=re.DOTALL)
    return [what for what, pattern in IMPURE_TYPESCRIPT.items() if re.search(pattern, code)]


@pytest.mark.parametrize("path", PYTHON_CORE, ids=shown)
def test_python_core_is_pure(path):
    assert impurities_in_python(path.name, path.read_text()) == []


@pytest.mark.parametrize("path", TYPESCRIPT_CORE, ids=shown)
def test_typescript_core_is_pure(path):
    assert impurities_in_typescript(path.read_text()) == []


def test_both_cores_were_read():
    assert PYTHON_CORE
    assert TYPESCRIPT_CORE


@pytest.mark.parametrize(
    "source",
    [
        "import time",
        "import os.path",
        "from random import random",
        "import flask",
        "from server import store",
        "from server.store import log",
        "from cryptography.hazmat.primitives import hashes",
        "from . import errors",
        "import datetime\ndatetime.datetime.now(datetime.UTC)",
        "from datetime import date\ndate.today()",
        "open('a')",
        "import uuid\nuuid.uuid4()",
    ],
)
def test_an_impure_python_module_is_found(source):
    assert len(impurities_in_python("judge.py", source)) == 1


def test_the_signing_module_alone_may_import_the_signing_library():
    source = "from cryptography.hazmat.primitives import hashes"
    assert impurities_in_python(SIGNING_MODULE, source) == []


@pytest.mark.parametrize(
    "source",
    [
        "const now = Date.now();",
        "const now = new Date();",
        "const now = +new Date;",
        "const now = Date();",
        "const chance = Math.random();",
        "const id = crypto.randomUUID();",
        "await fetch('/api/v1/health');",
        "indexedDB.open('log');",
        "window.alert('x');",
        "document.title = 'x';",
        "globalThis['fetch'];",
        "setTimeout(go, 1);",
        "console.log(1);",
        "process.exit(1);",
    ],
)
def test_an_impure_typescript_module_is_found(source):
    assert len(impurities_in_typescript(source)) == 1


@pytest.mark.parametrize(
    "source",
    [
        "const day = new Date(atMs).toISOString();",
        "// Date.now() is not for here\nconst a = 1;",
        "/* fetch() neither */",
        "import { sha256 } from './crypto.ts';",
    ],
)
def test_pure_typescript_is_left_in_peace(source):
    assert impurities_in_typescript(source) == []
