"""Whether the service runs, and whether it can answer."""

from enum import StrEnum

import flask

from service.web.kit.fields import Choice
from service.web.kit.operation import Blueprint
from service.web.kit.problems import Refusal
from service.web.kit.schema import Strict

health = Blueprint(
    "health", __name__, url_prefix="/health", description="Whether the service runs, and whether it can answer."
)


class Health(StrEnum):
    OK = "ok"


class HealthSchema(Strict):
    """How the service is."""

    status = Choice(Health, required=True, metadata={"description": "always ok; otherwise the answer is a refusal"})


@health.operation("GET", "/alive", scope="public", returns=HealthSchema)
def is_alive() -> dict[str, str]:
    """Say that the process runs.

    Nothing else is asked: restart the process when this fails.
    """
    return {"status": Health.OK}


@health.operation("GET", "/ready", scope="public", returns=HealthSchema, errors=["not-ready"])
def is_ready() -> dict[str, str]:
    """Say whether requests can be answered now.

    The database can be reached and has every migration. Send no requests here while this fails.
    """
    reason = flask.current_app.extensions["kit"].why_not_ready()
    if reason is not None:
        raise Refusal("not-ready", reason)
    return {"status": Health.OK}
