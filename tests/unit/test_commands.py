"""The command line does what its help says, refuses with the reason and never shows a trace."""

from __future__ import annotations

import csv
import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from server import commands
from server.core.theatre_list import HEADER
from tests.support.served_unit import UNIT, served_unit
from tests.support.tablet import Tablet

NINE_MS = 1_795_597_200_000  # 2026-11-25 09:00 in London
ROW = "theatre-2,2026-11-25,1,right,topical,good,AURA-1,21.50,6.0,no,cefuroxime,AB1C\r\n"
TOP = Path(__file__).parents[2]


@pytest.fixture
def data(tmp_path, monkeypatch):
    """The data folder of a server with one unit and one operation, and the environment that points at it."""
    with served_unit(tmp_path) as served:
        tablet = Tablet(served)
        tablet.operation("2026-11-25", "AB1C", NINE_MS, {"main-wound": {"width_um": 3200}})
        tablet.send(NINE_MS)
    monkeypatch.setenv("HUBHELD_DATA", str(tmp_path / "data"))
    return tmp_path


def type_in(monkeypatch, text):
    monkeypatch.setattr("sys.stdin", io.StringIO(text))


def test_week_writes_its_files_and_names_them(data, capsys):
    out = data / "new" / "folder"
    assert commands.main(["week", "--unit", UNIT, "--week", "2026-W48", "--out", str(out)]) == 0
    names = sorted(path.name for path in out.iterdir())
    assert names == [
        f"counts_{UNIT}_2026-W48_INTERNAL.csv", f"quality_{UNIT}_2026-W48_INTERNAL.csv", f"readme_{UNIT}_2026-W48.txt",
    ]  # fmt: skip
    assert capsys.readouterr().out.splitlines() == [str(out / names[index]) for index in (2, 0, 1)]
    with (out / names[0]).open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["events"] != "0"]
    assert [(row["step"], row["kind"], row["grade"]) for row in rows] == [("main-wound", "out_of_tolerance", "G1")]


def test_the_unit_may_be_left_out_where_there_is_one_only(data):
    assert commands.main(["week", "--week", "2026-W48", "--out", str(data / "out")]) == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["week", "--week", "2027-W53", "--out", "out"], "2027 has 52 weeks"),
        (["week", "--week", "48", "--out", "out"], "such as 2026-W48"),
        (["week", "--unit", "south", "--week", "2026-W48", "--out", "out"], "a unit that this server knows"),
        (["week", "--week", "2026-W48", "--out", __file__], "a folder to write to"),
        (["list", "import", "missing.csv"], "expected a CSV file"),
        (["list", "import", "."], "expected a CSV file"),
        (["enrol-code", "--unit", "south"], "a unit that this server knows"),
    ],
)
def test_what_cannot_be_done_is_refused_with_the_reason(data, monkeypatch, capsys, words, said):
    monkeypatch.chdir(data)
    assert commands.main(words) == 1
    captured = capsys.readouterr()
    assert captured.err.startswith("hubheld: ")
    assert said in captured.err
    assert captured.out == ""
    assert not (data / "out").exists()


def test_a_list_goes_in_from_a_file(data, capsys):
    file = data / "list.csv"
    file.write_text(",".join(HEADER) + "\r\n" + ROW, newline="")
    assert commands.main(["list", "import", str(file)]) == 0
    assert capsys.readouterr().out == "2026-11-25 theatre-2: 1 added, 0 changed, 0 taken off, 0 unchanged\n"


def test_every_bad_cell_of_a_list_is_named_in_its_own_line(data, capsys):
    file = data / "list.csv"
    file.write_text(",".join(HEADER) + "\r\n" + ROW.replace("right", "R") + ROW.replace("AB1C", "1234567"), newline="")
    assert commands.main(["list", "import", str(file)]) == 1
    lines = capsys.readouterr().err.splitlines()
    assert [line.partition(":")[0] for line in lines] == [
        "line 2, eye", "line 3, reference", "line 3, order", "hubheld",
    ]  # fmt: skip


def test_a_unit_and_its_people_are_made_at_the_command_line(data, monkeypatch, capsys):
    type_in(monkeypatch, "a brass bell rings\n")
    founding = ["unit", "found", "--unit", "south", "--name", "South", "--time-zone", "Asia/Kolkata"]
    assert commands.main(founding) == 0
    assert commands.main(founding) == 1
    type_in(monkeypatch, "SRG1,surgeon,493817\nRN01,recorder\n")
    assert commands.main(["person", "add", "--unit", "south"]) == 0
    said = capsys.readouterr().out
    assert "SRG1 added as surgeon" in said
    assert "493817" not in said


def test_secrets_are_no_arguments(data, monkeypatch, capsys):
    type_in(monkeypatch, "short\n")
    founding = ["unit", "found", "--unit", "south", "--name", "South", "--time-zone", "Europe/London"]
    assert commands.main(founding) == 1
    assert "at least 12" in capsys.readouterr().err


def test_an_enrolment_code_is_shown_once_for_reading_aloud(data, capsys):
    assert commands.main(["enrol-code"]) == 0
    code = capsys.readouterr().out.strip()
    assert len(code) == 11
    assert code[5] == "-"


def test_a_rebuild_says_how_many_cases_it_judged_again(data, capsys):
    assert commands.main(["rebuild"]) == 0
    assert capsys.readouterr().out == "1 cases folded and judged again\n"


def test_a_server_that_was_never_migrated_says_so(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("HUBHELD_DATA", str(tmp_path / "empty"))
    assert commands.main(["enrol-code"]) == 1
    assert "hubheld migrate" in capsys.readouterr().err
    assert commands.main(["migrate"]) == 0
    assert commands.main(["enrol-code"]) == 1
    assert "found 0 units" in capsys.readouterr().err


def test_review_starts_without_the_server_and_its_libraries(tmp_path):
    program = (
        "import sys; from server.cli import main; sys.argv = ['hubheld', 'review', sys.argv[1]]; main(); "
        "print(sorted({'flask', 'sqlalchemy', 'marshmallow', 'cryptography'} & set(sys.modules)))"
    )
    environment = {**os.environ, "PYTHONPATH": str(TOP)}
    done = subprocess.run(
        [sys.executable, "-c", program, str(tmp_path)], capture_output=True, text=True, env=environment, check=True
    )
    assert done.stdout == "[]\n"


def test_a_server_key_that_is_gone_is_said_without_a_trace(data, capsys):
    (data / "data" / "server_key.pem").unlink()
    assert commands.main(["enrol-code"]) == 1
    assert "server_key.pem" in capsys.readouterr().err
