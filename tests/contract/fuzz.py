"""Let an outside fuzzer loose on the running service: every check that it knows, on every operation, within bounds.

    python tests/contract/fuzz.py [seed]

Two institutions have keys; the fuzzer works with the first one's, and what the second one owns is there to be found.
The seed makes a run repeatable; CI keeps one.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent), str(HERE)]

from example_story import Teller  # noqa: E402 - the tests' own folder has to be found first
from live_service import live_service  # noqa: E402
from members import enter  # noqa: E402

from service.app import build  # noqa: E402
from service.store import embedded, migrate  # noqa: E402
from service.store.session import app_engine  # noqa: E402

MOST_SECONDS = "240"
EXAMPLES_EACH = "40"


def main(seed: str) -> int:
    with tempfile.TemporaryDirectory(prefix="traybridge-fuzz-") as folder, embedded.running(Path(folder)) as url:
        migrate.upgrade(url)
        key = _furnish(url)
        # The fuzzer is one address, and is to find more than the limit.
        os.environ["TRAYBRIDGE_QUESTIONS_PER_MINUTE"] = "1000000"
        with live_service(url, workers=2) as address:
            return _fuzz(address, key, seed)


def _furnish(url: str) -> str:
    """Something of each kind, so that the fuzzer finds more than empty shelves; the key to work with."""
    engine = app_engine(url)
    teller = Teller(build(engine), engine)
    for told in teller.tell():
        if told.step.operation == "list_fit_checks":
            break
    enter(engine, "neighbour", "Institution next door")
    engine.dispose()
    return teller.member.key


def _fuzz(address: str, key: str, seed: str) -> int:
    command = [
        *(sys.executable, "-m", "schemathesis.cli", "--config-file", str(HERE / "schemathesis.toml")),
        *("run", f"{address}/openapi.json", "--url", address),
        *("--header", f"Authorization: Bearer {key}", "--checks", "all", "--continue-on-failure"),
        *("--phases", "examples,coverage,fuzzing", "--max-examples", EXAMPLES_EACH, "--seed", seed),
        *("--workers", "1", "--max-time", MOST_SECONDS, "--suppress-health-check", "all"),
    ]
    return subprocess.run(command, check=False, cwd=tempfile.gettempdir(), env=os.environ).returncode


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1] if len(sys.argv) > 1 else "20261125"))
