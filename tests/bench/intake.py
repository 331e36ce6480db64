"""Entries a second of the intake, beside a loop that only parses, hashes, verifies and writes the same entries."""

import hashlib
import json
import sqlite3
import statistics
import tempfile
import time
from datetime import date
from pathlib import Path
from random import Random
from typing import Any

from seed_demo.load import tell
from seed_demo.story import past_list_dates
from seed_demo.tablet import ENTRIES_A_BATCH, Tablet
from seed_demo.unit import TIME_ZONE, UNIT, UNIT_NAME
from server.app import create_app, migrate
from server.config import in_folder
from server.core.crypto import jwk_of, sign_jws, verify_jws
from server.core.entry import ENTRY, REQUEST
from server.core.syncstate import Upload
from server.flows import authority, enrol, intake, units

LISTS = 5
RUNS = 3
NOW_MS = 1_800_000_000_000


def run() -> bool:
    """Prints both rates and their ratio; there is no promise to keep."""
    with tempfile.TemporaryDirectory() as folder:
        tablet, certificate = _told(Path(folder) / "made")
        batches = [tablet.sent[at : at + ENTRIES_A_BATCH] for at in range(0, len(tablet.sent), ENTRIES_A_BATCH)]
        print(f"Intake: {len(tablet.sent)} entries in batches of {ENTRIES_A_BATCH}, {RUNS} runs in turn, one process")
        floors, intakes = [], []
        for number in range(RUNS):
            floors.append(_floor(Path(folder) / f"floor-{number}.sqlite", batches, jwk_of(tablet.key)))
            intakes.append(_intake(Path(folder) / "made", Path(folder) / f"taken-{number}", batches, certificate))
        floor, taken = statistics.median(floors), statistics.median(intakes)
        print(f"  floor  {floor:8.0f} entries a second (parse, hash, verify, write; SQLite WAL, FULL)")
        print(f"  intake {taken:8.0f} entries a second (also: chain, texts, fold, judge, projections, receipt)")
        print(f"  ratio  {taken / floor:8.2f} of the floor")
    return True


def _told(data: Path) -> tuple[Tablet, str]:
    """A tablet that has told some lists and sent nothing, and its certificate."""
    app = create_app(in_folder(data))
    with app.app_context():
        migrate()
        signer = authority.load(in_folder(data))
        units.found_unit(signer, UNIT, UNIT_NAME, TIME_ZONE, "only for a benchmark", NOW_MS)
        tablet = Tablet("http://unused", Random(1))
        code = enrol.new_code(UNIT, NOW_MS)
        said = {"v": 1, "purpose": "enrol", "code": code, "device": tablet.device}
        proof = sign_jws(tablet.key, REQUEST, said)
        answer = enrol.enrol(signer, code, "bench", jwk_of(tablet.key), proof, NOW_MS)
        tablet.unit, tablet.certificate, tablet.server_jwk = UNIT, answer["certificate"], answer["server_jwk"]
    for day in past_list_dates(date(2026, 11, 25))[:LISTS]:
        tell(tablet, day, signer.protocol)
    return tablet, tablet.certificate


def _floor(path: Path, batches: list[list[dict[str, Any]]], jwk: dict[str, str]) -> float:
    database = sqlite3.connect(path)
    database.execute("PRAGMA journal_mode=WAL")
    database.execute("PRAGMA synchronous=FULL")
    database.execute("CREATE TABLE entry (seq INTEGER PRIMARY KEY, digest TEXT, jws TEXT)")
    bodies = [json.dumps(batch) for batch in batches]
    seq, start_s = 0, time.perf_counter()
    for body in bodies:
        rows = []
        for item in json.loads(body):
            json.loads(verify_jws(item["jws"], ENTRY, jwk))
            rows.append((seq, hashlib.sha256(item["jws"].encode()).hexdigest(), item["jws"]))
            seq += 1
        with database:
            database.executemany("INSERT INTO entry VALUES (?, ?, ?)", rows)
    took_s = time.perf_counter() - start_s
    database.close()
    return seq / took_s


def _intake(made: Path, data: Path, batches: list[list[dict[str, Any]]], certificate: str) -> float:
    """A fresh server with the same key: it takes the tablet back by its certificate."""
    data.mkdir()
    (data / "server_key.pem").write_bytes((made / "server_key.pem").read_bytes())
    app = create_app(in_folder(data))
    with app.app_context():
        migrate()
        signer = authority.load(in_folder(data))
        units.found_unit(signer, UNIT, UNIT_NAME, TIME_ZONE, "only for a benchmark", NOW_MS)
        first, start_s = 0, time.perf_counter()
        for batch in batches:
            intake.take_in(signer, Upload(certificate, first, batch), NOW_MS)
            first += len(batch)
        took_s = time.perf_counter() - start_s
    return first / took_s
