"""Every shared vector of the judge gets exactly the answer that was worked out for it by hand."""

from __future__ import annotations

import base64
import collections
import json
import re
from typing import Any

import pytest

from server.core import protocol as protocol_file
from server.core import strict_json
from server.core.case_file import read as read_case_file
from server.core.errors import InvalidInput
from server.core.judge.deviation import Judgement
from server.core.judge.judge import judge
from tests.vectors.shared_files import JUDGE_VECTORS, PROTOCOL_FILE, read

PROTOCOL = protocol_file.load(read(PROTOCOL_FILE))
FILES = sorted(path for path in JUDGE_VECTORS.iterdir() if path.is_file())
VECTORS = [(path.stem, vector) for path in FILES for vector in read(path)["vectors"]]
MEMBERS = {"id", "reason", "source", "options", "input", "expect"}
VECTORS_MIN = 1300
KINDS_AND_GRADES = {
    "omitted": "G1 G2 G3",
    "out_of_order": "G1 G2 G3",
    "out_of_tolerance": "G1 G2 G3",
    "dose": "G2 G3 G4",
    "contraindicated": "G2 G3",
    "readback_mismatch": "G2 G3",
    "wrong_setting": "G1 G2",
    "hub_not_held": "G2 G3 G4",
    "substitution": "G1 G2 G3 G4",
    "count": "G2 G3 G4",
    "time_overrun": "G1",
    "equipment": "G1 G2",
    "contamination": "G2 G3",
    "complication": "G3 G4",
    "late_entry": "G1",
}


def content(given: dict[str, Any]) -> bytes:
    """The bytes of the file that a vector's input stands for."""
    [(form, value)] = given.items()
    if form == "case_file":
        return json.dumps(value, ensure_ascii=False).encode()
    return value.encode() if form == "text" else base64.b64decode(value)


def judged(vector: dict[str, Any]) -> Judgement:
    case_file = read_case_file(strict_json.parse(content(vector["input"])), PROTOCOL)
    options = vector["options"]
    return judge(case_file, PROTOCOL, is_open=options["open"], without_sign_off=options["without_sign_off"])


def answer(judgement: Judgement, like: dict[str, Any]) -> dict[str, Any]:
    """The answer as vectors state it; `detail` only where the vector states one."""
    with_detail = {row["key"] for row in like["deviations"] if "detail" in row}
    rows = []
    for found in judgement.deviations:
        row = {name: getattr(found, name) for name in ("step", "kind", "grade", "key", "caught")}
        rows.append({**row, "detail": found.detail} if found.key in with_detail else row)
    return {
        "deviations": rows,
        "flags": list(judgement.flags),
        "unread": judgement.unread,
        "hub_not_asked": judgement.hub_not_asked,
    }


@pytest.mark.parametrize("vector", [vector for _stem, vector in VECTORS], ids=lambda vector: vector["id"])
def test_vector(vector):
    assert set(vector) == MEMBERS, "a member that this runner does not know"
    expect = vector["expect"]
    if "problem" in expect:
        with pytest.raises(InvalidInput) as caught:
            judged(vector)
        assert caught.value.where == expect["problem"]["where"], vector["reason"]
    else:
        assert answer(judged(vector), expect["answer"]) == expect["answer"], vector["reason"]


def test_all_files_ran_and_how_many_vectors(capsys):
    assert all(path.suffix == ".json" for path in FILES), "a file that is not run"
    with capsys.disabled():
        print(f"\njudge vectors run by Python: {len(VECTORS)} in {len(FILES)} files")
    assert len(VECTORS) >= VECTORS_MIN


def test_ids_are_unique_and_named_after_their_file():
    ids = [vector["id"] for _stem, vector in VECTORS]
    assert [name for name, times in collections.Counter(ids).items() if times > 1] == []
    assert all(re.fullmatch(stem.replace("_", "-") + r"-\d{3}", vector["id"]) for stem, vector in VECTORS)


def test_each_reason_stands_once_in_its_file():
    reasons = collections.Counter((stem, vector["reason"]) for stem, vector in VECTORS)
    assert [reason for reason, times in reasons.items() if times > 1] == []


def test_every_kind_is_met_in_each_of_its_grades():
    met: dict[str, set[str]] = collections.defaultdict(set)
    for _stem, vector in VECTORS:
        for row in vector["expect"].get("answer", {"deviations": []})["deviations"]:
            met[row["kind"]].add(row["grade"])
    assert {kind: " ".join(sorted(grades)) for kind, grades in met.items()} == KINDS_AND_GRADES
