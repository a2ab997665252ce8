"""Nothing of the contract stays without words, however deep it lies."""

from copy import deepcopy
from typing import Any

import pytest

from service.web.kit.unsaid import unsaid

Json = dict[str, Any]

WHOLE: Json = {
    "paths": {
        "/boxes": {
            "parameters": [],
            "get": {"operationId": "list_boxes", "summary": "List the boxes.", "description": "By their codes."},
        }
    },
    "components": {
        "schemas": {
            "Box": {
                "description": "A box.",
                "properties": {
                    "code": {"type": "string", "description": "its name"},
                    "trays": {
                        "description": "in it",
                        "items": {"properties": {"count": {"type": "integer", "description": "how many"}}},
                    },
                    "width": {
                        "description": "side to side",
                        "oneOf": [{"type": "number"}, {"properties": {"value": {"description": "as stated"}}}],
                    },
                },
                "examples": [{"properties": {"code": {}}}],
            }
        }
    },
}


def without(*path: str | int) -> list[str]:
    """What is unsaid once the description at this place is gone."""
    document = deepcopy(WHOLE)
    place: Any = document
    for step in path:
        place = place[step]
    del place["description"]
    return list(unsaid(document))


def test_a_whole_document_leaves_nothing_unsaid() -> None:
    assert list(unsaid(WHOLE)) == []


def test_an_operation_says_more_than_its_summary() -> None:
    [gap] = without("paths", "/boxes", "get")
    assert gap.startswith("list_boxes:")


FIELDS = ("components", "schemas", "Box", "properties")


@pytest.mark.parametrize(
    ("path", "named"),
    [
        (("components", "schemas", "Box"), "Box"),
        ((*FIELDS, "code"), "Box.code"),
        ((*FIELDS, "trays"), "Box.trays"),
        ((*FIELDS, "trays", "items", "properties", "count"), "Box.trays.count"),
        ((*FIELDS, "width", "oneOf", 1, "properties", "value"), "Box.width.value"),
    ],
)
def test_every_field_says_what_it_means(path: tuple[str | int, ...], named: str) -> None:
    [gap] = without(*path)
    assert gap.startswith(f"{named}:")
