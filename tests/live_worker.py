"""One worker process, as `traybridge worker` starts it."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


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


def children_of(process: "subprocess.Popen[bytes]") -> list[int]:
    """The processes that it has started, by their numbers."""
    return [int(stat.parent.name) for stat in Path("/proc").glob("[0-9]*/stat") if _parent(stat) == process.pid]


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
