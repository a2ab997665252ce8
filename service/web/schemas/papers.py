"""Printed papers, as JSON shows them."""

from service.actions import papers as actions
from service.core.papers.content import PageSize, PaperKind
from service.core.transfers import facts, parties
from service.web.kit.fields import Choice, Date, Flag, Instant, Int, List, Nested, Text, Uuid
from service.web.kit.schema import Strict

#: Changes that one answer lists; a paper with more is to be printed anew.
MOST_CHANGES = 1_000
_CODE = {"description": "stands at the foot of every page"}


class NewPaperSchema(Strict):
    """A paper to print."""

    makes = actions.NewPaper
    kind = Choice(PaperKind, required=True, metadata={"description": "which paper"})
    by = Text(max_length=200, required=True, metadata={"description": "the person who prints it"})
    size = Choice(PageSize, load_default=PageSize.A4)
    on = Date(metadata={"description": "the day that the paper bears; left out: today"})
    parcel_plan_id = Uuid(metadata={"description": "the plan that the text for a parcel speaks of"})


class PaperSchema(Strict):
    """A paper as it was printed. The same address gives it as PDF."""

    id = Uuid(required=True)
    transfer_id = Uuid(required=True)
    made_by = Uuid(required=True, metadata={"description": "the institution that printed it"})
    kind = Choice(PaperKind, required=True)
    title = Text(max_length=200, required=True, metadata={"description": "as it stands on the paper"})
    size = Choice(PageSize, required=True)
    by = Text(max_length=200, required=True, metadata={"description": "the person who printed it"})
    on = Date(required=True, metadata={"description": "the day that it bears"})
    revision = Int(min=1, required=True, metadata={"description": "the transfer's last fact when it was printed"})
    check_code = Text(max_length=21, required=True, metadata=_CODE)
    verify_at = Text(max_length=2_000, required=True, metadata={"description": "what its QR code says"})
    parcel_plan_id = Uuid(metadata={"description": "the plan that it speaks of; left out: none"})
    created_at = Instant(required=True, metadata={"description": "when it was printed"})


class ChangedPlaceSchema(Strict):
    """One place of a paper that would read otherwise today; what came or went since is empty on one side."""

    where = Text(max_length=2_000, required=True, metadata={"description": "which place of the paper"})
    printed = Text(
        max_length=200_000,
        min_length=0,
        required=True,
        metadata={"description": "what stands on the paper; empty: nothing"},
    )
    now = Text(
        max_length=200_000,
        min_length=0,
        required=True,
        metadata={"description": "what would stand there today; empty: nothing"},
    )


class FactSinceSchema(Strict):
    """A step taken after the paper was printed."""

    seq = Int(min=1, required=True, metadata={"description": "its number in the transfer's chain"})
    step = Choice(facts.Step, required=True)
    side = Choice(parties.Side, required=True, metadata={"description": "the side that did it"})
    by = Text(max_length=200, required=True)
    on = Date(required=True)


class VerifiedSchema(Strict):
    """Whether a printed paper still holds. `as_printed` says that every word on it would be the same today."""

    paper = Nested(PaperSchema, required=True, metadata={"description": "the paper that bears the code"})
    as_printed = Flag(required=True, metadata={"description": "whether every word on it would be the same today"})
    in_words = Text(max_length=2_000, required=True, metadata={"description": "the same in a sentence"})
    changes = List(
        Nested(ChangedPlaceSchema),
        max_items=MOST_CHANGES,
        required=True,
        metadata={"description": "the places that would read otherwise, the first thousand"},
    )
    change_count = Int(min=0, max=10_000_000, required=True, metadata={"description": "with those not listed"})
    facts_since = List(
        Nested(FactSinceSchema),
        max_items=MOST_CHANGES,
        required=True,
        metadata={"description": "what happened to the transfer since"},
    )
