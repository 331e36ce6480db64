"""Cases a second of both judges from the command line over 2,000 files, start-up not counted, on one core."""

import json
import os
import statistics
import subprocess
import tempfile
from datetime import date
from pathlib import Path

from seed_demo.story import Operation, operations, past_list_dates

ROOT = Path(__file__).resolve().parents[2]
FILES = 2000
RUNS = 3
PROMISED = 1000
COMMANDS = {
    "Python": [str(ROOT / ".venv" / "bin" / "hubheld"), "review"],
    "TypeScript": ["npm", "--prefix", str(ROOT / "web"), "run", "--silent", "review", "--"],
}


def run() -> bool:
    """Prints the figures; True where both judges keep what was promised."""
    print(f"Judges: {FILES} case files, {RUNS} runs, processor seconds of the command less those for one file")
    kept = True
    with tempfile.TemporaryDirectory() as folder:
        many, one = Path(folder) / "many", Path(folder) / "one"
        _write(many, FILES)
        _write(one, 1)
        answers = set()
        for name, command in COMMANDS.items():
            _seconds([*command, str(one)])  # builds and caches whatever the first start needs
            rates = []
            for _ in range(RUNS):
                start_s, _answer = _seconds([*command, str(one)])
                took_s, answer = _seconds([*command, str(many)])
                rates.append((FILES - 1) / (took_s - start_s))
                answers.add(answer)
            rate = statistics.median(rates)
            kept = kept and rate >= PROMISED
            print(f"  {name:10} {rate:8.0f} cases a second (promised: {PROMISED})")
        print(f"  both gave {'the same answer' if len(answers) == 1 else 'DIFFERENT ANSWERS'}")
    return kept and len(answers) == 1


def _seconds(command: list[str]) -> tuple[float, bytes]:
    """Processor seconds of a command with all its children, and what it printed."""
    before = os.times()
    done = subprocess.run(command, capture_output=True, check=True)
    after = os.times()
    used_s = after.children_user + after.children_system - before.children_user - before.children_system
    return used_s, done.stdout


def _write(folder: Path, count: int) -> None:
    folder.mkdir()
    told = [operation for day in past_list_dates(date(2026, 11, 25)) for operation in operations(day)]
    for number in range(count):
        text = json.dumps(_case_file(f"bench-{number}", told[number % len(told)]))
        (folder / f"{number:05}.json").write_text(text)


def _case_file(name: str, operation: Operation) -> dict[str, object]:
    taps = enumerate(operation.taps)
    events = [
        {**tap.event, "id": f"e{at}", "at_ms": 1000 * (tap.tapped_s - tap.ago_s), "entered_ms": 1000 * tap.tapped_s}
        for at, tap in taps
    ]
    return {"protocol": "phaco-cataract@1", "case": name, "plan": operation.plan, "events": events}
