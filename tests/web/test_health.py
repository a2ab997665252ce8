"""The two questions that whoever runs the service asks it."""

import pytest
from flask import Flask
from flask.testing import FlaskClient
from problem_assertions import assert_problem

from service.web.health import health
from service.web.kit.install import Contract, Hooks, install


class Ground:
    """What the service stands on."""

    fault: str | None = None


@pytest.fixture
def ground() -> Ground:
    return Ground()


@pytest.fixture
def client(ground: Ground) -> FlaskClient:
    app = Flask("health")
    hooks = Hooks(authenticate=lambda _: None, why_not_ready=lambda: ground.fault)
    install(app, hooks, Contract("Health", "1", "Health only.")).register_blueprint(health)
    return app.test_client()


@pytest.mark.parametrize("path", ["/health/alive", "/health/ready"])
def test_a_sound_service_says_so(client: FlaskClient, path: str) -> None:
    assert client.get(path).get_json() == {"status": "ok"}


def test_a_service_whose_database_lacks_a_migration_is_alive_and_not_ready(
    client: FlaskClient, ground: Ground
) -> None:
    ground.fault = "The database is at revision 0001 and needs 0002."
    assert client.get("/health/alive").status_code == 200
    response = client.get("/health/ready")
    assert assert_problem(response, 503, "not-ready")["detail"] == ground.fault
    assert int(response.headers["Retry-After"]) > 0
