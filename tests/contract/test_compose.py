"""compose.yaml, read by a parser: no Docker engine is needed to see that it hangs together."""

from pathlib import Path

import pytest
import yaml

from service.working import FAREWELL_S, Spending

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def compose():
    return yaml.safe_load((ROOT / "compose.yaml").read_text())


def test_every_service_waited_for_exists_and_can_give_the_awaited_answer(compose):
    for name, service in compose["services"].items():
        for awaited, how in service.get("depends_on", {}).items():
            assert awaited in compose["services"], f"{name} waits for {awaited}"
            if how["condition"] == "service_healthy":
                assert compose["services"][awaited]["healthcheck"]["test"]


def test_every_volume_and_build_file_exists(compose):
    for service in compose["services"].values():
        for volume in service.get("volumes", []):
            assert volume.split(":")[0] in compose["volumes"]
        if "build" in service:
            assert (ROOT / service["build"]["dockerfile"]).is_file()
        assert "image" in service or "build" in service


def test_ports_are_open_to_this_machine_only(compose):
    ports = [port for service in compose["services"].values() for port in service.get("ports", [])]
    assert ports
    assert all(port.startswith("127.0.0.1:") for port in ports)


def test_the_database_answers_before_the_service_starts(compose):
    assert "pg_isready" in compose["services"]["db"]["healthcheck"]["test"][1]
    assert compose["services"]["service"]["depends_on"]["migrate"]["condition"] == "service_completed_successfully"
    assert compose["services"]["migrate"]["depends_on"]["db"]["condition"] == "service_healthy"


def test_workers_start_when_the_tables_are_there_and_have_time_to_give_their_work_back(compose):
    worker = compose["services"]["worker"]
    assert worker["command"][:2] == ["traybridge", "worker"]
    assert worker["depends_on"]["migrate"]["condition"] == "service_completed_successfully"
    assert worker["environment"] == compose["services"]["service"]["environment"]
    usual = Spending()
    assert int(worker["stop_grace_period"].removesuffix("s")) > usual.stop_within + FAREWELL_S
