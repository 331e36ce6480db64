"""Both command lines read the same files in the same order, from wherever they are started, and end the same way."""

from __future__ import annotations

import json
import subprocess

import pytest

from tests.fuzz.two_judges import PYTHON_JUDGE, ROOT, WEB_JUDGE

LENS = {"model": "AURA-1", "power_cdpt": 2150, "optic_um": 6000, "dry_state_hydrophilic": False}
PLAN = {"eye": "right", "anaesthesia": "topical", "red_reflex": "good", "lens": LENS, "drug": "cefuroxime"}
NAMES = (
    "b.json",
    "a.json",
    "Z.json",
    "10.json",
    "9.json",
    "é.json",
    "e\u0301.json",
    "😀.json",
    "\uff5e.json",
    "a b.json",
)
LEFT_OUT = (".hidden.json", "note.txt", "upper.JSON", "json", "a.json.bak")
WEB_FROM_ANYWHERE = ["npm", "--prefix", str(ROOT / "web"), "run", "--silent", "review", "--"]
USAGE = 2


@pytest.fixture
def folder(tmp_path):
    cases = tmp_path / "cases"
    (cases / "inner").mkdir(parents=True)
    (cases / "folder.json").mkdir()
    for name in (*NAMES, *LEFT_OUT, "inner/deep.json", "folder.json/deep.json"):
        (cases / name).write_text(json.dumps({"case": name, "plan": PLAN, "events": []}), encoding="utf-8")
    (tmp_path / "single.txt").write_text(json.dumps({"plan": PLAN, "events": []}), encoding="utf-8")
    return tmp_path


def run(command: list[str], arguments: list[str], cwd) -> tuple[int, bytes]:
    done = subprocess.run([*command, *arguments], cwd=cwd, capture_output=True, check=False)
    return done.returncode, done.stdout


def lines(arguments: list[str], cwd) -> list[dict[str, object]]:
    """What both say of these arguments; they say the same bytes and end with the same status."""
    answer = run(PYTHON_JUDGE, arguments, cwd)
    assert run(WEB_FROM_ANYWHERE, arguments, cwd) == answer
    found = [json.loads(line) for line in answer[1].splitlines()]
    assert answer[0] == int(any("problem" in line for line in found))
    return found


def test_a_folder_is_its_json_files_in_order_of_the_bytes_of_their_names(folder):
    assert [line["case"] for line in lines(["cases"], folder)] == sorted(NAMES, key=str.encode)


def test_a_file_is_read_whatever_its_name_and_a_missing_case_name_is_null(folder):
    assert [line["case"] for line in lines(["single.txt"], folder)] == [None]


def test_files_and_folders_are_mixed_in_name_order_and_each_is_read_once(folder):
    found = lines(["single.txt", "cases/b.json", "cases", "cases/b.json", "cases/inner"], folder)
    assert [line["case"] for line in found] == [*sorted([*NAMES, "inner/deep.json"], key=str.encode), None]


def test_a_closing_slash_changes_nothing(folder):
    assert lines(["cases/"], folder) == lines(["cases"], folder)


def test_a_path_that_is_not_there_gets_a_line_and_the_rest_goes_on(folder):
    found = lines(["nowhere.json", "cases/a.json", "cases/absent"], folder)
    assert [line.get("file") for line in found] == [None, "cases/absent", "nowhere.json"]
    assert all("expected" in line["problem"] for line in found[1:])


def test_an_empty_folder_says_nothing(folder):
    (folder / "empty").mkdir()
    assert lines(["empty"], folder) == []


def test_a_problem_names_the_file_as_it_was_typed(folder):
    (folder / "cases/a.json").write_text("{")
    [line] = lines(["./cases/a.json"], folder)
    assert line["file"] == "./cases/a.json"
    [line] = lines([str(folder / "cases/a.json")], folder)
    assert line["file"] == str(folder / "cases/a.json")


def test_open_may_stand_anywhere_among_the_arguments(folder):
    assert all(line["deviations"] == [] for line in lines(["cases", "--open"], folder))
    assert all(line["deviations"] == [] for line in lines(["--open", "cases"], folder))
    assert all(line["deviations"] != [] for line in lines(["cases"], folder))


@pytest.mark.parametrize("command", [PYTHON_JUDGE, WEB_JUDGE], ids=["python", "typescript"])
def test_without_a_path_both_say_how_they_are_used(command):
    done = subprocess.run(command, cwd=ROOT, capture_output=True, check=False)
    assert done.returncode == USAGE
    assert done.stdout == b""
    assert b"file or folder" in done.stderr
