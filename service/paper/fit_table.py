"""A fit check as plain text: to read in a terminal, to print, to put in a letter."""

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from service.core.care.cautions import HandlingCaution
from service.core.consignment import Line
from service.core.fit.answer import FitAnswer, LineAnswer
from service.core.fit.findings import Comparison, Finding, Outcome, Verdict
from service.core.materials import plainly
from service.paper.cost_table import cost_table, needed_table
from service.paper.text_table import bullets, cell, in_ascii, on_the_point, spaced, table, titled, wrapped
from service.paper.wording import (
    MEMORY_MARK,
    MEMORY_NOTE,
    VERDICT_MEANING,
    VERDICT_WORDS,
    decider,
    field_words,
    margin_words,
    mm,
    printable,
    reason_with_margin,
    verdict_words,
    worst_first,
)


def fit_table(
    answer: FitAnswer,
    *,
    consignment: str = "",
    sender: str = "",
    system: str = "",
    revision: str = "",
    checked_on: date | None = None,
    lines: Sequence[Line] = (),
    handling: Iterable[HandlingCaution] = (),
) -> str:
    """The whole answer as plain text, no line longer than 110 characters: the answer first, its reasons after it.

    ``lines`` are the consignment's own, in order, for their descriptions, and ``handling`` what to mind with them.
    Our own words are ASCII but for the multiplication sign; names stand as their owners write them. Amounts that are
    unknown say so, and the total is then an "at least".
    """
    sources: dict[str, int] = {}
    blocks = [
        _heading(consignment, sender, system, revision, checked_on),
        _verdicts(answer.lines, lines),
        _counts(answer),
        needed_table(answer.needed, answer.lines),
        cost_table(answer.cost),
        _to_ask(answer.lines, lines),
        bullets("Cautions", answer.cautions),
        bullets("Handle with care", (caution.sentence for caution in handling)),
        *(_details(line, lines, answer.cautions, sources) for line in answer.lines if not _is_clean(line)),
        _sources(sources),
    ]
    page = "\n\n".join(block for block in blocks if block)
    if MEMORY_MARK in page:
        page += f"\n\n{MEMORY_NOTE}"
    return in_ascii(page)


def _heading(consignment: str, sender: str, system: str, revision: str, checked_on: date | None) -> str:
    facts = {
        "Consignment": consignment,
        "Sender": sender,
        "Storage system": f"{system}, revision {revision}" if revision else system,
        "Checked on": checked_on.isoformat() if checked_on else "",
    }
    rows = [wrapped(f"{name + ':':16}{printable(value)}", 16) for name, value in facts.items() if value]
    return "\n".join(["FIT CHECK", "=========", *rows])


def _verdicts(answers: Iterable[LineAnswer], lines: Sequence[Line]) -> str:
    rows = [
        [
            answer.line,
            cell(_what(answer, lines), 24),
            f"{answer.count:,}",
            cell(verdict_words(answer), 13),
            cell(_why(answer), 46),
        ]
        for answer in answers
    ]
    return spaced(rows, ["Line", "What", "Count", "Verdict", "Why"], ("right", "left", "right", "left", "left"))


def _what(answer: LineAnswer, lines: Sequence[Line]) -> str:
    container = plainly(answer.container)
    description = lines[answer.line - 1].description if answer.line <= len(lines) else ""
    return f"{container}: {printable(description)}" if description else container


def _why(answer: LineAnswer) -> str:
    finding = decider(answer)
    if finding is None:
        return "no rule had anything to compare"
    mark = f" {MEMORY_MARK}" if finding.rests_on_memory else ""
    return reason_with_margin(finding) + mark


def _counts(answer: FitAnswer) -> str:
    rows = [
        [VERDICT_WORDS[count.verdict], f"{count.lines:,}", f"{count.containers:,}", VERDICT_MEANING[count.verdict]]
        for count in answer.counts
    ]
    headers = ["Verdict", "Lines", "Containers", "Means"]
    return titled("Altogether", rows, headers, ("left", "right", "right", "left"))


def _is_clean(answer: LineAnswer) -> bool:
    return answer.verdict is Verdict.AS_IT_IS and all(f.outcome is Outcome.PASS for f in answer.findings)


def _details(answer: LineAnswer, lines: Sequence[Line], cautions: Iterable[str], sources: dict[str, int]) -> str:
    """One line at length. What stands under the cautions for all is not said again for each, and what holds for the
    way in as it is and for that by the tray is said once. A line that is like another refers to it.
    """
    head = f"Line {answer.line} - {_what(answer, lines)}, {answer.count:,} × - {verdict_words(answer)}"
    if answer.like_line is not None:
        return wrapped(f"{head}: the same as line {answer.like_line}, and for the same reasons", 2)
    passed = worst_first(finding for finding in answer.findings if finding.outcome is Outcome.PASS)
    found = worst_first(finding for finding in answer.findings if finding.outcome is not Outcome.PASS)
    found = [finding for finding in found if finding.reason not in cautions]
    parts = [wrapped(head, 2), _figures(found)]
    parts += dict.fromkeys(_sentence(finding, sources) for finding in found if finding.deciding)
    if passed:
        names = dict.fromkeys(_passed(finding) for finding in passed)
        parts.append(wrapped(f"  passed  {'; '.join(names)}.", 10))
    advice = [_sentence(finding, sources) for finding in found if not finding.deciding]
    if advice:
        parts += ["  Advice, which changes no verdict:", *advice]
    return "\n".join(part for part in parts if part)


def _figures(findings: Iterable[Finding]) -> str:
    rows = [row for finding in findings for row in _finding_rows(finding)]
    if not rows:
        return ""
    numbers = [on_the_point([row[column] for row in rows]) for column in (3, 4, 5)]
    rows = [[*row[:3], *figures] for row, *figures in zip(rows, *numbers, strict=True)]
    headers = ["Rule", "Answer", "Compared", "Value mm", "Limit mm", "Margin mm"]
    return textwrap.indent(table(rows, headers, ("left",) * 3 + ("right",) * 3), "  ") + "\n"


def _finding_rows(finding: Finding) -> Iterator[list[str]]:
    rule, outcome = cell(_rule(finding), 26), finding.outcome.value
    for comparison in finding.comparisons:
        yield [rule, outcome, cell(printable(comparison.what), 28), *_comparison_figures(comparison)]
        rule = outcome = ""


def _comparison_figures(comparison: Comparison) -> list[str]:
    return [
        mm(comparison.value_nm, comparison.value),
        mm(comparison.limit_nm, comparison.limit),
        mm(comparison.margin_nm),
    ]


def _rule(finding: Finding) -> str:
    rule = finding.rule.replace("_", " ").replace("re housing", "re-housing")
    return f"{rule} ({printable(finding.subject)})" if finding.subject else rule


def _sentence(finding: Finding, sources: dict[str, int]) -> str:
    mark = f" {MEMORY_MARK}" if finding.rests_on_memory else ""
    source = f" [{_source_number(finding.source, sources)}]" if finding.source else ""
    why = f"  {finding.outcome.value:8}{_rule(finding)}: {printable(finding.reason)}{mark}{source}"
    remedy = [wrapped(f"{'':10}What helps: {printable(finding.remedy)}", 10)] if finding.remedy else []
    return "\n".join([wrapped(why, 10), *remedy])


def _source_number(source: str, sources: dict[str, int]) -> int:
    """The number that a source is cited by, in the order of the page; ``sources`` remembers it."""
    return sources.setdefault(source, len(sources) + 1)


def _passed(finding: Finding) -> str:
    # A rule may pass all the same where the worst case of all is too much but hardly ever happens.
    margin = "" if (finding.margin_nm or 0) < 0 else margin_words(finding.margin_nm)
    mark = f" {MEMORY_MARK}" if finding.rests_on_memory else ""
    return _rule(finding) + (f", {margin}" if margin else "") + mark


def _to_ask(answers: Sequence[LineAnswer], lines: Sequence[Line]) -> str:
    """Facts that are missing: the sender's line by line, and then what the receiver has to measure and publish."""
    sender = [question for answer in answers if (question := _question(answer, lines))]
    missing = (fact for answer in answers for fact in answer.missing)
    own = dict.fromkeys(field_words(fact) for fact in missing if fact.startswith("system."))
    parts = [bullets("To ask the sender", sender), bullets("To measure and publish yourselves", own)]
    return "\n\n".join(part for part in parts if part)


def _question(answer: LineAnswer, lines: Sequence[Line]) -> str:
    """What to ask the sender about one line; nothing where no fact of theirs is missing."""
    facts = [field_words(fact) for fact in answer.missing if not fact.startswith("system.")]
    return f"line {answer.line}, {_what(answer, lines)}: {'; '.join(facts)}" if facts else ""


def _sources(sources: Mapping[str, int]) -> str:
    rows = [wrapped(f"  [{number}] {printable(source)}", 6) for source, number in sources.items()]
    return "\n".join(["Sources", *rows]) if rows else ""
