"""The `traybridge` command as an operator runs it: processes of their own, real signals, nothing in between."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass

import psutil

COMMAND = [sys.executable, "-m", "service.cli"]
#: Settings of whoever runs the tests must not reach the command that is tested.
OURS = ("DATABASE_URL", "APP_DATABASE_URL")
WITHIN_S = 60


@dataclass(frozen=True)
class Ended:
    """What a command left behind: its exit code, what it said, and what it said was wrong."""

    code: int
    said: str
    wrong: str

    @property
    def sentence(self) -> str:
        """The one sentence of a command that went wrong, after the names of the steps that it was at."""
        assert self.code == 1, self
        assert "Traceback" not in self.wrong
        *_, last = self.wrong.splitlines()
        return last.removeprefix("Error: ")


def environment(settings: Mapping[str, str]) -> dict[str, str]:
    kept = {
        name: value for name, value in os.environ.items() if name not in OURS and not name.startswith("TRAYBRIDGE_")
    }
    return {**kept, **settings}


def traybridge(*arguments: str, **settings: str) -> Ended:
    """Run a command to its end, with these settings and no others."""
    ran = subprocess.run(
        [*COMMAND, *arguments],
        env=environment(settings),
        capture_output=True,
        text=True,
        timeout=WITHIN_S,
        check=False,
    )
    return Ended(ran.returncode, ran.stdout, ran.stderr)


@contextmanager
def running(*arguments: str, **settings: str) -> Iterator["subprocess.Popen[str]"]:
    """A command that goes on by itself; whatever happens, it and all that it started are gone afterwards."""
    with subprocess.Popen(
        [*COMMAND, *arguments], env=environment(settings), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    ) as process:
        try:
            yield process
        finally:
            process.terminate()
            process.communicate(timeout=WITHIN_S)


def seconds_to_stop(process: "subprocess.Popen[str]", how: signal.Signals) -> float:
    """How long the command takes to end once it is told to."""
    begun = time.monotonic()
    process.send_signal(how)
    process.wait(WITHIN_S)
    return time.monotonic() - begun


def processes_about(word: str) -> list[str]:
    """The command lines of the running processes that mention ``word``, such as a folder or a port."""
    running = (" ".join(process.info["cmdline"] or ()) for process in psutil.process_iter(["cmdline"]))
    return [line for line in running if word in line]
