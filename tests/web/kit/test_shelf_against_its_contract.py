"""An outside judge asks the shelf thousands of questions, and holds every answer against the contract."""

from typing import Any
from uuid import uuid5

import schemathesis
from hypothesis import HealthCheck, Phase, settings
from schemathesis.config import SchemathesisConfig
from shelf import SPACE, Box, create_shelf

from service.core.measure.dimension import Dimension
from service.web.kit.install import LARGEST_BODY_BYTES

CONFIG = SchemathesisConfig.from_str("""
[checks.missing_required_header]
expected-statuses = [428]
[checks.positive_data_acceptance]
# A well-formed request may still name no box, a code that is taken, or a version that has passed.
expected-statuses = ["2xx", 304, 404, 409, 412]
[[operations]]
include-operation-id = "list_boxes"
# A cursor that the shelf did not make.
checks.positive_data_acceptance.expected-statuses = ["2xx", 422]
""")


def _shelf() -> Any:
    app, api = create_shelf()
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_BODY_BYTES
    box = Box("box-1", Dimension(1), id=uuid5(SPACE, "box-1"))
    app.extensions["shelf"].boxes[box.id] = box
    app.add_url_rule("/openapi.json", view_func=lambda: api.document())
    return app


schema = schemathesis.openapi.from_wsgi("/openapi.json", _shelf(), config=CONFIG)
judged = schema.exclude(operation_id=["have_accident", "refuse"])


@judged.parametrize()
@settings(
    max_examples=30,
    deadline=None,
    # The judge's own inventions are now and then no fault at all; the same ones in every run can be looked at.
    derandomize=True,
    suppress_health_check=list(HealthCheck),
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
)
def test_the_shelf_keeps_its_contract(case: schemathesis.Case) -> None:
    # Given with the call, so that the judge knows that this key is no invention of its own.
    case.call_and_validate(headers={"Authorization": "Bearer key-all"})
