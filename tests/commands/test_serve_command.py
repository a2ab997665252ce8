"""Serving at the terminal: what keeps it from starting, and that nothing is left of it afterwards."""

import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest
import requests
from live_service import free_port
from terminal import WITHIN_S, processes_about, running, seconds_to_stop, traybridge

STOPS_WITHIN_S = 10


def is_ready(address: str) -> bool:
    try:
        return requests.get(f"{address}/health/ready", timeout=2).ok
    except requests.RequestException:
        return False


def wait_for(happened: Callable[[], bool]) -> None:
    give_up = time.monotonic() + WITHIN_S
    while not happened():
        assert time.monotonic() < give_up
        time.sleep(0.01)


def test_a_port_in_use_is_told_before_anything_is_started(port_in_use: str, folder: Path) -> None:
    refused = traybridge("serve", "--port", port_in_use, TRAYBRIDGE_DATA=str(folder))
    assert refused.sentence == (
        f"Cannot listen on 127.0.0.1 port {port_in_use}: Address already in use; choose another with --port."
    )
    assert not folder.exists()


def test_an_address_that_this_machine_does_not_have_is_to_be_changed_by_host() -> None:
    """192.0.2.0/24 belongs to nobody (RFC 5737)."""
    refused = traybridge("serve", "--host", "192.0.2.1", "--port", str(free_port()))
    assert refused.sentence.endswith("choose another with --host.")


def test_a_database_that_nobody_migrated_is_not_served(empty_database: str) -> None:
    refused = traybridge("serve", "--port", str(free_port()), DATABASE_URL=empty_database)
    assert "run “traybridge migrate”" in refused.sentence


def test_a_database_that_cannot_be_reached_is_not_served() -> None:
    refused = traybridge("serve", "--port", str(free_port()), DATABASE_URL="postgresql://owner@127.0.0.1:1/x")
    assert refused.sentence.startswith("The database cannot be reached:")


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGHUP])
def test_the_service_and_its_private_database_stop_together(how: signal.Signals, kept_folder: Path) -> None:
    """Ctrl-C, and a terminal that is closed."""
    port = free_port()
    with running("serve", "--port", str(port), "--workers", "1", TRAYBRIDGE_DATA=str(kept_folder)) as process:
        wait_for(lambda: is_ready(f"http://127.0.0.1:{port}"))
        assert seconds_to_stop(process, how) < STOPS_WITHIN_S
        assert process.returncode == 0
        assert "Traceback" not in process.communicate()[0]
    assert processes_about(str(kept_folder)) == []
    assert processes_about(f"127.0.0.1:{port}") == []


def test_stopped_in_its_first_start_it_leaves_nothing_running_and_starts_again(folder: Path) -> None:
    with running("serve", "--port", str(free_port()), TRAYBRIDGE_DATA=str(folder)) as process:
        wait_for(lambda: bool(processes_about(str(folder))))
        assert seconds_to_stop(process, signal.SIGTERM) < STOPS_WITHIN_S
        assert "Traceback" not in process.communicate()[0]
    # What had just been begun may need a moment to find itself alone.
    wait_for(lambda: not processes_about(str(folder)))
    assert traybridge("migrate", TRAYBRIDGE_DATA=str(folder)).code == 0
