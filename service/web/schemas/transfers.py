"""Transfers as they are sent and shown: the text that is signed, the facts, the lender's rules, permits."""

from collections.abc import Callable
from datetime import date
from fractions import Fraction
from typing import Any, ClassVar

from marshmallow import ValidationError, validates_schema

from service.actions import transfers as actions
from service.core.consignment import Container
from service.core.errors import Invalid
from service.core.handbook.listed_taxa import ListedTaxon
from service.core.materials import Treatment
from service.core.measure.dimension import Grade
from service.core.transfers import facts, lines, parties, permits, steps, terms
from service.core.transfers.calendar import Duration, MonthEnd, YearlyWindow
from service.core.transfers.ledger import Account
from service.core.transfers.notices import Weight
from service.core.transfers.rules import LoanRules
from service.core.transfers.states import State
from service.core.transfers.transfer import Ending, TransferKind
from service.web.kit.fields import (
    Choice,
    Code,
    Date,
    Field,
    Flag,
    Instant,
    Int,
    List,
    Nested,
    Shape,
    Text,
    Uuid,
    matches,
)
from service.web.kit.schema import Strict
from service.web.schemas.consignment import MOST_LINES, MOST_SPECIMENS, PinsSchema
from service.web.schemas.identifiers import GivenIdentifiers, Identifiers
from service.web.schemas.parts import Handling

SHA256 = r"^[0-9a-f]{64}$"
COUNTRY = r"^[A-Z]{2}$"
_PERSON = {"description": "the person who did it"}
_STEPS = " ".join(("what happened.", *(f"`{rule.step}`: {rule.meaning}" for rule in steps.RULES.values())))


class Length(Field):
    """A length of time in years, months, weeks and days (ISO 8601)."""

    PATTERN = r"^P(?=[0-9])([0-9]{1,3}Y)?([0-9]{1,3}M)?([0-9]{1,3}W)?([0-9]{1,4}D)?$"

    def read(self, value: Any) -> Duration:
        if isinstance(value, str) and matches(self.PATTERN, value):
            return Duration.parse(value)
        raise ValidationError("Write a length of time such as P2Y, P3M or P60D.")

    def write(self, value: Duration) -> str:
        return str(value)

    def shape(self) -> Shape:
        return {"type": "string", "pattern": self.PATTERN, "maxLength": 20, "examples": ["P2Y"]}


class Share(Field):
    """A share of a count, as a fraction between 0 and 1."""

    PATTERN = r"^(0|1|[1-9][0-9]{0,5}/[1-9][0-9]{0,5})$"

    def read(self, value: Any) -> Fraction:
        if isinstance(value, str) and matches(self.PATTERN, value) and Fraction(value) <= 1:
            return Fraction(value)
        raise ValidationError("Write a share as a fraction of at most 1, such as 1/3 or 33/100.")

    def write(self, value: Fraction) -> str:
        return str(value)

    def shape(self) -> Shape:
        return {"type": "string", "pattern": self.PATTERN, "maxLength": 13, "examples": ["1/3"]}


class DayOfYear(Field):
    """A day of every year, MM-DD."""

    PATTERN = r"^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$"

    def read(self, value: Any) -> tuple[int, int]:
        try:
            if isinstance(value, str) and matches(self.PATTERN, value):
                day = date.fromisoformat(f"2024-{value}")
                return (day.month, day.day)
        except ValueError:
            pass
        raise ValidationError("Write a day of every year as MM-DD, such as 12-01.")

    def write(self, value: tuple[int, int]) -> str:
        return f"{value[0]:02d}-{value[1]:02d}"

    def shape(self) -> Shape:
        return {"type": "string", "pattern": self.PATTERN, "maxLength": 5, "examples": ["12-01"]}


class Members(List):
    """A list of words without order, kept as a set."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        return frozenset(super()._deserialize(value, attr, data, **kwargs))

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> Any:
        return sorted(super()._serialize(sorted(value), attr, obj, **kwargs) or [])


def _made(maker: Any) -> Any:
    """A maker whose refusals are those of a schema."""

    def make(**given: Any) -> Any:
        try:
            return maker(**given)
        except Invalid as error:
            raise ValidationError(error.message, error.field.rpartition(".")[2]) from error

    return staticmethod(make)


class LengthRuleSchema(Strict):
    """How long material of one class is lent, and from which day that runs."""

    makes = terms.LengthRule
    applies_to = Choice(terms.MaterialClass, required=True)
    length = Length(required=True, metadata={"description": "how long it is lent, such as P2Y"})
    clock = Choice(terms.ClockStart, load_default=terms.ClockStart.DISPATCH)


class YearlyWindowSchema(Strict):
    """Days of every year on which nothing is posted, both ends included."""

    makes = YearlyWindow
    first = DayOfYear(required=True, metadata={"description": "the first day, MM-DD"})
    last = DayOfYear(required=True, metadata={"description": "the last day, MM-DD; before `first`: over New Year"})
    why = Text(max_length=200, min_length=0, load_default="", metadata={"description": "such as the holidays"})


class TermsSchema(Strict):
    """A lender's terms. What is left out is not stated, and is unknown."""

    makes = _made(terms.Terms)
    lengths = List(
        Nested(LengthRuleSchema),
        max_items=3,
        load_default=(),
        metadata={"description": "how long each class of material is lent"},
    )
    month_end = Choice(
        MonthEnd,
        load_default=MonthEnd.LAST_DAY,
        metadata={"description": "what becomes of 31 January plus a month: 28 February, or 1 March"},
    )
    no_post = List(
        Nested(YearlyWindowSchema),
        max_items=50,
        load_default=(),
        metadata={"description": "days of every year on which nothing is posted"},
    )
    largest_share_lent = Share(metadata={"description": "of a taxon, at once; rounded down"})
    share_kept = Share(
        metadata={"description": "of unidentified material that the borrower identified; rounded down"}
    )
    share_kept_describing = Share(metadata={"description": "the same, when new species are described from it"})
    must_return = Members(
        Choice(lines.TypeStatus),
        max_items=9,
        load_default=lines.PRIMARY_TYPES,
        metadata={"description": "types that are never kept; primary types are among them, listed or not"},
    )
    uniques_return = Flag(metadata={"description": "whether at least one of each line comes back"})
    third_parties = Choice(terms.ThirdParties)
    recall_notice = Length(metadata={"description": "how long before its day a recall has to be said, such as P30D"})


class ListedTaxonSchema(Strict):
    """A name on the list of taxa, and with it everything below it."""

    makes = ListedTaxon
    name = Text(
        max_length=200, required=True, metadata={"description": "of a species, or of a group with all that is in it"}
    )
    appendix = Text(
        max_length=3,
        pattern=r"^I{1,3}$",
        like="I, II or III",
        required=True,
        metadata={"description": "the CITES Appendix: I, II or III"},
    )


class ListedTaxaSchema(Strict):
    """A list of taxa that stand in the CITES Appendices, with its day."""

    as_of = Date(required=True, metadata={"description": "the day whose list it is"})
    source = Text(max_length=2_000, required=True)
    grade = Choice(Grade, required=True)
    taxa = List(
        Nested(ListedTaxonSchema), max_items=2_000, required=True, metadata={"description": "the names on it"}
    )


class LoanRulesSchema(Strict):
    """What an institution publishes about its loans."""

    makes: ClassVar[Callable[..., Any] | None] = LoanRules
    terms = Nested(
        TermsSchema, required=True, metadata={"description": "what holds for a loan that states no terms of its own"}
    )
    cites_code = Text(
        max_length=5,
        pattern=r"^[A-Z]{2}[0-9]{3}$",
        like="the country's two letters and three figures, such as GB012",
        metadata={"description": "your registration as a scientific institution under CITES; left out: none stated"},
    )
    listed_also = List(
        Nested(ListedTaxonSchema),
        max_items=500,
        load_default=(),
        metadata={"description": "taxa that are listed too, beside the service's own list"},
    )
    not_listed = List(
        Text(max_length=200),
        max_items=500,
        load_default=(),
        metadata={"description": "names on the service's own list that no longer hold"},
    )
    note = Text(max_length=10_000, min_length=0, load_default="")


class PublishedRulesSchema(LoanRulesSchema):
    """An institution's loan rules; version 0 is that of rules in which nothing was stated yet."""

    makes = None
    institution_id = Uuid(required=True)
    version = Int(min=0, required=True)
    updated_at = Instant()


class PersonSchema(Strict):
    """Somebody who answers for a transfer or works with what was sent."""

    makes = parties.Person
    name = Text(max_length=200, required=True, metadata={"description": "the person's name"})
    position = Text(max_length=200, metadata={"description": "what the person is there; left out: not stated"})
    institution = Text(
        max_length=200, metadata={"description": "where, if not at the receiving side; left out: not stated"}
    )


class PartySchema(Strict):
    """One side: an institution of this service by its id, or a private person by name."""

    makes = actions.PartyNamed
    institution_id = Uuid(metadata={"description": "an institution of this service; left out: a private person"})
    name = Text(
        max_length=200, metadata={"description": "a private person; left out: an institution of this service"}
    )
    country = Text(max_length=2, pattern=COUNTRY, like="two capital letters (ISO 3166-1), such as DE")
    cites_code = Text(max_length=5, pattern=r"^[A-Z]{2}[0-9]{3}$", like="a code such as GB012")

    @validates_schema(skip_on_field_errors=True)
    def check_that_it_is_one_of_the_two(self, data: dict[str, Any], **_: Any) -> None:
        """A side is named once."""
        if ("institution_id" in data) == ("name" in data):
            raise ValidationError("Give either institution_id or, for a private person, name.")


class PartyAnswer(Strict):
    """One side, as it was on the day the text was written."""

    institution_id = Uuid(metadata={"description": "left out for a private person"})
    name = Text(max_length=200, required=True, metadata={"description": "the institution's or the person's name"})
    kind = Choice(parties.PartyKind, required=True)
    country = Text(max_length=2)
    cites_code = Text(max_length=5)


class TransferLineSchema(Strict):
    """One counted lot, with or without catalogue numbers."""

    makes: ClassVar[Callable[..., Any] | None] = lines.Line
    key = Code(required=True, metadata={"description": "names the line within its transfer"})
    count = Int(
        min=1, max=MOST_SPECIMENS, required=True, metadata={"description": "how many, of what `counted` says"}
    )
    taxon = Text(max_length=500)
    counted = Choice(
        lines.Counted, load_default=lines.Counted.SPECIMEN, metadata={"description": "what `count` counts"}
    )
    groups = List(
        Text(max_length=100), max_items=10, load_default=(), metadata={"description": "order, superfamily, family"}
    )
    preparation = Choice(
        lines.Preparation, metadata={"description": "how the specimens are prepared; left out: unknown"}
    )
    type_status = Choice(
        lines.TypeStatus, metadata={"description": "which kind of type, in GBIF's words; left out: nobody stated it"}
    )
    storage = Choice(Container, metadata={"description": "what the lot travels in"})
    storage_count = Int(
        min=1, max=1_000_000, metadata={"description": "how many of these it travels in; left out: unknown"}
    )
    tray = Code(metadata={"description": "code of the unit tray in the lender's storage system"})
    condition = Int(min=1, max=4, metadata={"description": "1 unstable, 2 degraded but stable, 3 stable, 4 optimal"})
    remarks = Text(
        max_length=2_000, min_length=0, load_default="", metadata={"description": "free words about the lot"}
    )
    catalogue_numbers = List(
        Text(max_length=100),
        max_items=1_000,
        load_default=(),
        metadata={"description": "of its specimens, where they have any"},
    )
    identifiers = List(
        Text(max_length=500),
        max_items=100,
        load_default=(),
        metadata={"description": "resolvable names of its specimens, given elsewhere"},
    )
    held = Int(min=0, max=MOST_SPECIMENS, metadata={"description": "how many of the taxon the lender holds in all"})
    pins = Nested(PinsSchema, metadata={"description": "how the specimens are pinned; left out: unknown"})
    treatments_used = List(
        Choice(Treatment),
        max_items=20,
        unique=True,
        metadata={"description": "ever used on it, against pests or to keep it; empty says none"},
    )


def _line(**given: Any) -> lines.Line:
    if given.get("condition") is not None:
        given["condition"] = lines.Condition(given["condition"])
    return lines.Line(**given)


TransferLineSchema.makes = staticmethod(_line)


class TextFields(Strict):
    """What both sides sign."""

    answerable = Nested(PersonSchema, required=True, metadata={"description": "answers for it on the receiving side"})
    user = Nested(PersonSchema, metadata={"description": "works with it, where that is somebody else"})
    purpose = Text(max_length=2_000, required=True, metadata={"description": "what it is for"})
    terms = Nested(TermsSchema, metadata={"description": "left out: those that the lender publishes"})
    lines = List(
        Nested(TransferLineSchema), max_items=MOST_LINES, metadata={"description": "what is sent, lot by lot"}
    )
    by = Text(max_length=200, required=True, metadata={"description": "the person who writes it down"})
    on = Date(metadata={"description": "the day on which it happened; left out: today"})


class TextSchema(TextFields):
    """The text written anew, before anything is packed. Terms and lines left out stay as they are."""

    makes = actions.Text


class NewTransferSchema(TextFields):
    """A transfer to be."""

    code = Code(required=True, metadata={"description": "your own; each of your transfers has another"})
    kind = Choice(TransferKind, required=True)
    ending = Choice(Ending, metadata={"description": "needed for empty trays that stay; else it follows"})
    lender = Nested(PartySchema, required=True, metadata={"description": "the giver, where it is given"})
    borrower = Nested(PartySchema, required=True, metadata={"description": "the receiver, where it is given"})
    exchange_id = Uuid(metadata={"description": "the exchange that this is the other way of"})
    identifiers = Identifiers()


def _new_transfer(**given: Any) -> actions.NewTransfer:
    text = {name: given.pop(name) for name in TextFields._declared_fields if name in given}
    return actions.NewTransfer(**given, text=actions.Text(**text))


NewTransferSchema.makes = staticmethod(_new_transfer)


class TotalsSchema(Strict):
    """All lines together. lent = returned + retained + passed_on + consumed + lost + outstanding."""

    packed = Int(min=0, required=True)
    lent = Int(min=0, required=True)
    returned = Int(min=0, required=True)
    retained = Int(min=0, required=True)
    passed_on = Int(min=0, required=True)
    consumed = Int(min=0, required=True)
    lost = Int(min=0, required=True)
    outstanding = Int(min=0, required=True)


class TransferSummarySchema(Strict):
    """A transfer as it stands. Its state follows from its facts; nobody sets it."""

    id = Uuid(required=True)
    code = Code(required=True, metadata={"description": "the name that the institution that wrote it down gave it"})
    kind = Choice(TransferKind, required=True)
    ending = Choice(Ending, required=True)
    your_side = Choice(parties.Side, required=True, metadata={"description": "the side that you are"})
    lender = Nested(
        PartyAnswer, required=True, metadata={"description": "the lender, or the giver where it is given"}
    )
    borrower = Nested(
        PartyAnswer, required=True, metadata={"description": "the borrower, or the receiver where it is given"}
    )
    state = Choice(State, required=True)
    totals = Nested(TotalsSchema, required=True, metadata={"description": "all lines together"})
    exchange_id = Uuid(metadata={"description": "the exchange that it is one way of; left out: none"})
    fact_count = Int(min=0, required=True, metadata={"description": "the number of its last fact; its version"})
    head = Text(max_length=64, required=True, metadata={"description": "hash of the last fact: keep it to verify"})
    created_at = Instant(required=True)
    updated_at = Instant(required=True)


class TransferSchema(TransferSummarySchema):
    """A transfer with its text, but for its lines, and with the steps that are open to you."""

    answerable = Nested(PersonSchema, required=True, metadata={"description": "answers for it on the receiving side"})
    user = Nested(PersonSchema, metadata={"description": "works with it, where that is somebody else"})
    purpose = Text(max_length=2_000, required=True, metadata={"description": "what it is for"})
    terms = Nested(
        TermsSchema, required=True, metadata={"description": "the lender's terms as they stand in the text"}
    )
    line_count = Int(min=0, required=True, metadata={"description": "lines of its text"})
    identifiers = GivenIdentifiers()
    agreement = Text(max_length=64, metadata={"description": "digest of the text as it now reads; sign this"})
    signed_by = List(
        Choice(parties.Side),
        max_items=2,
        required=True,
        metadata={"description": "sides that have signed the text as it now reads"},
    )
    open_steps = List(
        Choice(facts.Step), max_items=30, required=True, metadata={"description": "steps that your side may take now"}
    )
    handling = Handling(required=True)


class TallySchema(Strict):
    """What became of a line."""

    lent = Int(min=0, required=True)
    returned = Int(min=0, required=True)
    retained = Int(min=0, required=True)
    passed_on = Int(min=0, required=True)
    consumed = Int(min=0, required=True)
    lost = Int(min=0, required=True)
    outstanding = Int(min=0, required=True)


class LineStandingSchema(TransferLineSchema):
    """A line with what became of it, and when it is due."""

    makes = None
    tally = Nested(TallySchema, required=True, metadata={"description": "what became of it so far"})
    due_on = Date(
        metadata={
            "description": "the day on which what is outstanding is due; left out: no day follows from the terms"
        }
    )
    due_why = Text(
        max_length=300, min_length=0, required=True, metadata={"description": "from what that day follows, in words"}
    )
    overdue_by_days = Int(
        min=0, required=True, metadata={"description": "days gone by since it was due; 0: it is not overdue"}
    )


class OneLineSchema(LineStandingSchema):
    """One line, with what to mind when handling it."""

    handling = Handling(required=True)


class MoveSchema(Strict):
    """Some of a line, from one place to another; where a step has one way, the places need not be said."""

    makes = actions.MoveNamed
    line = Code(required=True, metadata={"description": "key of the line within its transfer"})
    count = Int(min=1, max=MOST_SPECIMENS, required=True, metadata={"description": "how many are moved"})
    source = Choice(Account, data_key="from")
    target = Choice(Account, data_key="to")


class SeenSchema(Strict):
    """The condition of a line at a hand-over."""

    line = Code(required=True, metadata={"description": "key of the line within its transfer"})
    condition = Int(min=1, max=4, metadata={"description": "1 unstable … 4 optimal; left out when nobody looked"})
    note = Text(max_length=2_000, min_length=0, load_default="")


def _seen(line: str, condition: int | None = None, note: str = "") -> facts.Seen:
    return facts.Seen(line, None if condition is None else lines.Condition(condition), note)


SeenSchema.makes = staticmethod(_seen)


class RecountSchema(Strict):
    """A line whose count is not what the list says."""

    makes = facts.Recount
    line = Code(required=True, metadata={"description": "key of the line within its transfer"})
    listed = Int(min=0, max=MOST_SPECIMENS, required=True, metadata={"description": "what the list says"})
    counted = Int(min=0, max=MOST_SPECIMENS, required=True, metadata={"description": "what was counted"})
    note = Text(max_length=2_000, min_length=0, load_default="")


class OverrideSchema(Strict):
    """Going over the lender's own rules, by name and with a reason."""

    makes = facts.Override
    by = Text(max_length=200, required=True, metadata={"description": "the person who decides to"})
    reason = Text(max_length=2_000, required=True, metadata={"description": "why"})
    codes = List(
        Code(),
        min_items=1,
        max_items=10,
        required=True,
        metadata={"description": "codes of the notices that are gone over"},
    )


class FactFields(Strict):
    step = Choice(facts.Step, required=True, metadata={"description": _STEPS})
    by = Text(max_length=200, required=True, metadata=_PERSON)
    seen = List(
        Nested(SeenSchema),
        max_items=MOST_LINES,
        metadata={"description": "in what condition lines were at the hand-over"},
    )
    recounts = List(
        Nested(RecountSchema),
        max_items=MOST_LINES,
        metadata={"description": "lines whose counts are not what the list says"},
    )
    lines = List(Code(), max_items=MOST_LINES, metadata={"description": "the lines meant; left out: all"})
    until = Date(metadata={"description": "the day asked for, granted or recalled to"})
    reason = Text(max_length=2_000, min_length=0, metadata={"description": "why; some steps ask for it"})
    third_party = Text(max_length=300, metadata={"description": "who has it then, of what is passed on"})
    agreement = Text(
        max_length=64,
        pattern=SHA256,
        like="the digest of the text that you read, 64 figures and letters",
        metadata={"description": "digest of the text that was written or signed"},
    )
    override = Nested(OverrideSchema, metadata={"description": "the lender's rules that are gone over with it"})


class NewFactSchema(FactFields):
    """What happened: one step, on one day, by one person of your side."""

    makes = actions.NewFact
    on = Date(metadata={"description": "the day on which it happened; left out: today"})
    moves = List(
        Nested(MoveSchema),
        max_items=MOST_LINES,
        metadata={"description": "what goes where; left out with `everything`"},
    )
    everything = Flag(load_default=False, metadata={"description": "true: all that the step could move"})
    for_private_party = Flag(
        load_default=False,
        metadata={"description": "true: it was done by the other side, a private person without a key"},
    )


class FactSchema(FactFields):
    """A fact as it stands in the chain. ``body`` is the text whose SHA-256 is ``digest``."""

    seq = Int(min=1, required=True, metadata={"description": "its number in the transfer's chain, counted from 1"})
    side = Choice(parties.Side, required=True, metadata={"description": "the side that did it"})
    on = Date(required=True)
    moves = List(Nested(MoveSchema), max_items=MOST_LINES, metadata={"description": "what went where"})
    written_by = Choice(
        parties.Side,
        metadata={"description": "the side that wrote it down, for a private person; left out: the one that did it"},
    )
    recorded_at = Instant(required=True, metadata={"description": "when it was written down here"})
    digest = Text(max_length=64, required=True, metadata={"description": "SHA-256 of `body`, in hexadecimal"})
    body = Text(
        max_length=10_000_000,
        required=True,
        metadata={"description": "the text that is hashed, with the digest of the fact before it"},
    )


class NoticeSchema(Strict):
    """Something to know before going on; it judges nothing."""

    code = Code(required=True, metadata={"description": "what kind of notice it is, for programs"})
    weight = Choice(Weight, required=True)
    sentence = Text(max_length=10_000, required=True, metadata={"description": "what to know"})
    lines = List(
        Code(),
        max_items=MOST_LINES,
        required=True,
        metadata={"description": "keys of the lines that it is about; none: the whole"},
    )
    source = Text(max_length=2_000)


class PermitSchema(Strict):
    """A permit or letter as it was written down."""

    makes: ClassVar[Callable[..., Any] | None] = permits.Permit
    kind = Choice(permits.PermitKind, required=True)
    status = Choice(permits.PermitStatus, load_default=permits.PermitStatus.UNKNOWN)
    number = Text(max_length=200, metadata={"description": "as it is printed; left out: not stated"})
    valid_from = Date(metadata={"description": "the first day on which it holds; left out: not stated"})
    valid_until = Date(metadata={"description": "the last day on which it holds; left out: not stated"})
    countries = List(
        Text(max_length=2, pattern=COUNTRY, like="two capital letters"),
        max_items=50,
        load_default=(),
        metadata={"description": "countries that it speaks of, ISO 3166-1 alpha-2"},
    )
    third_parties = Flag(metadata={"description": "whether it lets things go to a third party"})
    text = Text(
        max_length=10_000, min_length=0, load_default="", metadata={"description": "what it says, in its own words"}
    )


class KeptPermitSchema(PermitSchema):
    """A permit of a transfer."""

    makes = None
    id = Uuid(required=True)
    recorded_by = Uuid(required=True, metadata={"description": "the institution that wrote it down"})
    version = Int(min=1, required=True)
    created_at = Instant(required=True)
    updated_at = Instant(required=True)


class HeldLotSchema(Strict):
    """A count of one line in one place."""

    transfer_id = Uuid(required=True)
    transfer_code = Code(required=True)
    line = Code(required=True, metadata={"description": "key of the line within its transfer"})
    taxon = Text(max_length=500)
    place = Choice(Account, required=True)
    count = Int(min=1, required=True, metadata={"description": "how many, of what the line counts"})
    holder_id = Uuid(
        metadata={"description": "the institution that has it in hand; left out on its way and in private hands"}
    )


class PlacesSchema(Strict):
    """Counts by place; places where there is nothing are left out."""

    packed = Int(min=0)
    transit_out = Int(min=0)
    borrower = Int(min=0, metadata={"description": "what is in hand at the borrower or receiver"})
    transit_back = Int(min=0)
    returned = Int(min=0)
    retained = Int(min=0)
    passed_on = Int(min=0)
    consumed = Int(min=0)
    lost = Int(min=0)


class HeldTaxonSchema(Strict):
    """Counts of one taxon by place; what has no name stands under none."""

    taxon = Text(max_length=500)
    counts = Nested(PlacesSchema, required=True, metadata={"description": "how many are where"})


class HeldInstitutionSchema(Strict):
    """Counts with one institution by place; private persons stand together under none."""

    institution_id = Uuid(metadata={"description": "who has them; left out: private persons"})
    counts = Nested(PlacesSchema, required=True, metadata={"description": "how many are where"})


class DeskEntrySchema(Strict):
    """One row of a list."""

    transfer_id = Uuid(required=True)
    transfer_code = Code(required=True)
    your_side = Choice(parties.Side, required=True, metadata={"description": "the side that you are"})
    other_institution_id = Uuid(metadata={"description": "the other side; left out: a private person"})
    other_name = Text(max_length=300, min_length=0, required=True, metadata={"description": "the other side by name"})
    day = Date(metadata={"description": "when it is due, was sent or ends"})
    days = Int(min=0, metadata={"description": "days left until then, or gone by since"})
    line = Code(
        metadata={"description": "key of the line within its transfer; left out: it is about the transfer as a whole"}
    )
    taxon = Text(max_length=500)
    count = Int(min=0, metadata={"description": "how many it is about; left out: nothing is counted"})
    about = Text(max_length=500, min_length=0, required=True, metadata={"description": "what it is about, in words"})


class BalanceSchema(Strict):
    """What each side of an exchange took over from the other, of one thing that is counted."""

    counted = Choice(lines.Counted, required=True)
    first_gave = Int(min=0, required=True, metadata={"description": "what the second side took over from the first"})
    second_gave = Int(min=0, required=True, metadata={"description": "what the first side took over from the second"})
    owing = Text(max_length=300, metadata={"description": "the side that has still to give; left out when even"})
    owed = Int(min=0, required=True, metadata={"description": "how many are still to be given"})


class ExchangeSchema(Strict):
    """An exchange: its ways, and its balance. It may stay open for years."""

    id = Uuid(required=True)
    first = Text(max_length=300, required=True, metadata={"description": "one side, by name"})
    second = Text(max_length=300, required=True, metadata={"description": "the other side, by name"})
    ways = List(
        Nested(TransferSummarySchema),
        max_items=200,
        required=True,
        metadata={"description": "its transfers, either way"},
    )
    balance = List(
        Nested(BalanceSchema),
        max_items=10,
        required=True,
        metadata={"description": "who gave how many, of each thing that is counted"},
    )
