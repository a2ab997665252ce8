"""One page for one question: who would take a drawer like this, before or after it is built?"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

import flask
from flask import Response
from marshmallow import ValidationError
from werkzeug.datastructures import MultiDict

from service.actions import builder as actions
from service.actions.builder import BuilderAnswer, BuilderQuestion
from service.core.builder.box import Sizes
from service.core.builder.changes import Change
from service.core.builder.cut import MOST_CUTS, Cut, changes_in_words, exact_mm, size_in_words, worth_in_words
from service.paper.builder_drawing import builder_drawing
from service.web.kit import rate
from service.web.kit.fields import Int
from service.web.kit.problems import Refusal, faults_in
from service.web.pages.reference import page, pages
from service.web.schemas.builder import AXES, NOTES, BuilderQuery, question_in
from service.web.schemas.consignment import MOST_CONTAINERS
from service.web.transaction import transaction

ADDRESS = "/build"
CUT_WORDS = {
    Cut.EIGHTH_INCH: "eighths of an inch",
    Cut.SIXTEENTH_INCH: "sixteenths of an inch",
    Cut.THIRTY_SECOND_INCH: "thirty-seconds of an inch",
    Cut.MILLIMETRE: "whole millimetres",
    Cut.HALF_MILLIMETRE: "half millimetres",
}
LABELS = {
    "width": "Width",
    "depth": "Depth",
    "height": "Height",
    "count": "How many there are already",
    "cut": "I cut to",
    "tray_width": "Tray width",
    "tray_depth": "Tray depth",
    "tray_height": "Tray height",
}


class BuildForm(BuilderQuery):
    """What the form asks: the builder's question, and how many drawers there are already."""

    count = Int(min=1, max=MOST_CONTAINERS)


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One change as the page tells it: what, what it is worth, the size after it, and the form filled in with it."""

    change: str
    worth: str
    taken_by: int
    size: str
    address: str


@pages.get(ADDRESS)
def ask_builder() -> Response:
    """The form, and below it the answer to what was filled in."""
    filled = MultiDict((name, text) for name, text in flask.request.args.items(multi=True) if text.strip())
    if not filled:
        return _form(filled)
    try:
        query = BuildForm().load_query(filled)
        rate.ask_no_more_than_others()
    except ValidationError as error:
        return _form(filled, 422, faults={fault.at: fault.detail for fault in faults_in(error.messages, "parameter")})
    except Refusal as refusal:
        answer = _form(filled, 429, refused=refusal.detail)
        answer.headers.update(refusal.headers)
        return answer
    return _form(filled, **_answered(query))


def _form(filled: Mapping[str, str], status: int = 200, **facts: Any) -> Response:
    shown = {"faults": {}, "refused": None, "answer": None} | facts
    response = page("build.html", filled=filled, labels=LABELS, cuts=CUT_WORDS, axes=AXES, **shown)
    response.status_code = status
    return response


def _answered(query: Mapping[str, Any]) -> dict[str, Any]:
    question, count = question_in(query), query.get("count")
    with transaction() as session:
        answer = actions.ask(session, question)
        homes = actions.homes_for(session, question.drawer, count) if count else None
    first = answer.drawer_changes[0] if answer.drawer_changes else None
    return {
        "answer": answer,
        "homes": homes,
        "size": " × ".join(size_in_words(nm, question.cut) for nm in question.drawer),
        "reach": exact_mm(answer.reach * question.cut.nm),
        "tray_reach": exact_mm((answer.tray_reach or 0) * question.cut.nm),
        "further": _further(answer, count),
        "changes": [_suggestion(change, question, count) for change in answer.drawer_changes],
        "tray_changes": [_suggestion(c, question, count, "tray_") for c in answer.tray_changes or ()],
        "drawing": builder_drawing(question.drawer, question.cut, first),
        "whose": _whose(answer),
        "notes": NOTES,
    }


def _whose(answer: BuilderAnswer) -> list[tuple[str, Any]]:
    """The lists of takers, each under what it is a list of."""
    lists = [("take it as it is", answer.as_it_is)]
    if answer.by_the_tray is not None:
        lists.append(("take its trays and not the drawer itself", answer.by_the_tray))
    return lists


def _filled(question: BuilderQuestion, count: int | None) -> dict[str, str]:
    """The form as this question would have filled it in."""
    filled = _sides("", question.drawer) | (_sides("tray_", question.tray) if question.tray else {})
    return filled | {"cut": question.cut.value} | ({"count": str(count)} if count else {})


def _sides(prefix: str, sizes: Sizes) -> dict[str, str]:
    return {f"{prefix}{axis}": exact_mm(nm) for axis, nm in zip(AXES, sizes, strict=True)}


def _further(answer: BuilderAnswer, count: int | None) -> str | None:
    """The same question, looking twice as far; ``None`` where that is as far as it goes."""
    question, cuts = answer.question, min(MOST_CUTS, 2 * answer.reach)
    if cuts <= answer.reach:
        return None
    return f"{ADDRESS}?{urlencode(_filled(question, count) | {'reach': exact_mm(cuts * question.cut.nm)})}"


def _suggestion(change: Change, question: BuilderQuestion, count: int | None, prefix: str = "") -> Suggestion:
    filled = _filled(question, count) | _sides(prefix, change.size)
    return Suggestion(
        changes_in_words(change, question.cut),
        worth_in_words(change),
        change.taken_by,
        " × ".join(size_in_words(nm, question.cut) for nm in change.size),
        f"{ADDRESS}?{urlencode(filled)}",
    )
