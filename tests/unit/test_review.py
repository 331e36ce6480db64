"""The two commands `review` answer alike: same lines, same order, same exit status, whatever the files are called."""

import json
import os
import subprocess
from pathlib import Path

import pytest

from server.review import main
from tests.support.clean_case import PLAN, STEPS

ROOT = Path(__file__).parents[2]


def case_file(name: str) -> str:
    events = [
        {"id": step, "type": "step", "step": step, "at_ms": at * 60_000, "entered_ms": at * 60_000, "value": value}
        for at, (step, value) in enumerate(STEPS)
    ]
    return json.dumps({"case": name, "plan": PLAN, "events": events}, ensure_ascii=False)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("b.json", "B.json", "é.json", ".hidden.json", "c.JSON", "note.txt"):
        (tmp_path / name).write_text(case_file(name), encoding="utf-8")
    (tmp_path / "folder.json").mkdir()
    (tmp_path / "cut.json").write_text('{"case": "c",\n', encoding="utf-8")
    (tmp_path / "bytes.json").write_bytes(b'"\xff"')
    Path(os.fsdecode(os.fsencode(tmp_path) + b"/z\xff.json")).write_text("[]", encoding="utf-8")
    (tmp_path / "broken.json").symlink_to("nowhere")
    (tmp_path / "ring.json").symlink_to("ring.json")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def server(capfdbinary: pytest.CaptureFixture[bytes], *words: str) -> tuple[int, list[dict[str, object]], bytes]:
    status = main(list(words))
    out = capfdbinary.readouterr().out
    return status, [json.loads(line) for line in out.splitlines()], out


def web(*words: str) -> tuple[int, bytes]:
    command = ["npm", "--prefix", str(ROOT / "web"), "run", "--silent", "review", "--", *words]
    done = subprocess.run(command, capture_output=True, check=False)
    return done.returncode, done.stdout


def test_a_folder_gives_its_own_case_files_in_the_order_of_the_bytes_of_their_names(folder, capfdbinary):
    status, lines, _ = server(capfdbinary, str(folder))
    names = [str(line.get("case", line.get("file"))).replace(f"{folder}/", "") for line in lines]
    assert names == ["B.json", "b.json", "bytes.json", "cut.json", "z\ufffd.json", "é.json"]
    assert status == 1


def test_a_file_that_cannot_be_judged_says_where_and_the_rest_goes_on(folder, capfdbinary):
    status, lines, _ = server(capfdbinary, "b.json", "bytes.json", "cut.json", "missing.json", "ring.json")
    assert status == 1
    assert [line.get("problem") for line in lines] == [
        None,
        "byte 1: found bytes that are not UTF-8, expected UTF-8",
        "line 2 column 1: found end of file, expected a name in double quotes",
        "file: found no such file, expected a case file",
        "file: found a file that cannot be read, expected a case file",
    ]


def test_open_leaves_out_what_is_not_yet_done(folder, capfdbinary):
    closed = server(capfdbinary, "b.json")
    assert closed[0] == 0
    assert [found["key"] for found in closed[1][0]["deviations"]] == ["surgeon-sign-off/omitted"]
    assert server(capfdbinary, "--open", "b.json")[1][0]["deviations"] == []


def test_a_line_is_compact_and_holds_its_members_in_one_order(folder, capfdbinary):
    _, _, out = server(capfdbinary, "é.json")
    assert out.decode() == (
        '{"case":"é.json","deviations":[{"step":"surgeon-sign-off","kind":"omitted","grade":"G2",'
        '"key":"surgeon-sign-off/omitted","caught":false,"detail":"no record"}],"flags":[],"unread":0,'
        '"hub_not_asked":0}\n'
    )


def test_without_a_file_the_command_says_what_it_needs(folder, capfdbinary):
    assert server(capfdbinary)[:2] == (2, [])


@pytest.mark.parametrize(
    "words",
    [
        ["."],
        ["./"],
        ["b.json", "./b.json", "b.json", "missing.json", "."],
        ["broken.json", "ring.json", "folder.json", "note.txt", ".hidden.json"],
        ["--open", "."],
        ["b.json", "--open"],
        [],
    ],
    ids=" ".join,
)
def test_both_commands_give_the_same_bytes_and_the_same_status(folder, capfdbinary, words):
    status, _, out = server(capfdbinary, *words)
    assert web(*words) == (status, out)
