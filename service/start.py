"""The first moments of the `traybridge` command: while its parts are still being read, Ctrl-C ends it without a word.

Python itself would tell where in some library it was; who changes their mind in the first half second need not know.
"""

import signal
from types import FrameType


def main() -> None:
    """Read the command, and give it the word."""
    before = signal.signal(signal.SIGINT, _leave)
    from service.cli import main as command

    signal.signal(signal.SIGINT, before)
    command(prog_name="traybridge")


def _leave(number: int, _frame: FrameType | None) -> None:
    raise SystemExit(128 + number)


if __name__ == "__main__":
    main()
