"""The judge in Python and the judge in TypeScript give the same bytes for thousands of random case files."""

from __future__ import annotations

import json

import pytest

from tests.fuzz.case_generator import case_files
from tests.fuzz.coverage import met, possible, table
from tests.fuzz.two_judges import PYTHON_JUDGE, WEB_JUDGE, review, shrunk, write_all

SEED = 20_261_125
CASES = 4_000
CASES_OPEN = 1_000
MET_MIN = 3
REFUSED_MIN = CASES // 25
JOIN = "Put the wrong judge right, then add the case with its whole answer to shared/vectors/judge/differed.json"


@pytest.fixture(scope="module")
def contents():
    return case_files(SEED, CASES)


@pytest.fixture(scope="module")
def folder(contents, tmp_path_factory):
    closed = tmp_path_factory.mktemp("cases")
    write_all(closed, contents)
    return closed


@pytest.fixture(scope="module")
def python_answer(folder):
    return review(PYTHON_JUDGE, folder)


def report(contents: list[bytes], one: bytes, other: bytes, *, is_open: bool) -> str:
    """Say which case differs first, in its smallest form, and what to do with it."""
    pairs = list(zip(one.splitlines(), other.splitlines(), strict=True))
    places = [number for number, (left, right) in enumerate(pairs) if left != right]
    first = places[0]
    small = shrunk(contents[first], is_open=is_open).decode(errors="backslashreplace")
    left, right = (line.decode() for line in pairs[first])
    return (
        f"{len(places)} of {len(pairs)} case files differ (seed {SEED}, first: number {first}, open: {is_open})\n"
        f"Python:     {left}\nTypeScript: {right}\nSmallest case: {small}\n{JOIN}"
    )


def test_both_judges_give_the_same_bytes_for_random_case_files(contents, folder, python_answer, capsys):
    status, answer = python_answer
    web_status, web_answer = review(WEB_JUDGE, folder)
    refused = answer.count(b'{"file":')
    with capsys.disabled():
        print(f"\n{len(contents)} random case files, seed {SEED}: {refused} refused, the others judged by both")
    if answer != web_answer:
        pytest.fail(report(contents, answer, web_answer, is_open=False))
    assert status == web_status == 1
    assert REFUSED_MIN < refused < CASES // 4


def test_both_judges_give_the_same_bytes_for_open_cases(contents, tmp_path):
    write_all(tmp_path, contents[:CASES_OPEN])
    _status, answer = review(PYTHON_JUDGE, tmp_path, is_open=True)
    _status, web_answer = review(WEB_JUDGE, tmp_path, is_open=True)
    if answer != web_answer:
        pytest.fail(report(contents[:CASES_OPEN], answer, web_answer, is_open=True))
    assert b'"kind":"omitted"' not in answer


def test_every_possible_step_kind_and_grade_is_met_by_the_random_cases(python_answer, capsys):
    counted = met(json.loads(line) for line in python_answer[1].splitlines())
    with capsys.disabled():
        print(f"\nmet of {len(possible())} possible steps, kinds and grades, with how often:\n{table(counted)}")
    assert sorted(triple for triple in possible() if counted[triple] < MET_MIN) == []
    assert set(counted) - possible() == set()


def test_the_same_seed_makes_the_same_case_files():
    assert case_files(7, 20) == case_files(7, 20)
    assert case_files(7, 20) != case_files(8, 20)
