"""A server on a fresh embedded database with one founded unit, for tests of flows, API and command line."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from flask import Flask

from server.app import create_app, migrate
from server.config import Config, in_folder
from server.flows import authority
from server.flows.authority import Authority
from server.flows.units import found_unit
from server.store.database import db

UNIT = "north-eye"
TIME_ZONE = "Europe/London"
PHRASE = "a quiet harbour at dawn"
FOUNDED_MS = 1_790_000_000_000
"""2026-09-21, before everything that the tests record."""


@dataclass(frozen=True)
class ServedUnit:
    """The app, its settings and its signing authority; an app context is open while it is in use."""

    app: Flask
    config: Config
    authority: Authority


@contextmanager
def served_unit(folder: Path) -> Iterator[ServedUnit]:
    """Open a server whose data lie in `folder`, with the unit UNIT and nothing else."""
    data = folder / "data"
    data.mkdir()
    for name, content in _founded().items():
        (data / name).write_bytes(content)
    config = in_folder(data)
    app = create_app(config)
    with app.app_context():
        try:
            yield ServedUnit(app, config, authority.load(config))
        finally:
            db.engine.dispose()


@cache
def _founded() -> dict[str, bytes]:
    """The files of a server that was migrated and founded once; each test works on a copy."""
    with tempfile.TemporaryDirectory() as folder:
        config = in_folder(Path(folder))
        app = create_app(config)
        with app.app_context():
            migrate()
            signer = authority.load(config)
            found_unit(signer, UNIT, "North eye unit (invented)", TIME_ZONE, PHRASE, FOUNDED_MS)
            db.engine.dispose()
        return {file.name: file.read_bytes() for file in Path(folder).iterdir()}
