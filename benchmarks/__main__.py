"""Runs the benchmarks: all of them one after the other, or the one that is named, with its own arguments.

    python -m benchmarks
    python -m benchmarks transfers 1000 100000

Times are of whatever machine this is; what counts is how they compare and how they grow, side by side in one run.
"""

import sys
from collections.abc import Sequence
from importlib import import_module

import click

#: One module each, in the order in which they run; ``main(arguments)`` takes what follows the name.
SUBJECTS = ("fit_checks", "builder", "transfers", "bank", "housing", "arrangement", "events", "papers", "imports")


def main(arguments: Sequence[str]) -> None:
    """Run what is named, or everything."""
    if arguments and arguments[0] not in SUBJECTS:
        raise SystemExit(f"There is no benchmark {arguments[0]}; there are: {', '.join(SUBJECTS)}.")
    for subject in arguments[:1] or SUBJECTS:
        click.secho(f"\n== {subject}", bold=True)
        import_module(f"benchmarks.{subject}").main(arguments[1:])


if __name__ == "__main__":
    main(sys.argv[1:])
