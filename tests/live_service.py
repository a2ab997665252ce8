"""The service as an operator starts it: its own command, its own processes, real HTTP."""

import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO

import requests

#: Generous: on a busy machine the libraries alone take half a minute to load.
START_WITHIN_S = 120


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def live_service(database: str, *, workers: int = 1) -> Iterator[str]:
    """The address of the service on this database, until the block ends."""
    address = f"http://127.0.0.1:{(port := free_port())}"
    command = [sys.executable, "-m", "service.cli", "serve", "--port", str(port), "--workers", str(workers)]
    environment = {**os.environ, "DATABASE_URL": database}
    # A file and no pipe: a pipe that nobody empties stops the service at its first 64 kB of log.
    with tempfile.TemporaryFile() as log, subprocess.Popen(command, env=environment, stderr=log) as process:
        try:
            _wait_until_ready(address, process, log)
            yield address
        finally:
            process.terminate()
            process.wait()


def _wait_until_ready(address: str, process: "subprocess.Popen[bytes]", log: IO[bytes]) -> None:
    give_up = time.monotonic() + START_WITHIN_S
    while time.monotonic() < give_up:
        if process.poll() is not None:
            log.seek(0)
            raise RuntimeError(f"The service ended: {log.read().decode()}")
        try:
            if requests.get(f"{address}/health/ready", timeout=2).ok:
                return
        except requests.RequestException:
            time.sleep(0.1)
    raise RuntimeError("The service did not get ready.")
