"""What the office does by hand at the command line: units, people, lists, codes, weeks, migrations, rebuilds.

Secrets are never arguments: they come in on standard input, or are asked for at a terminal.
"""

import argparse
import csv
import getpass
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeAlias

from server.app import create_app, migrate
from server.clock import now_ms
from server.config import from_environment
from server.core.errors import HubheldError, InvalidInput
from server.core.theatre_list import BadList
from server.flows import authority, enrol, lists, units, week
from server.flows.health import sole_unit
from server.flows.rebuild import rebuild_unit

Arguments = argparse.Namespace
Run = Callable[[Arguments], None]
Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def main(words: Sequence[str]) -> int:
    """Runs one subcommand: 0 done, 1 refused with the reason on standard error."""
    arguments = _parser().parse_args(words)
    try:
        app = create_app(from_environment())
        with app.app_context():
            arguments.run(arguments)
    except BadList as problem:
        for cell in problem.cells:
            _refuse(f"line {cell.line}, {cell.column}: found {cell.found}, expected {cell.expected}")
        _refuse("hubheld: the theatre list was not taken; nothing of it was kept")
        return 1
    except HubheldError as problem:
        _refuse(f"hubheld: {problem}")
        return 1
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="hubheld", description="A theatre record for cataract operations.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    commands.add_parser("review", help="judge case files: hubheld review [--open] FILE_OR_FOLDER…")
    _add(commands, "migrate", "bring the database to this version", _migrate)
    _add(commands, "rebuild", "make all judged cases again from the logs", _rebuild, unit=True)
    _add(commands, "enrol-code", "make a one-time code for a new tablet", _enrol_code, unit=True)
    weekly = _add(commands, "week", "write the files of one week", _week, unit=True)
    weekly.add_argument("--week", required=True, help="an ISO week such as 2026-W48")
    weekly.add_argument("--out", required=True, type=Path, help="the folder to write to")
    group = _group(commands, "list", "theatre lists")
    listing = _add(group, "import", "import theatre lists, a whole file or none", _import, unit=True)
    listing.add_argument("file", metavar="FILE.csv", type=Path)
    group = _group(commands, "unit", "units")
    founding = _add(group, "found", "found a unit; its passphrase comes in on standard input", _found)
    founding.add_argument("--unit", required=True, help="1 to 32 of a-z, 0-9 and -")
    founding.add_argument("--name", required=True)
    founding.add_argument("--time-zone", required=True, help="such as Europe/London")
    group = _group(commands, "person", "people of the unit")
    _add(group, "add", "add staff: lines of code,role,pin on standard input", _people, unit=True)
    return parser


def _group(commands: Commands, name: str, words: str) -> Commands:
    return commands.add_parser(name, help=words).add_subparsers(required=True, metavar="COMMAND")


def _add(commands: Commands, name: str, words: str, run: Run, unit: bool = False) -> argparse.ArgumentParser:
    parser = commands.add_parser(name, help=words)
    parser.set_defaults(run=run)
    if unit:
        parser.add_argument("--unit", help="may be left out where the server has one unit only")
    return parser


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")


def _refuse(line: str) -> None:
    sys.stderr.write(line + "\n")


def _unit(arguments: Arguments) -> str:
    named: str | None = arguments.unit
    return named if named is not None else sole_unit()


def _migrate(_arguments: Arguments) -> None:
    migrate()


def _rebuild(arguments: Arguments) -> None:
    cases = rebuild_unit(authority.load(from_environment()), _unit(arguments))
    _say(f"{cases} cases folded and judged again")


def _enrol_code(arguments: Arguments) -> None:
    _say(enrol.new_code(_unit(arguments), now_ms()))


def _week(arguments: Arguments) -> None:
    found = week.report(authority.load(from_environment()), _unit(arguments), arguments.week)
    try:
        arguments.out.mkdir(parents=True, exist_ok=True)
        for name, content in week.files(found).items():
            (arguments.out / name).write_bytes(content)
            _say(str(arguments.out / name))
    except OSError as problem:
        raise InvalidInput(str(problem.filename), problem.strerror or "no folder", "a folder to write to") from None


def _import(arguments: Arguments) -> None:
    try:
        data = arguments.file.read_bytes()
    except OSError as problem:
        raise InvalidInput(str(arguments.file), problem.strerror or "no file", "a CSV file") from None
    for done in lists.import_lists(authority.load(from_environment()), _unit(arguments), data, now_ms()):
        counts = f"{done.added} added, {done.changed} changed, {done.withdrawn} taken off, {done.unchanged} unchanged"
        _say(f"{done.date} {done.theatre}: {counts}")


def _found(arguments: Arguments) -> None:
    passphrase = _secret("Passphrase of the office: ")
    if len(passphrase) < units.PASSPHRASE_LEAST:
        raise InvalidInput("passphrase", f"{len(passphrase)} characters", f"at least {units.PASSPHRASE_LEAST}")
    signer = authority.load(from_environment())
    units.found_unit(signer, arguments.unit, arguments.name, arguments.time_zone, passphrase, now_ms())
    _say(f"unit {arguments.unit} founded")


def _people(arguments: Arguments) -> None:
    signer, unit = authority.load(from_environment()), _unit(arguments)
    for cells in csv.reader(sys.stdin):
        if len(cells) not in (2, 3):
            raise InvalidInput("standard input", f"{len(cells)} cells", "code,role or code,role,pin")
        pin = cells[2] if len(cells) == 3 and cells[2] else None
        units.add_person(signer, unit, units.NewPerson(cells[0], cells[1], pin), now_ms())
        _say(f"{cells[0]} added as {cells[1]}")


def _secret(question: str) -> str:
    return getpass.getpass(question) if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
