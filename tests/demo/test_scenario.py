"""The invented scenario is loaded once, and found again whatever visitors have done in the meantime."""

from sqlalchemy import Engine

from service.actions import fit_checks
from service.actions.fit_checks import Question
from service.core.actor import Actor
from service.core.fit.findings import Verdict
from service.demo import arrangement, housing, papers, scenario
from service.store import events, systems
from service.store.session import open_session


def test_a_second_load_finds_the_first_and_not_what_a_visitor_asked_since(engine: Engine) -> None:
    first = scenario.load(engine)
    receiver = first.receiver
    with open_session(engine, receiver.id) as session:
        system = systems.by_code(session, receiver.id, scenario.SYSTEMS[receiver.code])
        consignment = first.fit_check.consignment_id
        assert consignment is not None
        visitors = fit_checks.ask(session, Actor(receiver.id, receiver.code), Question(consignment, system.id))
        session.commit()
    again = scenario.load(engine)
    assert again.fit_check.id == first.fit_check.id != visitors.id
    assert again.fit_check == first.fit_check


def test_the_donation_goes_every_way_that_there_is(engine: Engine) -> None:
    """The README promises one line of each."""
    verdicts = [line.verdict for line in scenario.load(engine).fit_check.answer.lines]
    assert sorted(verdicts) == sorted(Verdict)


def test_the_demos_key_opens_until_another_is_made_up(engine: Engine) -> None:
    receiver = scenario.load(engine).receiver
    key = scenario.new_key(engine, receiver)
    assert scenario.key_is_good(engine, receiver, key)
    assert not scenario.key_is_good(engine, receiver, f"{key[:-1]}x")


def test_the_plan_of_the_donation_needs_fewer_drawers_than_the_fit_check_allows_for(engine: Engine) -> None:
    """By hand: 24 trays in a drawer less a fifth are 19, and 1,440 / 19 is 76 drawers. With a fifth of the depth kept
    free in one strip there are 5 rows of 4 in front of it: 1,440 / 20 is 72."""
    first = scenario.load(engine)
    assert housing.in_words(first.housing_plan) == (
        "Housing plan\n  1,440 trays that move over: 76 drawers at most by the fit check, 72 by the plan, proved: no "
        "layout needs fewer than 72."
    )
    assert scenario.load(engine).housing_plan == first.housing_plan


def test_a_dozen_trays_are_half_taken_in_among_the_beetles_and_nobody_carries_twice(engine: Engine) -> None:
    first = scenario.load(engine).arrangement
    assert first.done_count == first.step_count // 2
    assert "12 trays of the donation go in" in arrangement.in_words(first)
    assert scenario.load(engine).arrangement == first


def test_a_loan_is_in_quarantine_and_its_warm_spell_shows(engine: Engine) -> None:
    """60 and 50 hours below -25 °C are each less than the 72 of Hammer 2012; three hours at -19.5 °C lie between."""
    first = scenario.load(engine)
    assert "q-PL-2026-4: under way. The log does not show" in first.in_quarantine
    assert scenario.load(engine).in_quarantine == first.in_quarantine


def test_a_newcomer_finds_all_that_happened_in_the_feed(engine: Engine) -> None:
    receiver = scenario.load(engine).receiver
    with open_session(engine, receiver.id) as session:
        events.catch_up(session, receiver.id)
        told = {event.type.value for event in events.after(session, receiver.id, 0, 1_000)}
    made = {"storage_system.published", "consignment.written", "fit_check.made", "housing_plan.made"}
    assert told >= made | {"transfer.signed", "transfer.dispatched", "transfer.received_back"}


def test_the_loans_papers_are_printed_once_and_the_agreement_no_longer_says_all(engine: Engine) -> None:
    first = scenario.load(engine).printed
    assert [verified.is_as_printed for verified in first.verified] == [False, True, True, True]
    assert scenario.load(engine).printed.papers == first.papers
    told = papers.in_words(first)
    assert all(paper.check_code in told for paper in first.papers)
    assert "changed since" in told.splitlines()[2]
