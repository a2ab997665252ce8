"""Does a storage box stand on one of the receiver's shelves for boxes?"""

from service.core.fit.case import Case
from service.core.fit.comparing import GEOMETRY, Side, Trial, missing_from, outcome_of_all, sentences
from service.core.fit.findings import Finding, Outcome
from service.core.fit.slot import outer_side
from service.core.standards import BoxShelf


def box_on_shelf_rule(case: Case, shelf: BoxShelf, turned: bool) -> tuple[Finding, ...]:
    """One box on one shelf, one way round."""
    trials = tuple(
        Trial(outer_side(case.line, ours, case.asks(f"outer.{ours}")), _clear_side(shelf, theirs), theirs)
        for ours, theirs in zip(
            ("depth", "width", "height") if turned else ("width", "depth", "height"),
            ("width", "depth", "height"),
            strict=True,
        )
    )
    turned_too = " It stands with its front to the side." if turned else ""
    return (
        Finding(
            "box_on_shelf",
            outcome_of_all(trials),
            f"{sentences(trials)}{turned_too}",
            GEOMETRY,
            shelf.code,
            tuple(trial.comparison for trial in trials),
            None,
            missing_from(trials),
        ),
    )


def _clear_side(shelf: BoxShelf, axis: str) -> Side:
    field = f"system.box_shelves[{shelf.code}].clear.{axis}"
    return Side(getattr(shelf.clear, axis), f"the clear {axis} of shelf “{shelf.name}”", field)


def no_shelf(case: Case) -> tuple[Finding, ...]:  # noqa: ARG001 - whatever the boxes are
    """The answer of a receiver who has published none."""
    reason, remedy = "No shelf for boxes is published.", "Publish one, or move the contents over."
    return (Finding("box_on_shelf", Outcome.FAIL, reason, "What the receiver has published.", remedy=remedy),)


def places_left(case: Case, shelf: BoxShelf) -> tuple[Finding, ...]:
    """Whether the free places are enough. It decides nothing."""
    wanted, free, subject = case.line.count, shelf.free_places, shelf.code
    source = "Arithmetic: places wanted against places free."
    if free is None:
        reason = f"Nobody has stated how many boxes shelf “{shelf.name}” still takes."
        missing = (f"system.box_shelves[{shelf.code}].free_places",)
        finding = Finding("room_on_shelf", Outcome.UNKNOWN, reason, source, subject, missing=missing, deciding=False)
    else:
        reason = f"{wanted} boxes want a place and shelf “{shelf.name}” has {free}."
        outcome = Outcome.PASS if wanted <= free else Outcome.CAUTION
        remedy = None if wanted <= free else f"Find room for {wanted - free} more."
        finding = Finding("room_on_shelf", outcome, reason, source, subject, remedy=remedy, deciding=False)
    return (finding,)
