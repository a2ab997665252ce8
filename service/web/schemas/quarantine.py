"""Quarantines as they are sent and shown: the rules, the text, how it stands, and the calendar of loads."""

from collections.abc import Callable
from typing import Any, ClassVar

from marshmallow import ValidationError, validates_schema

from service.actions import freezer
from service.core.care import cooling, regimes
from service.core.care import freezer_calendar as calendars
from service.core.care import load as loads
from service.core.care import quarantine as quarantines
from service.core.consignment import PestSigns
from service.core.errors import Fault
from service.core.materials import Treatment
from service.core.measure.dimension import Grade
from service.core.transfers.calendar import Duration
from service.web.kit.fields import Choice, Code, Date, Flag, Instant, Int, List, Nested, Number, Text, Uuid
from service.web.kit.measures import Length as PlainLength
from service.web.kit.schema import Strict, takes_back
from service.web.schemas.consignment import MOST_LINES
from service.web.schemas.parts import Handling, SizeSchema
from service.web.schemas.standards import SetPointSchema
from service.web.schemas.transfers import Length

MOST_DRAWERS = 100_000
#: Less is a slip of a unit, and no heat flows through nothing.
_LEAST_SIDE_NM = 1_000_000
_PERSON = {"description": "the person who did it"}


def _c(**kwargs: Any) -> Number:
    """A temperature in degrees Celsius."""
    return Number(min=-200, max=200, **kwargs)


def _hours(**kwargs: Any) -> Number:
    return Number(min=0, max=10_000, **kwargs)


class RegimeSchema(Strict):
    """One treatment that kills: what the core of the material has to reach, and how long it is held there."""

    makes = regimes.Regime
    code = Code(required=True, metadata={"description": "its name in the table"})
    method = Choice(regimes.Method, required=True)
    hold_h = _hours(required=True, metadata={"description": "hours without a break, counted while the core is there"})
    core_at_most_c = _c(
        metadata={"description": "the core is at most so warm, in degrees Celsius; left out: not asked for"}
    )
    core_at_least_c = _c(
        metadata={"description": "the core is at least so warm, in degrees Celsius; left out: not asked for"}
    )
    oxygen_at_most_percent = Number(
        min=0,
        max=100,
        metadata={"description": "oxygen beside the material, percent of the air; left out: not asked for"},
    )
    cycles = Int(min=1, max=5, load_default=1, metadata={"description": "how often it is held, with a rest between"})
    rest_h = _hours(metadata={"description": "hours between two cycles"})
    rest_at_least_c = _c(metadata={"description": "how warm the core is at least in the rest, in degrees Celsius"})
    source = Text(max_length=2_000, min_length=0, load_default="")
    grade = Choice(Grade, load_default=Grade.COMMON_PRACTICE)


class FreezerSchema(Strict):
    """What loads go into."""

    makes = regimes.Freezer
    capacity_drawers = Int(
        min=1, max=MOST_DRAWERS, required=True, metadata={"description": "drawers that one load takes"}
    )
    set_point_c = _c(required=True, metadata={"description": "what it is set to, in degrees Celsius"})
    has_fan = Flag(load_default=False, metadata={"description": "whether a fan moves its air"})
    count = Int(min=1, max=20, load_default=1, metadata={"description": "freezers of this kind"})


class RulesFields(Strict):
    """Rules of a quarantine; what is left out is the handbook's."""

    regimes = List(
        Nested(RegimeSchema),
        max_items=50,
        min_items=1,
        metadata={"description": "the treatments that count; left out: the handbook's"},
    )
    warm_spell_k = Number(
        min=0, max=10, metadata={"description": "kelvins; warmer by more than this: the hold begins anew"}
    )
    longest_gap_h = Number(
        min=0.01, max=48, metadata={"description": "hours; unlogged for longer: the hold begins anew"}
    )
    unprobed_lag_h = _hours(metadata={"description": "hours that the core lags, where no load is described"})
    lag_factor = Number(
        min=0.1, max=10, metadata={"description": "predicted lags are multiplied by it; your probes' own, with room"}
    )
    acclimatise_h = _hours(metadata={"description": "hours shut at room temperature after the cold"})
    above_dew_point_k = Number(
        min=0,
        max=20,
        metadata={"description": "kelvins above the room's dew point that the coldest point has when it is opened"},
    )
    observe_days = Int(min=0, max=365, metadata={"description": "days until it is looked at for the first time"})
    inspect_every = Length(metadata={"description": "how long until it is looked at again, and again, such as P3M"})
    room = Nested(SetPointSchema, metadata={"description": "air in which loads are opened"})
    freezer = Nested(FreezerSchema, metadata={"description": "what you freeze in; left out: not stated"})
    on_arrival = Flag(metadata={"description": "true: what arrives by a transfer goes into quarantine by itself"})
    note = Text(max_length=10_000, min_length=0)


class QuarantineRulesSchema(RulesFields):
    """Your own table of treatments and rules; what is left out is the handbook's."""

    makes: ClassVar[Callable[..., Any] | None] = regimes.QuarantineRules

    @validates_schema(skip_on_field_errors=True)
    def check_that_the_table_hangs_together(self, data: dict[str, Any], **_: Any) -> None:
        """Each regime says what its method needs."""
        if faults := regimes.faults_in(data.get("regimes", ())):
            raise ValidationError(_by_place(faults))
        if data.get("inspect_every") == Duration():
            raise ValidationError("Write a length of time of at least a day.", "inspect_every")


def _by_place(faults: tuple[Fault, ...]) -> dict[str, Any]:
    told: dict[Any, Any] = {}
    for fault in faults:
        *path, last = (int(step) if step.isdigit() else step for step in fault.pointer.split("/")[1:])
        place = told
        for step in path:
            place = place.setdefault(step, {})
        place.setdefault(last, []).append(fault.detail)
    return told


class PublishedQuarantineRulesSchema(RulesFields):
    """The rules that an institution's quarantines are held to; version 0: the handbook's, nothing published."""

    institution_id = Uuid(required=True)
    version = Int(min=0, required=True)
    updated_at = Instant()


class LoadSchema(Strict):
    """What goes in together, as far as its lag depends on it."""

    makes = loads.Load
    packed = Choice(loads.Packed, required=True)
    drawers = Int(min=1, max=1_000, load_default=1, metadata={"description": "in one stack"})
    outer = Nested(SizeSchema, metadata={"description": "of one drawer, or of the parcel"})
    padding_nm = PlainLength(data_key="padding_mm", metadata={"description": "of a parcel, on each side"})
    contents = Choice(
        loads.Contents,
        load_default=loads.Contents.INSECT_BOXES,
        metadata={"description": "what the load is of, for the flow of heat"},
    )

    @validates_schema(skip_on_field_errors=True)
    def check_that_it_has_a_size(self, data: dict[str, Any], **_: Any) -> None:
        outer = data.get("outer")
        sides = {name: getattr(outer, name) for name in ("width", "depth", "height")} if outer else {}
        slips = [name for name, side in sides.items() if side is not None and side.smallest_nm < _LEAST_SIDE_NM]
        if slips:
            raise ValidationError({"outer": {name: ["A container is at least 1 mm on each side."] for name in slips}})


class SubjectSchema(Strict):
    """What is in quarantine: lines of a transfer (none named: all), a consignment, trays, or something described."""

    makes = quarantines.Subject
    transfer_id = Uuid(metadata={"description": "the transfer that it came with"})
    lines = List(
        Code(),
        max_items=MOST_LINES,
        load_default=(),
        metadata={"description": "keys of the transfer's lines; none: all of them"},
    )
    consignment_id = Uuid(metadata={"description": "the consignment that it is"})
    trays = List(
        Code(),
        max_items=5_000,
        load_default=(),
        metadata={"description": "of your inventory: they go into no drawer before it is over"},
    )
    description = Text(
        max_length=1_000, min_length=0, load_default="", metadata={"description": "what it is, in words"}
    )

    @validates_schema(skip_on_field_errors=True)
    def check_that_it_is_something(self, data: dict[str, Any], **_: Any) -> None:
        """It is named in one way."""
        if sum(bool(data.get(way)) for way in ("transfer_id", "consignment_id", "trays", "description")) == 0:
            raise ValidationError("Name a transfer, a consignment or trays, or describe it.")
        if data.get("transfer_id") and data.get("consignment_id"):
            raise ValidationError("Name a transfer or a consignment, not both.")
        if data["lines"] and not data.get("transfer_id"):
            raise ValidationError("Lines are those of a transfer; name it.", "lines")


class QuarantineFields(Strict):
    subject = Nested(SubjectSchema, required=True, metadata={"description": "what is in quarantine"})
    arrived_on = Date(required=True, metadata={"description": "the day on which it came in"})
    method = Choice(regimes.Method, load_default=regimes.Method.FREEZING)
    packing = Nested(
        LoadSchema, metadata={"description": "how it is packed, for the lag; left out: the lag of your rules"}
    )
    drawers = Int(min=1, max=MOST_DRAWERS, metadata={"description": "how much of a freezer it takes"})
    air_set_c = _c(metadata={"description": "what the freezer or chamber was set to"})
    shut_at = Instant(metadata={"description": "when the door was shut on it"})
    taken_out_at = Instant(metadata={"description": "when it was taken out; left out: not yet"})
    promised_on = Date(metadata={"description": "the day by which it is to be over"})
    pest_signs = Choice(PestSigns)
    treatments_used = List(
        Choice(Treatment),
        max_items=20,
        unique=True,
        metadata={"description": "on this material before; beside what its transfer or consignment says"},
    )
    note = Text(max_length=10_000, min_length=0, load_default="")

    @validates_schema(skip_on_field_errors=True)
    def check_that_the_door_was_shut_first(self, data: dict[str, Any], **_: Any) -> None:
        """It is taken out after it went in."""
        shut, out = data.get("shut_at"), data.get("taken_out_at")
        if shut is not None and out is not None and out <= shut:
            raise ValidationError("It was taken out before the door was shut on it.", "taken_out_at")


class NewQuarantineSchema(QuarantineFields):
    """A quarantine to be."""

    code = Code(required=True, metadata={"description": "your own; each of your quarantines has another"})


class InspectionFields(Strict):
    """Somebody looked, on a day. Live pests begin the quarantine anew."""

    on = Date(required=True, metadata={"description": "the day on which somebody looked"})
    by = Text(max_length=200, required=True, metadata=_PERSON)
    signs = Choice(PestSigns, required=True)
    note = Text(max_length=2_000, min_length=0, load_default="")


class InspectionSchema(InspectionFields):
    """Somebody looked, on a day. Live pests begin the quarantine anew."""

    makes = quarantines.Inspection


class NewReleaseSchema(Strict):
    """A named person lets the material go before its quarantine is over. It stays visible for good."""

    by = Text(max_length=200, required=True, metadata={"description": "the person who answers for it"})
    reason = Text(max_length=2_000, min_length=3, required=True, metadata={"description": "why it is let go"})


class ReleaseSchema(NewReleaseSchema):
    """Somebody let it go before it was over."""

    at = Instant(required=True, metadata={"description": "when"})


class HeldSchema(Strict):
    """The regime that the log fulfils first: when its last hold began and when it was long enough."""

    regime = Code(required=True, metadata={"description": "code of the regime"})
    first = Instant(required=True, metadata={"description": "when its last hold began"})
    at = Instant(required=True, metadata={"description": "when it had been held for long enough"})
    by_air = Flag(
        required=True, metadata={"description": "true: by the freezer's air and the lag; no probe lay in it"}
    )


class ForecastSchema(Strict):
    """When it is expected to be through. It plans the freezer; only a log ends a quarantine."""

    regime = Code(required=True, metadata={"description": "code of the regime that is through first"})
    predicted_lag_h = _hours(
        required=True,
        metadata={"description": "hours until the core is there, reckoned from the load on the safe side"},
    )
    lag_h = _hours(required=True, metadata={"description": "as a probe has corrected it so far"})
    probe_factor = Number(
        min=0, max=10_000, metadata={"description": "measured against predicted, before the factor of your rules"}
    )
    held_at = Instant(required=True, metadata={"description": "when it will have been held"})
    over_at = Instant(required=True, metadata={"description": "when it may be placed then"})


class KeptLogSchema(Strict):
    """An uploaded log."""

    code = Code(required=True, metadata={"description": "your name for the logger"})
    reading_count = Int(min=1, required=True, metadata={"description": "readings in it"})
    first_at = Instant(required=True, metadata={"description": "moment of its first reading"})
    last_at = Instant(required=True, metadata={"description": "moment of its last reading"})
    created_at = Instant(required=True, metadata={"description": "when it was uploaded"})


class QuarantineSummarySchema(Strict):
    """A quarantine as it stands. Its state follows from what was logged; nobody sets it."""

    id = Uuid(required=True)
    code = Code(required=True)
    institution_id = Uuid(required=True, metadata={"description": "who holds the material and writes to it"})
    subject = Nested(SubjectSchema, required=True, metadata={"description": "what is in quarantine"})
    arrived_on = Date(required=True, metadata={"description": "the day on which it came in"})
    method = Choice(regimes.Method, required=True)
    promised_on = Date(metadata={"description": "the day by which it is to be over; left out: none was promised"})
    drawers = Int(min=1, metadata={"description": "how much of a freezer it takes; left out: unknown"})
    state = Choice(quarantines.State, required=True)
    is_free = Flag(required=True, metadata={"description": "whether it may be placed or lent on: over, or released"})
    over_at = Instant(metadata={"description": "when it is or was over"})
    missing = Text(max_length=1_000, metadata={"description": "what is still missing, in words"})
    released = Nested(ReleaseSchema, metadata={"description": "it was let go before it was over"})
    inspect_on = Date(metadata={"description": "the day on which it is to be looked at next"})
    version = Int(min=1, required=True)
    created_at = Instant(required=True)
    updated_at = Instant(required=True)


class QuarantineSchema(QuarantineSummarySchema):
    """A quarantine with everything that was written down, and what to mind."""

    packing = Nested(LoadSchema, metadata={"description": "how it is packed; left out: unknown"})
    air_set_c = _c(metadata={"description": "what the freezer or chamber was set to, in degrees Celsius"})
    shut_at = Instant(metadata={"description": "when the door was shut on it; left out: not stated"})
    taken_out_at = Instant(metadata={"description": "when it was taken out; left out: not stated"})
    pest_signs = Choice(PestSigns)
    treatments_used = List(
        Choice(Treatment), max_items=20, metadata={"description": "on this material before; left out: unknown"}
    )
    note = Text(max_length=10_000, min_length=0, required=True)
    held = Nested(HeldSchema, metadata={"description": "what the log fulfils; left out: nothing yet"})
    live_seen_on = Date(metadata={"description": "the day on which live pests were last seen; left out: none were"})
    forecast = Nested(
        ForecastSchema,
        metadata={
            "description": "when it is expected to be through; left out: too little is stated, or nothing is reached"
        },
    )
    logs = List(
        Nested(KeptLogSchema),
        max_items=10_000,
        required=True,
        metadata={"description": "uploaded logs, in their order"},
    )
    inspections = List(
        Nested(InspectionFields),
        max_items=10_000,
        required=True,
        metadata={"description": "who looked and what was seen, in the order written down"},
    )
    releases = List(
        Nested(ReleaseSchema),
        max_items=10_000,
        required=True,
        metadata={"description": "who let it go before it was over, in their order"},
    )
    handling = Handling(required=True)


@takes_back(QuarantineSchema)
class QuarantineChangeSchema(QuarantineFields):
    """What the institution says of a quarantine. Logs, inspections and releases are added beside it."""

    makes = quarantines.Quarantine


class CoolingQuestionSchema(Strict):
    """A load, and the air that it goes into."""

    makes = cooling.CoolingQuestion

    method = Choice(regimes.Method, load_default=regimes.Method.FREEZING)
    packing = Nested(LoadSchema, metadata={"description": "what goes in; left out: the lag of your rules is taken"})
    air_c = _c(required=True, metadata={"description": "the air that it goes into, in degrees Celsius"})
    treatments_used = List(
        Choice(Treatment),
        max_items=20,
        unique=True,
        metadata={"description": "on this material before; empty says none"},
    )


class RegimeTimeSchema(Strict):
    """How long one regime takes. Without hours it is never reached in that air."""

    regime = Code(required=True, metadata={"description": "code of the regime"})
    target_c = _c(
        metadata={
            "description": "what the core has to reach, in degrees Celsius; left out: it is no matter of warmth"
        }
    )
    hold_h = _hours(required=True, metadata={"description": "hours for which it has to be held"})
    lag_h = _hours(metadata={"description": "until the core is there, on the safe side"})
    door_h = Number(min=0, max=100_000, metadata={"description": "from door shut until it has been held"})
    over_h = Number(min=0, max=100_000, metadata={"description": "and until it may be placed"})


class CoolingAnswerSchema(Strict):
    """How long a load takes: a model on the safe side. A probe at the core goes before it."""

    is_predicted = Flag(
        required=True, metadata={"description": "false: no load described, so the longest measured lag"}
    )
    regimes = List(
        Nested(RegimeTimeSchema),
        max_items=50,
        required=True,
        metadata={"description": "how long each takes, the quickest first"},
    )
    dew_point_c = _c(metadata={"description": "of the room in which it is opened, in degrees Celsius"})
    opens_from_c = _c(metadata={"description": "the coldest point has to be as warm before it is opened"})
    warm_up_h = _hours(metadata={"description": "of the core until then, on the safe side"})
    handling = Handling(required=True)


def _waiting(treatments_used: tuple[Treatment, ...] | None = None, **given: Any) -> calendars.Waiting:
    return calendars.Waiting(**given, used=(treatments_used,))


class WaitingSchema(Strict):
    """A lot that waits for the freezer."""

    makes = staticmethod(_waiting)
    code = Code(required=True, metadata={"description": "your own name for the lot"})
    drawers = Int(min=1, max=10_000, required=True, metadata={"description": "how much of a freezer it takes"})
    ready_on = Date(required=True, metadata={"description": "the day from which on it may go in"})
    promised_on = Date(
        metadata={"description": "the day by which it is to be over; left out: whenever there is room"}
    )
    treatments_used = List(
        Choice(Treatment),
        max_items=20,
        unique=True,
        metadata={"description": "on this material before; empty says none"},
    )


class CalendarQuestionSchema(Strict):
    """What waits, and for which freezer. What is left out of the freezer is that of your rules."""

    makes = freezer.CalendarAsked

    lots = List(Nested(WaitingSchema), max_items=200, load_default=(), metadata={"description": "what waits"})
    waiting = Flag(load_default=False, metadata={"description": "true: your quarantines that wait, as well"})
    first_day = Date(required=True, metadata={"description": "the first day on which something may go in"})
    days = Int(min=1, max=184, load_default=92, metadata={"description": "how many days to plan"})
    capacity_drawers = Int(
        min=1, max=10_000, metadata={"description": "drawers that one load takes; left out: as your rules have it"}
    )
    freezers = Int(min=1, max=20, metadata={"description": "how many freezers; left out: as your rules have it"})
    days_in = Int(min=1, max=60, metadata={"description": "left out: as long as a full load takes by your rules"})
    days_after = Int(
        min=0,
        max=60,
        metadata={"description": "days that a load stays shut outside; left out: as your rules have it"},
    )
    closed_on = List(
        Date(), max_items=184, load_default=(), metadata={"description": "nothing goes in on these days"}
    )


class ShareSchema(Strict):
    """Drawers of one lot."""

    code = Code(required=True, metadata={"description": "name of the lot"})
    drawers = Int(min=1, required=True, metadata={"description": "how many of its drawers"})


class FreezerLoadSchema(Strict):
    """One load."""

    in_on = Date(required=True, metadata={"description": "the day on which it goes in"})
    out_on = Date(required=True, metadata={"description": "the day on which it comes out"})
    over_on = Date(required=True, metadata={"description": "the day on which it has warmed up and may be opened"})
    drawers = Int(min=1, required=True, metadata={"description": "how many it has in all"})
    shares = List(
        Nested(ShareSchema), max_items=200, required=True, metadata={"description": "what goes in together"}
    )
    handling = Handling(required=True)


class BrokenPromiseSchema(Strict):
    """A promise that no calendar keeps, with the day it becomes instead."""

    code = Code(required=True, metadata={"description": "name of the lot"})
    promised_on = Date(required=True, metadata={"description": "the day that was promised"})
    over_on = Date(metadata={"description": "left out: not within the days asked for"})


class CalendarAnswerSchema(Strict):
    """Which load goes when. As few loads as keep every promise that can be kept."""

    freezer_loads = List(
        Nested(FreezerLoadSchema),
        max_items=4_000,
        required=True,
        metadata={"description": "in the order of their days"},
    )
    at_least = Int(min=0, required=True, metadata={"description": "no calendar has fewer loads"})
    is_proved = Flag(required=True, metadata={"description": "whether these are the fewest"})
    broken = List(
        Nested(BrokenPromiseSchema),
        max_items=400,
        required=True,
        metadata={"description": "promises that no calendar keeps"},
    )
    left_over = List(
        Nested(ShareSchema),
        max_items=400,
        required=True,
        metadata={"description": "what does not go in within the days asked for"},
    )
    days_in = Int(min=1, required=True, metadata={"description": "days that a load lies in the freezer"})
    days_after = Int(min=0, required=True, metadata={"description": "days that it then stays shut outside"})
    capacity_drawers = Int(min=1, required=True, metadata={"description": "drawers that one load takes"})
    handling = Handling(required=True)
