"""Operations on their way out: what the schema dumps, and when to ask again."""

from typing import Any

from service.actions.operations import ASK_AGAIN_S
from service.core.operations import Kind, Problem
from service.store.operations import Operation
from service.web.kit.operation import Reply
from service.web.kit.problems import KINDS

#: Where the result of each kind of operation lives.
_RESULTS = {Kind.HOUSING_PLAN: "/v1/housing-plans", Kind.ARRANGEMENT_PLAN: "/v1/arrangement-plans"}


def as_answer(operation: Operation) -> dict[str, Any]:
    """What the schema of an operation dumps."""
    result = operation.result_id
    return {
        **{
            name: getattr(operation, name)
            for name in ("id", "kind", "state", "progress", "attempt", "created_at", "started_at", "finished_at")
        },
        "cancelling": operation.cancel_asked_at is not None and not operation.state.is_final,
        "result": None if result is None else {"href": f"{_RESULTS[operation.kind]}/{result}"},
        "problem": None if operation.problem is None else _problem(operation.problem),
    }


def _problem(problem: Problem) -> dict[str, str]:
    kind = KINDS[problem.kind]
    return {"type": f"/problems/{kind.slug}", "title": kind.title, "detail": problem.detail}


def accepted(operation: Operation) -> Reply:
    """202: the work goes on; this is where to ask, and in how many seconds."""
    headers = {"Retry-After": str(ASK_AGAIN_S)}
    return Reply(as_answer(operation), location=address(operation), status=202, headers=headers)


def address(operation: Operation) -> str:
    return f"/v1/operations/{operation.id}"
