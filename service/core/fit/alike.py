"""Lines that say the same of their containers get one answer: worked out once, kept once, told once.

Of five thousand lines most are drawers by the same maker, and differ in what stands in them. Their answers are equal
but for the line's own number; each still has its own verdict, and names the line whose findings hold for it too.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from service.core.consignment import Line
from service.core.fit.answer import FitAnswer, LineAnswer
from service.core.fit.case import Case


def answers_to(cases: Iterable[Case], answer: Callable[[Case], LineAnswer]) -> Iterator[LineAnswer]:
    """The answer to each case, worked out once for all that are alike."""
    first: dict[Line, LineAnswer] = {}
    for case in cases:
        alike = first.get(kind := _without_words(case.line))
        if alike is None:
            first[kind] = alike = answer(case)
            yield alike
        else:
            yield _said_of(alike, case.index + 1)


def told_once(answer: FitAnswer) -> FitAnswer:
    """The answer with the findings of lines that are alike under the first of them only."""
    return replace(answer, lines=tuple(map(_briefly, answer.lines)))


def told_in_full(answer: FitAnswer) -> FitAnswer:
    """What :func:`told_once` left out, put back."""
    lines = answer.lines
    return replace(answer, lines=tuple(_in_full(line, lines) for line in lines))


def _without_words(line: Line) -> Line:
    """What the rules look at: they read neither description nor names nor condition."""
    return replace(line, description="", taxa=None, condition=None)


def _said_of(alike: LineAnswer, number: int) -> LineAnswer:
    """One line's answer, said of another that is like it: the facts that are missing are the other's."""
    there, here = f"lines[{alike.line - 1}].", f"lines[{number - 1}]."

    def renamed(missing: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(name.replace(there, here) for name in missing)

    findings = (replace(f, missing=renamed(f.missing)) if f.missing else f for f in alike.findings)
    missing = renamed(alike.missing)
    return replace(alike, line=number, like_line=alike.line, missing=missing, findings=tuple(findings))


def _briefly(answer: LineAnswer) -> LineAnswer:
    return answer if answer.like_line is None else replace(answer, findings=(), tray_fits=())


def _in_full(answer: LineAnswer, lines: tuple[LineAnswer, ...]) -> LineAnswer:
    return answer if answer.like_line is None else _said_of(lines[answer.like_line - 1], answer.line)
