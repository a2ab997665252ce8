"""Generate clients in Python and TypeScript from the contract, check their types, and let both tell the main story.

    python tests/clients/run.py

Everything generated goes to build/clients; nothing in it is written by hand, and none of it is kept.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
CONTRACT = ROOT / "openapi" / "openapi.yaml"
BUILD = ROOT / "build" / "clients"
sys.path[:0] = [str(HERE.parent)]

from live_service import live_service  # noqa: E402 - the tests' own folder has to be found first
from members import enter  # noqa: E402

from service.store import embedded, migrate  # noqa: E402
from service.store.session import app_engine  # noqa: E402

Command = list[str | Path]


def main() -> None:
    """Ends at the first command that fails, with its own words."""
    shutil.rmtree(BUILD, ignore_errors=True)
    python, typescript = in_python(), in_typescript()
    with tempfile.TemporaryDirectory(prefix="traybridge-clients-") as folder, embedded.running(Path(folder)) as url:
        migrate.upgrade(url)
        engine = app_engine(url)
        key = enter(engine, "ambleford", "Ambleford Museum").key
        engine.dispose()
        with live_service(url) as address:
            run([*python, address, key], PYTHONPATH=BUILD / "python")
            run([*typescript, address, key])


def in_python() -> Command:
    """The command that tells the story with a freshly generated Python client."""
    generator: Command = [Path(sys.executable).parent / "openapi-python-client", "generate", "--fail-on-warning"]
    where: Command = ["--meta", "none", "--output-path", BUILD / "python" / "traybridge_client"]
    (BUILD / "python").mkdir(parents=True)
    run([*generator, "--path", CONTRACT, "--config", HERE / "python.yaml", *where])
    story = HERE / "story.py"
    check: Command = ["--strict", "--follow-imports=silent", "--config-file", HERE / "mypy.ini"]
    run([sys.executable, "-m", "mypy", *check, story], MYPYPATH=BUILD / "python")
    return [sys.executable, story]


def in_typescript() -> Command:
    """The command that tells the story with freshly generated TypeScript types, which the compiler has checked."""
    tools, where = HERE / "node_modules" / ".bin", BUILD / "typescript"
    where.mkdir(parents=True)
    run([tools / "openapi-typescript", CONTRACT, "--output", where / "traybridge.d.ts"])
    shutil.copy(HERE / "story.ts", where)
    (where / "package.json").write_text('{"type": "module"}\n')
    (where / "node_modules").symlink_to(HERE / "node_modules")
    run([tools / "tsc", "--project", HERE / "tsconfig.json"])
    return ["node", where / "built" / "story.js"]


def run(command: Command, **environment: Path) -> None:
    """Run one step where the contract's own tools are found; its failure ends everything."""
    told = {**os.environ, **{name: str(value) for name, value in environment.items()}}
    if subprocess.run(command, check=False, cwd=HERE, env=told).returncode:
        raise SystemExit(f"This failed: {' '.join(map(str, command))}")


if __name__ == "__main__":
    main()
