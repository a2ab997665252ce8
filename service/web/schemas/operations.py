"""Long work, as JSON shows it."""

from service.core.operations import Kind, State
from service.web.kit.fields import Choice, Flag, Instant, Int, Nested, Text, Uuid
from service.web.kit.schema import Strict

_MOST = 2**53 - 1


class ProgressSchema(Strict):
    """How far it is. Costs count drawers unless drawers were given prices, then cents."""

    stage = Text(max_length=60, metadata={"description": "part of the work; the last ones take turns"})
    done_count = Int(min=0, max=1_000, required=True, metadata={"description": "parts begun"})
    total_count = Int(
        min=1, max=1_000, metadata={"description": "parts in all, as far as is known; left out: unknown"}
    )
    best = Int(min=0, max=_MOST, metadata={"description": "cost of the best plan so far"})
    at_least = Int(min=0, max=_MOST, metadata={"description": "what no plan goes below, as far as is known yet"})


class ResultSchema(Strict):
    """What came of it."""

    href = Text(max_length=2_000, required=True, metadata={"description": "where to read it"})


class OperationProblemSchema(Strict):
    """Why it came to nothing; see the problem type for what to do."""

    type = Text(max_length=200, required=True, metadata={"description": "the kind of problem, as in a refusal"})
    title = Text(max_length=200, required=True, metadata={"description": "the kind of problem in words"})
    detail = Text(max_length=2_000, required=True, metadata={"description": "what went wrong here"})


class OperationSchema(Strict):
    """Work that goes on after the request. Kept for 30 days after its end; its result stays for good."""

    id = Uuid(required=True)
    kind = Choice(Kind, required=True)
    state = Choice(State, required=True)
    progress = Nested(ProgressSchema, required=True, metadata={"description": "how far it is"})
    cancelling = Flag(required=True, metadata={"description": "somebody asked for it to end, and it is about to"})
    attempt = Int(min=0, max=1_000, required=True, metadata={"description": "how often a worker took it up"})
    result = Nested(ResultSchema, metadata={"description": "there once it has succeeded"})
    problem = Nested(OperationProblemSchema, metadata={"description": "there once it has failed"})
    created_at = Instant(required=True, metadata={"description": "when it was asked for"})
    started_at = Instant(metadata={"description": "when a worker first took it up; left out: none has yet"})
    finished_at = Instant(metadata={"description": "when it ended; left out: it goes on"})
