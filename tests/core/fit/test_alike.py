"""Lines that say the same of their containers are answered once, and nothing is lost by it."""

from dataclasses import replace

from builders import a_line, a_system, size
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.consignment import Line
from service.core.fit.alike import told_in_full, told_once
from service.core.fit.answer import FitAnswer, LineAnswer
from service.core.fit.check import check
from service.core.fit.findings import Verdict

KINDS = (a_line(), a_line(outer=size(600, 400, 60)), a_line(outer=size()), a_line(count=3))
few = settings(max_examples=30, deadline=None)
WORDS = st.sampled_from(["", "Moths", "Sawflies"])


@st.composite
def lines(draw: st.DrawFn) -> tuple[Line, ...]:
    """Some lines of a few kinds, each with words of its own."""
    kinds = draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=8))
    return tuple(replace(kind, description=draw(WORDS), taxa=draw(WORDS) or None) for kind in kinds)


def alone(line: Line, number: int) -> LineAnswer:
    """The answer to a line that nothing is like: the lines before it are of a kind that no other is."""
    stranger = a_line(outer=size(333, 333, 33))
    return check((*(replace(stranger, count=n + 1) for n in range(number - 1)), line), a_system()).lines[-1]


@few
@given(lines())
def test_a_line_is_answered_as_if_it_were_the_only_one_of_its_kind(asked: tuple[Line, ...]) -> None:
    for number, answer in enumerate(check(asked, a_system()).lines, start=1):
        assert replace(answer, like_line=None) == alone(asked[number - 1], number)


@few
@given(lines())
def test_what_is_told_once_can_be_told_in_full(asked: tuple[Line, ...]) -> None:
    answer = check(asked, a_system())
    assert told_in_full(told_once(answer)) == answer


def of_three_drawers(**different: object) -> FitAnswer:
    one = a_line(outer=size(), description="Moths")
    return check((one, replace(one, description="Sawflies", taxa="Tenthredo"), replace(one, **different)), a_system())


def test_each_line_has_its_verdict_and_asks_for_its_own_facts() -> None:
    first, second, third = of_three_drawers().lines
    assert [line.verdict for line in (first, second, third)] == [first.verdict] * 3
    assert (first.like_line, second.like_line, third.like_line) == (None, 1, 1)
    assert any(name.startswith("lines[0].") for finding in first.findings for name in finding.missing)
    assert not any("lines[0]" in name for finding in third.findings for name in finding.missing)
    assert any(name.startswith("lines[2].") for finding in third.findings for name in finding.missing)


def test_another_count_or_size_is_another_kind() -> None:
    assert of_three_drawers(count=7).lines[2].like_line is None
    assert of_three_drawers(outer=size(500, 400, 60)).lines[2].like_line is None


def test_what_is_told_of_a_line_like_another_is_short_and_the_verdict_stays() -> None:
    told = told_once(of_three_drawers())
    assert told.lines[0].findings
    assert told.lines[1].findings == told.lines[2].findings == ()
    assert all(isinstance(line.verdict, Verdict) for line in told.lines)
    assert sum(count.lines for count in told.counts) == 3
