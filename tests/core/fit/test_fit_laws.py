"""What must hold for every drawer, cabinet and consignment, whatever their sizes."""

from dataclasses import replace
from decimal import Decimal

from asking import answer_to
from builders import (
    a_bottom,
    a_box_line,
    a_cabinet,
    a_drawer_standard,
    a_line,
    a_policy,
    a_system,
    a_tray_line,
    a_tray_lot,
    some_pins,
    some_rates,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.fit.check import check
from service.core.fit.cost import cents
from service.core.fit.drawer_in_cabinet import enters_either_way
from service.core.fit.findings import SEVERITY, Outcome, Verdict, worst
from service.core.materials import Bottom, Treatment
from service.core.measure.dimension import Dimension, Grade, Size
from service.core.standards import Doorway, Support

lengths = st.integers(300, 600).map(lambda mm: Dimension(mm * 1_000_000))
heights = st.integers(30, 200).map(lambda mm: Dimension(mm * 1_000_000))
remembered = lengths.map(lambda length: replace(length, grade=Grade.FROM_MEMORY))
any_length = st.one_of(st.none(), lengths, remembered)
plans = st.builds(Size, any_length, any_length, st.one_of(st.none(), heights))
bottoms = st.builds(a_bottom, st.sampled_from([None, *Bottom]), st.sampled_from([None, 6, 10]))
treatments = st.one_of(st.none(), st.lists(st.sampled_from(Treatment), max_size=2, unique=True).map(tuple))

cabinets = st.builds(
    a_cabinet,
    opening=st.builds(Size, any_length, any_length, st.just(Dimension(1_985_000_000))),
    pitch=st.one_of(st.none(), heights),
    support=st.sampled_from([None, *Support]),
    runner_ledge=st.sampled_from([None, Dimension(5_000_000), Dimension(12_000_000)]),
    runners_removable=st.sampled_from([None, True, False]),
    doorway=st.sampled_from([None, *Doorway]),
    door_width=any_length,
    door_height=st.one_of(st.none(), heights),
    free_positions=st.sampled_from([None, 0, 100]),
    made_for=st.sampled_from([None, "house"]),
)
systems = st.builds(
    a_system,
    cabinets=st.lists(cabinets, max_size=2).map(
        lambda listed: tuple(replace(cabinet, code=f"c{index}") for index, cabinet in enumerate(listed))
    ),
    drawers=st.builds(a_drawer_standard, inner=plans).map(lambda drawer: (drawer,)),
    materials=st.builds(
        a_policy, treatments=treatments, accepted_bottoms=st.sampled_from([None, (Bottom.POLYETHYLENE_FOAM,)])
    ),
    growth_reserve_percent=st.sampled_from([None, Decimal(20)]),
    lid_air_gap_nm=st.sampled_from([None, 3_000_000]),
    rates=st.builds(
        some_rates, drawer=st.sampled_from([None, Decimal(68)]), person_hour=st.sampled_from([None, Decimal(24)])
    ),
)
small = st.integers(40, 200).map(lambda mm: Dimension(mm * 1_000_000))
tray_lots = st.builds(
    a_tray_lot,
    count=st.integers(1, 500),
    outer=st.builds(Size, st.one_of(st.none(), small), small, st.one_of(st.none(), heights)),
    bottom=st.one_of(st.none(), bottoms),
)
pins = st.builds(some_pins, st.sampled_from([None, 38, 52]), st.sampled_from([None, 0, 6]))
lines = st.builds(
    a_line,
    outer=plans,
    inner=plans,
    lining=st.one_of(st.none(), bottoms),
    trays=st.one_of(st.none(), st.lists(tray_lots, max_size=2).map(tuple)),
    pins=pins,
    treatments_used=treatments,
    specimens=st.sampled_from([None, 0, 900]),
)
boxes = st.builds(a_box_line, outer=plans, inner=plans, lining=bottoms, pins=pins)
loose_trays = st.builds(a_tray_line, outer=plans, lining=bottoms, pins=pins)
any_line = st.one_of(lines, boxes, loose_trays)

few = settings(max_examples=60, deadline=None)
IN_A_CABINET = ("drawer_in_cabinet", "drawer_on_runners", "drawer_height", "door")


def in_a_cabinet(line, system):
    """The worst that the rules of the cabinet say."""
    return worst([f.outcome for f in answer_to(line, system).findings if f.rule in IN_A_CABINET])


@few
@given(line=lines, system=systems)
def test_whichever_side_is_called_the_width_the_drawer_fares_the_same(line, system):
    swapped = replace(line, outer=Size(line.outer.depth, line.outer.width, line.outer.height))
    assert in_a_cabinet(line, system) is in_a_cabinet(swapped, system)


@few
@given(line=lines, cabinet=cabinets, wider=st.integers(0, 100), deeper=st.integers(0, 100))
def test_on_a_shelf_a_larger_opening_never_shuts_a_drawer_out(line, cabinet, wider, deeper):
    on_a_shelf = replace(cabinet, support=Support.SHELF)
    larger = replace(on_a_shelf, opening=_larger(cabinet.opening, wider, deeper))
    before = in_a_cabinet(line, a_system(cabinets=(on_a_shelf,)))
    after = in_a_cabinet(line, a_system(cabinets=(larger,)))
    assert SEVERITY[after] <= SEVERITY[before]


def _larger(opening, wider, deeper):
    def more(length, mm):
        return None if length is None else replace(length, value_nm=length.value_nm + mm * 1_000_000)

    return Size(more(opening.width, wider), more(opening.depth, deeper), opening.height)


@given(*[st.integers(1, 1000)] * 4, st.integers(0, 50))
def test_a_drawer_enters_its_slot_as_that_slot_would_enter_it_turned_round(width, depth, wide, deep, play):
    plain = enters_either_way(width, depth, wide, deep, play)
    swapped = enters_either_way(depth, width, wide, deep, play)
    slot_turned = enters_either_way(width, depth, deep, wide, play)
    assert plain.entry is swapped.entry is slot_turned.entry
    assert plain.margin_nm == swapped.margin_nm == slot_turned.margin_nm


@few
@given(line=any_line, system=systems)
def test_a_verdict_is_never_better_than_its_worst_rule_and_unknown_lets_nothing_in(line, system):
    answer = answer_to(line, system)
    if answer.verdict in (Verdict.AS_IT_IS, Verdict.BY_THE_TRAY):
        on_its_way = [f.outcome for f in answer.deciding if f.route is answer.verdict]
        assert on_its_way
        assert set(on_its_way) <= {Outcome.PASS, Outcome.CAUTION}


@few
@given(line=any_line, system=systems)
def test_a_line_on_hold_says_what_is_missing_and_what_it_waits_for(line, system):
    answer = answer_to(line, system)
    assert (answer.verdict is Verdict.HOLD) == (answer.otherwise is not None)
    assert answer.otherwise is not Verdict.HOLD
    if answer.verdict is Verdict.HOLD:
        held = {f.route for f in answer.deciding if f.outcome is Outcome.UNKNOWN}
        assert held
        unruled = any(f.rule == "bottom_and_treatment" and f.outcome is Outcome.UNKNOWN for f in answer.deciding)
        assert answer.missing or unruled


@few
@given(line=any_line, system=systems)
def test_no_figure_from_memory_passes_or_fails_a_drawer_by_itself(line, system):
    for finding in answer_to(line, system).deciding:
        if finding.outcome is Outcome.PASS:
            assert not finding.rests_on_memory
        if finding.outcome is Outcome.FAIL and finding.comparisons:
            assert any(
                not (c.value and c.value.is_from_memory) and not (c.limit and c.limit.is_from_memory)
                for c in finding.comparisons
            )


FACTS_OF_THE_SENDER = ("outer.width", "outer.depth", "outer.height", "pins.depth", "pins.length", "lining.thickness")


def with_fact(line, field, length):
    part, axis = field.split(".")
    whole = getattr(line, part)
    return line if whole is None else replace(line, **{part: replace(whole, **{axis: length})})


@few
@given(
    line=any_line,
    system=systems,
    field=st.sampled_from(FACTS_OF_THE_SENDER),
    length=st.one_of(lengths, heights, small),
)
def test_a_missing_fact_of_the_senders_never_turns_a_known_no_into_a_yes(line, system, field, length):
    without, known = with_fact(line, field, None), with_fact(line, field, length)
    before, after = answer_to(without, system), answer_to(known, system)
    for way in (Verdict.AS_IT_IS, Verdict.BY_THE_TRAY):
        if _status(before, way) is Outcome.FAIL:
            assert _status(after, way) in (Outcome.FAIL, None)


def _status(answer, way):
    outcomes = [f.outcome for f in answer.deciding if f.route is way]
    return worst(outcomes) if outcomes else None


@few
@given(line=lines, cabinet=cabinets, pitch=heights, removable=st.booleans(), ledge=st.sampled_from([5, 12]))
def test_a_missing_fact_of_the_receivers_never_turns_a_known_no_into_a_yes(line, cabinet, pitch, removable, ledge):
    unsaid = replace(cabinet, pitch=None, runners_removable=None, runner_ledge=None, doorway=None)
    said = replace(cabinet, pitch=pitch, runners_removable=removable, runner_ledge=Dimension(ledge * 1_000_000))
    if in_a_cabinet(line, a_system(cabinets=(unsaid,))) is Outcome.FAIL:
        assert in_a_cabinet(line, a_system(cabinets=(said,))) is Outcome.FAIL


@few
@given(consignment=st.lists(any_line, max_size=3), system=systems)
def test_amounts_add_up_to_the_total_and_only_a_full_cost_calls_itself_complete(consignment, system):
    answer = check(tuple(consignment), system)
    amounts = [item.amount for item in answer.cost.items]
    assert answer.cost.total == sum(amount for amount in amounts if amount is not None)
    for item in answer.cost.items:
        if item.amount is not None and item.rate is not None:
            assert item.amount == cents(item.quantity * item.rate)
    if answer.cost.complete:
        assert None not in amounts
        assert all(None not in (line.needed.drawers, line.needed.cabinet_positions) for line in answer.lines)


@few
@given(line=any_line, system=systems)
def test_area_never_asks_for_more_drawers_than_the_trays_do(line, system):
    needed = answer_to(line, system).needed
    if needed.drawers is not None:
        assert needed.drawers_at_least <= needed.drawers


@few
@given(consignment=st.lists(any_line, max_size=3), system=systems)
def test_every_line_is_counted_under_one_verdict(consignment, system):
    answer = check(tuple(consignment), system)
    assert sum(count.lines for count in answer.counts) == len(consignment)
    assert sum(count.containers for count in answer.counts) == sum(line.count for line in consignment)


def test_these_laws_are_about_something():
    assert in_a_cabinet(a_line(), a_system()) is Outcome.PASS
    assert in_a_cabinet(a_line(outer=Size(None, None, None)), a_system()) is Outcome.UNKNOWN
    assert in_a_cabinet(a_line(), a_system(cabinets=())) is Outcome.FAIL
