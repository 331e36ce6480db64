"""The top of the project, its lock files and its documents are as agreed."""

from __future__ import annotations

import json
import re

import pytest

from tests.architecture.source_files import ROOT, files_under, folders_under, shown

TOP = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "server",
    "web",
    "tests",
    "seed_demo",
    "shared",
}
PYTHON_LOCKS = ("server/requirements.txt", "server/requirements-node.txt", "tests/requirements.txt")
REGISTRIES = tuple(".".join(name) for name in (("pypi", "org"), ("pythonhosted", "org"), ("npmjs", "org")))
DEVELOPERS_LINES_MAX = 250
BINARY = (".png", ".ico", ".woff2", ".zip")


def test_nothing_but_the_agreed_names_and_dot_files_stands_at_the_top():
    assert {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} == TOP


@pytest.mark.parametrize("lock", PYTHON_LOCKS)
def test_every_package_of_a_python_lock_has_one_version_and_a_hash(lock):
    packages = re.split(r"\n(?=\S)", (ROOT / lock).read_text().strip())
    unlocked = [text for text in packages if "==" not in text or "--hash=sha256:" not in text]
    assert unlocked == []


def test_every_package_of_the_web_lock_has_a_hash_and_no_address():
    packages = json.loads((ROOT / "web/package-lock.json").read_text())["packages"]
    installed = {name: package for name, package in packages.items() if name}
    assert [name for name, package in installed.items() if "integrity" not in package] == []
    assert [name for name, package in installed.items() if "resolved" in package] == []


def test_no_file_holds_the_address_of_a_package_registry():
    texts = [path for path in files_under("") if not path.name.endswith(BINARY)]
    assert len(texts) > len(TOP)
    named = [shown(path) for path in texts if any(host in path.read_text() for host in REGISTRIES)]
    assert named == []


def test_the_developers_guide_names_every_folder():
    guide = (ROOT / "DEVELOPERS.md").read_text()
    folders = [shown(path) for path in folders_under("server", "web/src", "tests", "shared")]
    assert [folder for folder in folders if f"`{folder}/`" not in guide] == []


def test_the_developers_guide_stays_short_enough_to_be_read():
    assert len((ROOT / "DEVELOPERS.md").read_text().splitlines()) <= DEVELOPERS_LINES_MAX
