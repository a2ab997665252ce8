"""Who changes their mind while the command is still being read gets their terminal back without a word."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

#: What the command reads early on; here it presses Ctrl-C in that very moment.
PRESSES_CTRL_C = "import os, signal\nos.kill(os.getpid(), signal.SIGINT)\nimport time\ntime.sleep(30)\n"


@pytest.mark.parametrize("command", ["demo", "serve"])
def test_ctrl_c_before_anything_has_begun_shows_no_traceback(tmp_path: Path, command: str) -> None:
    (tmp_path / "click.py").write_text(PRESSES_CTRL_C)
    path = os.pathsep.join([str(tmp_path), os.environ.get("PYTHONPATH", "")])
    ended = subprocess.run(
        [sys.executable, "-m", "service.start", command],
        env={**os.environ, "PYTHONPATH": path}, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert (ended.returncode, ended.stdout, ended.stderr) == (130, "", "")


def test_the_installed_command_begins_there() -> None:
    script = Path(sys.executable).parent / "traybridge"
    assert subprocess.run([script, "--version"], capture_output=True, check=True).stdout.startswith(b"traybridge")
    pyproject = (Path(__file__).parents[2] / "pyproject.toml").read_text("utf-8")
    assert 'traybridge = "service.start:main"' in pyproject
