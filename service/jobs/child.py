"""A calculation in a process of its own, watched from the worker: its progress, its answer, and its end."""

import json
import os
import queue
import subprocess
import sys
import threading
from collections.abc import Mapping
from contextlib import suppress
from types import TracebackType
from typing import Any, Self

from service.jobs.calculating import SINGLE_THREADED
from service.jobs.limits import Limits

#: What the child says last when it ended without an answer: killed, or out of its time.
GONE: Mapping[str, Any] = {"gone": True}


class Child:
    """Runs from ``with`` to the end of its block, and not a moment longer."""

    def __init__(self, task: Mapping[str, Any], limits: Limits) -> None:
        self._task = {**task, "memory_bytes": limits.memory_bytes, "cpu_s": limits.seconds + limits.grace_s}
        self._said: queue.Queue[Mapping[str, Any]] = queue.Queue()

    def __enter__(self) -> Self:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "service.jobs.calculating"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, **SINGLE_THREADED},
            start_new_session=True,
        )
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()
        self._tell(json.dumps(self._task))
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None
    ) -> None:
        self._process.kill()
        self._process.wait()
        self._reader.join()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with suppress(BrokenPipeError):
                    pipe.close()

    def hear(self, within_s: float) -> Mapping[str, Any] | None:
        """What the child says next; ``None`` when it says nothing in that time."""
        try:
            return self._said.get(timeout=within_s)
        except queue.Empty:
            return None

    def ask_to_stop(self) -> None:
        """Let it come to an end with the best that it has."""
        self._tell("stop")

    def _tell(self, line: str) -> None:
        assert self._process.stdin is not None  # noqa: S101 - it was asked for
        try:
            self._process.stdin.write(line + "\n")
            self._process.stdin.flush()
        except BrokenPipeError:
            return  # It has ended, and what it said last tells how.

    def _read(self) -> None:
        assert self._process.stdout is not None  # noqa: S101 - it was asked for
        for line in self._process.stdout:
            self._said.put(json.loads(line))
        self._said.put(GONE)
