"""Random clerks against a dictionary: whatever they try, in whatever order, the counts balance."""

from datetime import UTC, date, datetime, timedelta

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from transfer_builders import line, loan

from service.core.transfers.chain import Link, link, verify
from service.core.transfers.facts import Fact, Recount, Step, movements
from service.core.transfers.ledger import Account, Move, balances, check_balanced, postings
from service.core.transfers.lines import Line
from service.core.transfers.parties import Side
from service.core.transfers.reconciliation import tallies
from service.core.transfers.refusals import BelowZero, RefusedStep
from service.core.transfers.standing import standing
from service.core.transfers.states import State, state_of
from service.core.transfers.steps import RULES, add_fact, open_steps
from service.core.transfers.transfer import Transfer, agreement_digest

FIRST = date(2026, 1, 1)
LAST = date(2030, 1, 1)
MOVING = [step for step in Step if RULES[step].paths]
SPEAKING = [
    step for step in Step if not RULES[step].paths and step not in {Step.WRITTEN, Step.SIGNED, Step.WITHDRAWN}
]
WAYS = [(step, path) for step in MOVING for path in range(len(RULES[step].paths))]
AWAY = ("transit_out", "borrower", "transit_back")


class Clerks(RuleBasedStateMachine):
    """The model knows places and counts and nothing of postings, rules or chains."""

    def __init__(self) -> None:
        super().__init__()
        self.transfer: Transfer = loan(line("1", 12), line("2", 5), line("3", 1))
        self.facts: tuple[Fact, ...] = ()
        self.links: list[Link] = []
        self.today = FIRST
        self.place: dict[str, dict[str, int]] = {part.key: {} for part in self.transfer.lines}
        self.closed = False
        self.sentences: set[str] = set()

    def attempt(self, step: Step, side: Side, **said: object) -> bool:
        """Try a step; whether it was taken. A retry after a lost answer is a second attempt like any other."""
        one = Fact(step, side, "A. Clerk", self.today, **said)  # type: ignore[arg-type]
        try:
            self.facts = add_fact(self.transfer, self.facts, one, LAST)
        except (RefusedStep, BelowZero) as refusal:
            self.sentences.add(refusal.message)
            return False
        recorded = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=len(self.links))
        self.links.append(link(self.transfer.key, self.links[-1] if self.links else None, one, recorded))
        return True

    @initialize(stages=st.integers(0, 4))
    def the_loan_has_come_some_way(self, stages: int) -> None:
        for stage in (self.both_agree, self.everything_is_packed, self.a_parcel_goes_out, self.the_post_comes)[
            :stages
        ]:
            stage()

    @rule(days=st.integers(0, 40))
    def some_days_pass(self, days: int) -> None:
        self.today += timedelta(days=days)

    @precondition(lambda self: not self.is_agreed())
    @rule(side=st.sampled_from(Side))
    def somebody_signs(self, side: Side) -> None:
        self.attempt(Step.SIGNED, side, agreement=agreement_digest(self.transfer))

    @precondition(lambda self: not self.is_agreed())
    @rule()
    def both_agree(self) -> None:
        text = agreement_digest(self.transfer)
        if standing(self.transfer.ending, self.facts).agreement != text:
            self.attempt(Step.WRITTEN, Side.LENDER, agreement=text)
        for side in Side:
            self.attempt(Step.SIGNED, side, agreement=text)

    @precondition(lambda self: self.lent() == 0)
    @rule(count=st.integers(1, 15))
    def a_line_changes(self, count: int) -> None:
        before = self.transfer
        changed: tuple[Line, ...] = (line("1", count), *before.lines[1:])
        self.transfer = loan(*changed)
        if self.attempt(Step.WRITTEN, Side.LENDER, agreement=agreement_digest(self.transfer)):
            assert not standing(self.transfer.ending, self.facts).signed
        else:
            self.transfer = before

    @rule(
        step=st.sampled_from(MOVING),
        wrong_side=st.sampled_from([False, False, False, True]),
        key=st.sampled_from("123"),
        count=st.sampled_from([1, 1, 2, 3, 5, 12, 14]),
        path=st.integers(0, 7),
        days_late=st.sampled_from([0, 0, 0, 3, 30]),
    )
    def somebody_moves(self, step: Step, wrong_side: bool, key: str, count: int, path: int, days_late: int) -> None:
        (side, *_) = RULES[step].by
        self.move(step, side.other if wrong_side else side, key, count, path, days_late)

    @precondition(lambda self: self.away())
    @rule(data=st.data())
    def something_that_is_somewhere_goes_elsewhere(self, data: st.DataObject) -> None:
        stock = [(key, where) for key, place in self.place.items() for where, n in place.items() if n > 0]
        key, where = data.draw(st.sampled_from(sorted(stock)))
        step, path = data.draw(
            st.sampled_from([way for way in WAYS if RULES[way[0]].paths[way[1]][0] == where] or WAYS)
        )
        (side, *_) = RULES[step].by
        self.move(step, side, key, data.draw(st.integers(1, max(1, self.place[key][where]))), path)

    def move(self, step: Step, side: Side, key: str, count: int, path: int = 0, days_late: int = 0) -> None:
        source, target = RULES[step].paths[path % len(RULES[step].paths)]
        now, self.today = self.today, self.today - timedelta(days=days_late)
        taken = self.attempt(
            step, side, moves=(Move(key, source, target, count),), reason="so it is", third_party="Third House"
        )
        self.today = now
        held = self.place[key].get(source.value, 0)
        if taken:
            assert not self.closed
            assert source is Account.COLLECTION or held >= count
            self.place[key][source.value] = held - count
            self.place[key][target.value] = self.place[key].get(target.value, 0) + count

    @precondition(lambda self: self.held("packed"))
    @rule()
    def a_parcel_goes_out(self) -> None:
        for key, place in self.place.items():
            if place.get("packed"):
                self.move(Step.DISPATCHED, Side.LENDER, key, place["packed"])

    @precondition(lambda self: self.held("borrower"))
    @rule(part=st.integers(1, 3))
    def a_parcel_goes_home(self, part: int) -> None:
        for key, place in self.place.items():
            if place.get("borrower"):
                self.move(Step.SENT_BACK, Side.BORROWER, key, max(1, place["borrower"] // part))

    @precondition(lambda self: self.held("transit_out") or self.held("transit_back"))
    @rule()
    def the_post_comes(self) -> None:
        for key, place in self.place.items():
            for source, step, side in (("transit_out", Step.RECEIVED, Side.BORROWER),
                                       ("transit_back", Step.RECEIVED_BACK, Side.LENDER)):  # fmt: skip
                if place.get(source):
                    self.move(step, side, key, place[source])

    @precondition(lambda self: self.is_agreed() and not self.closed)
    @rule()
    def everything_is_packed(self) -> None:
        for part in self.transfer.lines:
            left = part.count + self.place[part.key].get("collection", 0)
            if left > 0:
                self.move(Step.PACKED, Side.LENDER, part.key, left)

    @precondition(lambda self: self.lent())
    @rule(
        step=st.sampled_from(SPEAKING), wrong_side=st.sampled_from([False, False, True]), key=st.sampled_from("123")
    )
    def somebody_says_something(self, step: Step, wrong_side: bool, key: str) -> None:
        side = next(iter(RULES[step].by))
        side = side.other if wrong_side else side
        reconciled_before = standing(self.transfer.ending, self.facts).reconciled_on
        said = {"recounts": (Recount(key, 5, 4),)} if step is Step.DIFFERENCE_REPORTED else {}
        taken = self.attempt(step, side, until=self.today + timedelta(days=90), reason="as it is", **said)
        if taken and step is Step.RECONCILED:
            assert self.away() == 0
            assert self.lent() > 0
        if taken and step is Step.CLOSED:
            assert self.away() == 0
            assert reconciled_before is not None
            self.closed = True

    @precondition(lambda self: self.lent() and not self.away())
    @rule()
    def the_lender_closes_the_file(self) -> None:
        self.attempt(Step.DIFFERENCE_SETTLED, Side.LENDER, reason="counted again")
        self.attempt(Step.RECONCILED, Side.LENDER)
        if self.attempt(Step.CLOSED, Side.LENDER):
            assert self.away() == 0
            self.closed = True

    @precondition(lambda self: self.links)
    @rule(data=st.data())
    def somebody_tampers(self, data: st.DataObject) -> None:
        at = data.draw(st.integers(0, len(self.links) - 1))
        body = bytearray(self.links[at].body)
        body[data.draw(st.integers(0, len(body) - 1))] ^= data.draw(st.integers(1, 255))
        forged = [*self.links]
        forged[at] = Link(at + 1, bytes(body), self.links[at].digest)
        found = verify(self.transfer.key, forged)
        assert found is not None
        assert found.seq == at + 1

    def is_agreed(self) -> bool:
        return standing(self.transfer.ending, self.facts).is_agreed

    def held(self, where: str) -> int:
        return sum(place.get(where, 0) for place in self.place.values())

    def away(self) -> int:
        return sum(self.held(where) for where in AWAY)

    def lent(self) -> int:
        return -self.held("collection") - self.held("packed")

    @invariant()
    def the_books_say_what_the_dictionary_says(self) -> None:
        books = balances(movements(self.facts))
        for key, place in self.place.items():
            assert {a.value: n for a, n in books.get(key, {}).items() if n} == {a: n for a, n in place.items() if n}

    @invariant()
    def every_movement_balances_and_nothing_is_below_zero_on_any_day(self) -> None:
        for one in self.facts:
            check_balanced(postings(one.moves))
        for on in {one.on for one in self.facts}:
            for accounts in balances(movements(self.facts), on).values():
                assert all(n >= 0 for account, n in accounts.items() if account is not Account.COLLECTION)

    @invariant()
    def every_refusal_is_a_sentence(self) -> None:
        assert all(said.endswith(".") and "{" not in said and "None" not in said for said in self.sentences)

    @invariant()
    def every_line_adds_up(self) -> None:
        for key, tally in tallies(balances(movements(self.facts))).items():
            assert tally.adds_up
            assert tally.outstanding == sum(self.place[key].get(where, 0) for where in AWAY)

    @invariant()
    def the_state_follows_and_the_chain_holds(self) -> None:
        now = standing(self.transfer.ending, self.facts)
        assert (state_of(now) in {State.CLOSED, State.CLOSED_WITH_LOSS}) == self.closed
        if self.closed:
            assert not open_steps(self.transfer, self.facts, Side.LENDER)
        assert verify(self.transfer.key, self.links, self.links[-1].head if self.links else None) is None


Clerks.TestCase.settings = settings(max_examples=50, stateful_step_count=60, deadline=None)
TestClerks = Clerks.TestCase
