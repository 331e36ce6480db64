"""The web client's folders import each other downwards only; everything not allowed here is forbidden."""

from __future__ import annotations

import posixpath
import re
from pathlib import Path

import pytest

from tests.architecture.source_files import ROOT, files_under

SRC = ROOT / "web" / "src"
ALLOWED = {
    "main": {"ui", "flows", "state", "device", "core", "shared"},
    "ui": {"ui", "flows", "state", "core"},
    "flows": {"flows", "state", "device", "core"},
    "state": {"state", "core"},
    "device": {"device", "core"},
    "sw": {"sw"},
    "review": {"review", "core", "shared"},
    "core": {"core"},
}
"""Folder of web/src (main: its composition root) and the folders that it may import."""
PACKAGES = {
    "preact": {"main", "ui"},
    "@preact/signals": {"main", "ui", "state"},
    "idb": {"device"},
    "node": {"review"},
}
"""Package and the folders that may import it."""
ONLY_IN = {
    r"\bfrom \"idb\"": "device/db.ts",
    r"\bDate\s*\.\s*now\b|\bnew\s+Date\s*\(\s*\)": "device/clock.ts",
    r"\bfetch\s*\(": ("device/", "sw/"),
}
"""What only one file, or the files of some folders, may do."""
IMPORT = re.compile(
    r"""(?:^|\n)\s*(?:import|export)\s[\w\s*{},$]*?from\s*["']([^"']+)["']"""
    r"""|(?:^|\n)\s*import\s*["']([^"']+)["']"""
    r"""|\bimport\(\s*["']([^"']+)["']\s*\)"""
)
SOURCES = files_under("web/src", ending=(".ts", ".tsx"))


def forbidden_imports(place: str, source: str) -> list[str]:
    """Return the imports of the module at `place` (below web/src) that its folder may not make."""
    imported = ["".join(groups) for groups in IMPORT.findall(source)]
    return [name for name in imported if not _may_import(place, name)]


def _may_import(place: str, name: str) -> bool:
    importer = _area_of(f"web/src/{place}")
    if not name.startswith("."):
        package = "node" if name.startswith("node:") else re.match(r"(@[^/]+/)?[^/]+", name)[0]
        return importer in PACKAGES.get(package, set())
    target = posixpath.normpath(posixpath.join("web/src", posixpath.dirname(place), name))
    return _area_of(target) in ALLOWED[importer]


def _area_of(path: str) -> str:
    """Return the folder of web/src that a path from the top lies in, "main", or its top folder."""
    inside = path.removeprefix("web/src/")
    if inside == path:
        return path.partition("/")[0]
    return inside.partition("/")[0] if "/" in inside else "main"


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.relative_to(SRC).as_posix())
def test_a_module_imports_downwards_only(path: Path):
    assert forbidden_imports(path.relative_to(SRC).as_posix(), path.read_text()) == []


@pytest.mark.parametrize(("pattern", "places"), ONLY_IN.items())
def test_what_one_place_may_do_no_other_does(pattern, places):
    doers = [path.relative_to(SRC).as_posix() for path in SOURCES if re.search(pattern, path.read_text())]
    assert [doer for doer in doers if not doer.startswith(places)] == []


@pytest.mark.parametrize(
    ("place", "source"),
    [
        ("core/judge/dose.ts", 'import { now } from "../../device/clock.ts";'),
        ("core/entry.ts", 'import { openDB } from "idb";'),
        ("core/entry.ts", 'export * from "../state/case.ts";'),
        ("core/entry.ts", 'import protocol from "../../../shared/protocol/phaco-cataract.json";'),
        ("ui/screens/review.tsx", 'import {\n  put,\n} from "../../device/db.ts";'),
        ("ui/screens/review.tsx", 'const db = await import("../../device/db.ts");'),
        ("state/case.ts", 'import { put } from "../device/log.ts";'),
        ("device/log.ts", 'import type { Case } from "../state/case.ts";'),
        ("flows/record.ts", 'import { render } from "preact";'),
        ("sw/index.ts", 'import { digest } from "../core/canonical.ts";'),
        ("review/main.ts", 'import "../ui/screens/review.tsx";'),
        ("main.tsx", 'import { readFileSync } from "node:fs";'),
    ],
)
def test_a_forbidden_import_is_found(place, source):
    assert len(forbidden_imports(place, source)) == 1


@pytest.mark.parametrize(
    ("place", "source"),
    [
        ("core/judge/dose.ts", 'import { exact } from "../quantity.ts";\nimport { a } from "./a.ts";'),
        ("main.tsx", 'import protocol from "../../shared/protocol/phaco-cataract.json";'),
        ("main.tsx", 'import { App } from "./ui/app.tsx";\nimport "./ui/look.css";'),
        ("ui/parts/slab.tsx", 'import { useSignal } from "@preact/signals";'),
        ("ui/parts/slab.tsx", 'import { useEffect } from "preact/hooks";\n'),
        ("review/main.ts", 'import { argv } from "node:process";'),
    ],
)
def test_an_allowed_import_is_left_in_peace(place, source):
    assert forbidden_imports(place, source) == []
