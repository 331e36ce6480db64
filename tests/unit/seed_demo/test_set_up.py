"""The set-up makes what is missing, makes nothing twice, and says clearly what it cannot do."""

from __future__ import annotations

import socket
import sys
from pathlib import Path

import pytest

from seed_demo import environment
from seed_demo.environment import digest, is_new_enough, stamped
from seed_demo.progress import SetupProblem, run
from seed_demo.serving import LOOPBACK, check_port, free_port
from tests import __main__ as command


class Making:
    """Stands for one part that the set-up makes: writes the product and counts how often."""

    def __init__(self, product: Path) -> None:
        self.product = product
        self.times = 0

    def __call__(self) -> None:
        self.times += 1
        self.product.write_text("made")


@pytest.fixture
def making(tmp_path, monkeypatch):
    monkeypatch.setattr(environment, "STAMPS", tmp_path / "stamps")
    return Making(tmp_path / "product")


def test_a_part_is_made_once_from_the_same(making):
    stamped("part", "from a", making.product, making)
    stamped("part", "from a", making.product, making)
    assert making.times == 1


def test_a_part_is_made_again_from_something_else(making):
    stamped("part", "from a", making.product, making)
    stamped("part", "from b", making.product, making)
    assert making.times == 2


def test_a_part_is_made_again_when_it_is_gone(making):
    stamped("part", "from a", making.product, making)
    making.product.unlink()
    stamped("part", "from a", making.product, making)
    assert making.times == 2


def test_a_part_whose_making_failed_is_made_again(making):
    def fail() -> None:
        making.product.write_text("half")
        raise SetupProblem("cut off")

    with pytest.raises(SetupProblem):
        stamped("part", "from a", making.product, fail)
    stamped("part", "from a", making.product, making)
    assert making.times == 1


def test_the_digest_tells_contents_names_and_words_apart(tmp_path):
    one, two = tmp_path / "one", tmp_path / "two"
    one.write_text("a")
    two.write_text("a")
    assert len({digest([one]), digest([two]), digest([one, two]), digest([one], "a")}) == 4


@pytest.mark.parametrize(
    ("version", "enough"),
    [
        ("v18.20.4", False),
        ("v20.18.9", False),
        ("v20.19.0", True),
        ("v21.7.3", False),
        ("v22.11.0", False),
        ("v22.12.0", True),
        ("v24.0.0", True),
    ],
)
def test_node_is_used_from_20_19_and_from_22_12_on(version, enough):
    assert is_new_enough(version) is enough


def test_a_command_that_fails_is_named_with_its_last_words(tmp_path):
    failing = [sys.executable, "-c", "print('the disk is full'); raise SystemExit(3)"]
    with pytest.raises(SetupProblem, match=r"(?s)'Filling' failed with status 3.*the disk is full"):
        run("Filling", failing, folder=tmp_path)


def test_colour_codes_are_left_out_of_what_a_command_printed(tmp_path):
    assert run("Painting", [sys.executable, "-c", r"print('\x1b[31mred\x1b[0m')"], folder=tmp_path) == "red\n"


def test_a_step_over_two_seconds_says_that_it_goes_on(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("seed_demo.progress.QUIET_S", 0.3)
    run("Waiting", [sys.executable, "-c", "import time; time.sleep(0.8)"], folder=tmp_path)
    assert [line.split(",")[0] for line in capsys.readouterr().out.splitlines()][:2] == ["  Waiting", "    still going"]


def test_a_port_in_use_is_named_with_what_to_do():
    with socket.socket() as listener:
        listener.bind((LOOPBACK, 0))
        listener.listen()
        port = listener.getsockname()[1]
        with pytest.raises(SetupProblem, match=rf"Port {port} cannot be used.*--port"):
            check_port(port)


def test_a_free_port_passes():
    check_port(free_port())


def test_the_test_command_goes_on_after_a_failure_and_fails_at_the_end(capsys):
    outcomes = [command.Outcome("first", False, 0.1), command.Outcome("second", True, 0.1)]
    assert command.summary(outcomes) == 1
    assert "FAILED" in capsys.readouterr().out
    assert command.summary(outcomes[1:]) == 0
