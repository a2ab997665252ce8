"""The bank test in small, for every run of the tests; the whole of it is `make bench ARGS=bank`."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_workers_die_and_the_database_restarts_and_every_movement_is_there_exactly_once() -> None:
    command = [sys.executable, "-m", "benchmarks", "bank", "400", "16"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "every acknowledged movement is there exactly once, and no other" in done.stdout
