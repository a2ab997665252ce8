"""Let an outside fuzzer loose on the running service: every check that it knows, on every operation, within bounds.

    python tests/contract/fuzz.py [seed]

Two institutions have keys; the fuzzer works with the first one's, and what the second one owns is there to be found.
First it asks each operation by itself, mostly about things that are there; then it goes from answer to answer along
the contract's links. The seed makes a run repeatable; CI keeps one.
"""

import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent), str(HERE)]

from example_story import Teller  # noqa: E402 - the tests' own folder has to be found first
from live_service import live_service  # noqa: E402
from members import enter  # noqa: E402

from service.app import build  # noqa: E402
from service.store import embedded, migrate  # noqa: E402
from service.store.session import app_engine  # noqa: E402

BY_THEMSELVES = ("examples,coverage,fuzzing", "180")
ALONG_LINKS = ("stateful", "120")
EXAMPLES_EACH = "40"
#: Whose identifier each parameter holds; most of what is asked is about what is there, the rest about anything.
NAMED_BY = {
    "path.institution_id": "institution", "path.system_id": "system", "path.consignment_id": "consignment",
    "path.fit_check_id": "check", "path.plan_id": "plan", "path.operation_id": "operation",
    "path.transfer_id": "transfer", "path.permit_id": "permit", "path.exchange_id": "exchange",
    "query.consignment_id": "consignment", "query.borrower_system_id": "system", "query.lender_system_id": "system",
    "body.consignment_id": "consignment", "body.storage_system_id": "system",
}  # fmt: skip
LIKELY = 0.7


def main(seed: str) -> int:
    with tempfile.TemporaryDirectory(prefix="traybridge-fuzz-") as folder, embedded.running(Path(folder)) as url:
        migrate.upgrade(url)
        teller = _furnish(url)
        config = _config(Path(folder), teller.places)
        # The fuzzer is one address, and is to find more than the limit.
        os.environ["TRAYBRIDGE_QUESTIONS_PER_MINUTE"] = "1000000"
        with live_service(url, workers=2) as address:
            runs = [_fuzz(address, teller.member.key, config, seed, *run) for run in (BY_THEMSELVES, ALONG_LINKS)]
    return max(runs)


def _furnish(url: str) -> Teller:
    """Something of each kind, so that the fuzzer finds more than empty shelves, and who told it."""
    engine = app_engine(url)
    teller = Teller(build(engine), engine)
    for told in teller.tell():
        if told.step.operation == "list_fit_checks":
            break
    enter(engine, "neighbour", "Institution next door")
    engine.dispose()
    return teller


def _config(folder: Path, places: Mapping[str, str]) -> Path:
    """The fuzzer's settings, with the identifiers of what is there."""
    lines = [(HERE / "schemathesis.toml").read_text("utf-8"), "[dictionaries]"]
    lines += [f'{thing} = {{ values = ["{places[thing]}"] }}' for thing in sorted(set(NAMED_BY.values()))]
    lines += ["version = { values = ['\"1\"', '\"2\"'] }", "[parameters]"]
    named = NAMED_BY | {"header.If-Match": "version"}
    lines += [f'"{name}" = {{ dictionary = "{thing}", probability = {LIKELY} }}' for name, thing in named.items()]
    config = folder / "schemathesis.toml"
    config.write_text("\n".join(lines), "utf-8")
    return config


def _fuzz(address: str, key: str, config: Path, seed: str, phases: str, most_seconds: str) -> int:
    command = [
        *(sys.executable, "-m", "schemathesis.cli", "--config-file", str(config)),
        *("run", f"{address}/openapi.json", "--url", address),
        *("--header", f"Authorization: Bearer {key}", "--checks", "all", "--continue-on-failure"),
        # What is refused is asked of each operation by itself; along the links, what is taken.
        *(("--exclude-checks", "negative_data_rejection") if phases == "stateful" else ()),
        *("--phases", phases, "--max-examples", EXAMPLES_EACH, "--seed", seed),
        *("--workers", "1", "--max-time", most_seconds, "--suppress-health-check", "all"),
    ]
    hooks = {"SCHEMATHESIS_HOOKS": "fuzz_hooks", "PYTHONPATH": str(HERE)}
    return subprocess.run(command, check=False, cwd=tempfile.gettempdir(), env=os.environ | hooks).returncode


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1] if len(sys.argv) > 1 else "20261125"))
