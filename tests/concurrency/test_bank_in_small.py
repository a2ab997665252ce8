"""The bank test in small, for every run of the tests; the whole of it is ``python benchmarks/bank.py``."""

import subprocess
import sys
from pathlib import Path

BANK = Path(__file__).parents[2] / "benchmarks" / "bank.py"


def test_workers_die_and_the_database_restarts_and_every_movement_is_there_exactly_once() -> None:
    done = subprocess.run([sys.executable, str(BANK), "400", "16"], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "every acknowledged movement is there exactly once, and no other" in done.stdout
