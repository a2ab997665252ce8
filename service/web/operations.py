"""Operations: long work, how far it is, and its end."""

from dataclasses import replace
from typing import Any
from uuid import UUID

from service.actions import operations as actions
from service.actions.operations import ASK_AGAIN_S
from service.store import operations as store
from service.store.paging import Age
from service.web.kit import paging
from service.web.kit.auth import current_actor
from service.web.kit.operation import Blueprint, Reply
from service.web.operation_answers import as_answer
from service.web.schemas.operations import OperationSchema
from service.web.transaction import transaction

operations = Blueprint(
    "operations",
    __name__,
    url_prefix="/v1/operations",
    description="Long work that goes on after the request: how far it is, what came of it, and how to end it.",
)
ONE = "/<uuid:operation_id>"


@operations.operation("GET", "", scope="read", query=paging.PageQuery, returns=paging.page_of(OperationSchema))
def list_operations(query: dict[str, Any]) -> Reply:
    """List your operations, the newest first.

    What goes on after its request: how far it is, and what came of it. It is listed for 30 days after its end.
    """
    page = paging.page(query, paging.BY_AGE)
    with transaction() as session:
        found = store.page(session, current_actor().own_institution(), page.position(Age), page.size)
    return page.answer(replace(found, items=tuple(map(as_answer, found.items))))  # type: ignore[arg-type]


@operations.operation(
    "GET", ONE, scope="read", returns=OperationSchema, headers={"Retry-After": "RetryAfterIfUnderWay"}
)
def get_operation(operation_id: UUID) -> Reply:
    """Ask how far an operation is.

    While it is not over, Retry-After says in how many seconds to ask again. When it has succeeded, `result` leads to
    what came of it.
    """
    with transaction() as session:
        found = store.by_id(session, current_actor().own_institution(), operation_id)
    return Reply(as_answer(found), headers={} if found.state.is_final else {"Retry-After": str(ASK_AGAIN_S)})


@operations.operation(
    "POST", ONE + "/cancellation", scope="write", returns=OperationSchema, errors=["operation-is-over"]
)
def cancel_operation(operation_id: UUID) -> Reply:
    """End an operation.

    What waits is over at once; what runs is over within a few seconds, and nothing comes of it.
    """
    with transaction() as session:
        return Reply(as_answer(actions.cancel(session, current_actor(), operation_id)))
