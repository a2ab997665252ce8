"""Worker processes: started together, replaced when one dies, and stopped so that nothing is lost."""

import os
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass

#: What a worker needs beyond its own time to stop: to give its work back, and to say goodbye to the database.
FAREWELL_S = 10
_LOOK_EVERY_S = 0.5


@dataclass(frozen=True, slots=True)
class Spending:
    """What one operation may take, and when a worker counts as lost; times in seconds."""

    seconds: int = 600
    memory_mib: int = 1_024
    lost_after: float = 30
    stop_within: float = 20

    @property
    def options(self) -> list[str]:
        return [
            *("--seconds", str(self.seconds), "--memory", str(self.memory_mib)),
            *("--lost-after", str(self.lost_after), "--stop-within", str(self.stop_within)),
        ]


class Workers:
    """Some worker processes on one database."""

    def __init__(self, environment: Mapping[str, str], count: int, spending: Spending) -> None:
        self._environment, self._spending = {**os.environ, **environment}, spending
        self._processes = [self._start() for _ in range(count)]

    def _start(self) -> "subprocess.Popen[bytes]":
        # A session of its own: Ctrl-C reaches us alone, and we tell the workers in our own time.
        return subprocess.Popen(  # noqa: S603 - our own module
            [sys.executable, "-m", "service.commands.one_worker", *self._spending.options],
            env=self._environment,
            start_new_session=True,
        )

    def look_after(self) -> None:
        """Replace every worker that has ended; its work is taken up by another."""
        time.sleep(_LOOK_EVERY_S)
        self._processes = [each if each.poll() is None else self._start() for each in self._processes]

    def stop(self) -> None:
        """Let each finish what it is at, or give it back when its time to stop is up."""
        for each in self._processes:
            each.terminate()
        until = time.monotonic() + self._spending.stop_within + FAREWELL_S
        for each in self._processes:
            try:
                each.wait(max(0.1, until - time.monotonic()))
            except subprocess.TimeoutExpired:
                each.kill()
                each.wait()


@contextmanager
def workers_running(environment: Mapping[str, str], count: int, spending: Spending) -> Iterator[Workers]:
    """Workers for as long as the block."""
    workers = Workers(environment, count, spending)
    try:
        yield workers
    finally:
        workers.stop()
