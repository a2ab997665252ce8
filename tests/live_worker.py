"""One worker process, as `traybridge worker` starts it."""

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

CHILD_WITHIN_S = 120


@contextmanager
def live_worker(
    database: str, *, seconds: int = 60, lost_after: float = 2, stop_within: float = 20
) -> "Iterator[subprocess.Popen[bytes]]":
    """A worker until the block ends, or until somebody kills it."""
    command = [sys.executable, "-m", "service.commands.one_worker", "--seconds", str(seconds), "--memory", "1024"]
    command += ["--lost-after", str(lost_after), "--stop-within", str(stop_within)]
    environment = {**os.environ, "DATABASE_URL": database}
    with subprocess.Popen(command, env=environment, start_new_session=True) as process:
        try:
            yield process
        finally:
            process.terminate()


def child_of(process: "subprocess.Popen[bytes]") -> int:
    """The number of the one process that it starts, which may be a moment after it said that it would."""
    give_up = time.monotonic() + CHILD_WITHIN_S
    while time.monotonic() < give_up:
        started = [
            int(stat.parent.name) for stat in Path("/proc").glob("[0-9]*/stat") if _parent(stat) == process.pid
        ]
        if started:
            (child,) = started
            return child
        time.sleep(0.02)
    raise AssertionError(f"The worker has started nobody within {CHILD_WITHIN_S} s.")


def _parent(stat: Path) -> int:
    try:
        return int(stat.read_text().rpartition(")")[2].split()[1])
    except OSError:  # It ended while we looked.
        return 0


def is_alive(number: int) -> bool:
    try:
        return Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0] not in "ZX"
    except OSError:
        return False
