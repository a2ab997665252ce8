"""A fit check as plain text: to read in a terminal, to print, to put in a letter."""

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal

from tabulate import tabulate

from service.core.consignment import Line
from service.core.fit.answer import Cost, CostItem, FitAnswer, LineAnswer, Needed
from service.core.fit.findings import Comparison, Finding, Outcome, Verdict
from service.core.materials import plainly
from service.paper.wording import (
    MEMORY_MARK,
    MEMORY_NOTE,
    UNKNOWN,
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

#: Fits a terminal beside another window and a sheet of A4 lying on its side.
PAGE_COLUMNS = 110
_TO_ASCII = str.maketrans("“”‘’″′−·²", "\"\"''\"'--2")
_CENT = Decimal("0.01")
_SQUARE_MM_PER_SQUARE_M = 1_000_000


def fit_table(
    answer: FitAnswer,
    *,
    consignment: str = "",
    sender: str = "",
    system: str = "",
    revision: str = "",
    checked_on: date | None = None,
    lines: Sequence[Line] = (),
) -> str:
    """The whole answer as plain text, no line longer than 110 characters.

    ``lines`` are the consignment's own, in order, for their descriptions. Our own words are ASCII but for the
    multiplication sign; names stand as their owners write them. Amounts that are unknown say so, and the total
    is then an "at least".
    """
    sources: dict[str, int] = {}
    blocks = [
        _heading(consignment, sender, system, revision, checked_on),
        _verdicts(answer.lines, lines),
        _counts(answer),
        *(_details(line, lines, answer.cautions, sources) for line in answer.lines if not _is_clean(line)),
        _needed(answer.needed),
        _cost(answer.cost),
        _bullets("Cautions", answer.cautions),
        _to_ask(answer.lines),
        _sources(sources),
    ]
    page = "\n\n".join(block for block in blocks if block)
    if MEMORY_MARK in page:
        page += f"\n\n{MEMORY_NOTE}"
    return "\n".join(row.rstrip() for row in page.translate(_TO_ASCII).splitlines()) + "\n"


def _heading(consignment: str, sender: str, system: str, revision: str, checked_on: date | None) -> str:
    facts = {
        "Consignment": consignment,
        "Sender": sender,
        "Storage system": f"{system}, revision {revision}" if revision else system,
        "Checked on": checked_on.isoformat() if checked_on else "",
    }
    rows = [_wrapped(f"{name + ':':16}{printable(value)}", 16) for name, value in facts.items() if value]
    return "\n".join(["FIT CHECK", "=========", *rows])


def _verdicts(answers: Iterable[LineAnswer], lines: Sequence[Line]) -> str:
    rows = [
        [
            answer.line,
            _cell(_what(answer, lines), 24),
            f"{answer.count:,}",
            _cell(verdict_words(answer), 13),
            _cell(_why(answer), 46),
        ]
        for answer in answers
    ]
    return _spaced(rows, ["Line", "What", "Count", "Verdict", "Why"], ("right", "left", "right", "left", "left"))


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
    return _titled("Altogether", rows, headers, ("left", "right", "right", "left"))


def _is_clean(answer: LineAnswer) -> bool:
    return answer.verdict is Verdict.AS_IT_IS and all(f.outcome is Outcome.PASS for f in answer.findings)


def _details(answer: LineAnswer, lines: Sequence[Line], cautions: Iterable[str], sources: dict[str, int]) -> str:
    """One line at length. What stands under the cautions for all is not said again for each."""
    head = f"Line {answer.line} - {_what(answer, lines)}, {answer.count:,} × - {verdict_words(answer)}"
    passed = worst_first(finding for finding in answer.findings if finding.outcome is Outcome.PASS)
    found = worst_first(finding for finding in answer.findings if finding.outcome is not Outcome.PASS)
    found = [finding for finding in found if finding.reason not in cautions]
    parts = [_wrapped(head, 2), _figures(found)]
    parts += [_sentence(finding, sources) for finding in found if finding.deciding]
    if passed:
        names = dict.fromkeys(_passed(finding) for finding in passed)
        parts.append(_wrapped(f"  passed  {'; '.join(names)}.", 10))
    advice = [_sentence(finding, sources) for finding in found if not finding.deciding]
    if advice:
        parts += ["  Advice, which changes no verdict:", *advice]
    return "\n".join(part for part in parts if part)


def _figures(findings: Iterable[Finding]) -> str:
    rows = [row for finding in findings for row in _finding_rows(finding)]
    if not rows:
        return ""
    numbers = [_on_the_point([row[column] for row in rows]) for column in (3, 4, 5)]
    rows = [[*row[:3], *figures] for row, *figures in zip(rows, *numbers, strict=True)]
    headers = ["Rule", "Answer", "Compared", "Value mm", "Limit mm", "Margin mm"]
    return textwrap.indent(_table(rows, headers, ("left",) * 3 + ("right",) * 3), "  ") + "\n"


def _finding_rows(finding: Finding) -> Iterator[list[str]]:
    rule, outcome = _cell(_rule(finding), 26), finding.outcome.value
    for comparison in finding.comparisons:
        yield [rule, outcome, _cell(printable(comparison.what), 28), *_comparison_figures(comparison)]
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
    remedy = [_wrapped(f"{'':10}What helps: {printable(finding.remedy)}", 10)] if finding.remedy else []
    return "\n".join([_wrapped(why, 10), *remedy])


def _source_number(source: str, sources: dict[str, int]) -> int:
    """The number that a source is cited by, in the order of the page; ``sources`` remembers it."""
    return sources.setdefault(source, len(sources) + 1)


def _passed(finding: Finding) -> str:
    margin = margin_words(finding.margin_nm)
    mark = f" {MEMORY_MARK}" if finding.rests_on_memory else ""
    return _rule(finding) + (f", {margin}" if margin else "") + mark


def _needed(needed: Needed) -> str:
    rows = [
        ["drawers to find", _drawers(needed)],
        ["new unit trays", _count(needed.trays)],
        ["unit trays to move over", _count(needed.trays_moved)],
        ["specimens to move one by one", _count(needed.specimens_moved)],
        ["drawers that go straight in", _count(needed.drawers_placed)],
        ["cabinet positions taken", _count(needed.cabinet_positions)],
        ["new pinning bottom", _square_metres(needed.bottom_sheet_mm2)],
    ]
    return "What housing takes\n" + textwrap.indent(tabulate(rows, tablefmt="plain", disable_numparse=True), "  ")


def _drawers(needed: Needed) -> str:
    if needed.drawers is None:
        least = needed.drawers_at_least
        return UNKNOWN if least is None else f"{UNKNOWN}, at least {least:,}"
    if needed.drawers_at_least is not None and needed.drawers_at_least < needed.drawers:
        return f"{needed.drawers_at_least:,} to {needed.drawers:,}"
    return f"{needed.drawers:,}"


def _count(number: int | None) -> str:
    return UNKNOWN if number is None else f"{number:,}"


def _square_metres(mm2: int | None) -> str:
    return UNKNOWN if mm2 is None else f"{Decimal(mm2) / _SQUARE_MM_PER_SQUARE_M:,.2f} m2"


def _cost(cost: Cost) -> str:
    if not cost.items:
        return "Cost\n  nothing to pay for" if cost.complete else "Cost\n  unknown: no rates are published"
    rows = [_cost_row(item) for item in cost.items]
    for column in (1, 3, 4):
        for row, cell in zip(rows, _on_the_point([row[column] for row in rows]), strict=True):
            row[column] = cell
    # The total lines up under the amounts and not on their decimal point, since "at least" goes before it.
    rows.append(["total", "", "", "", _total(cost)])
    headers = ["", "Quantity", "Unit", "Rate", f"Amount {printable(cost.currency or '')}".rstrip()]
    table = _titled("Cost", rows, headers, ("left", "right", "left", "right", "right"))
    return "\n".join([table, *(_wrapped(f"  {note}", 2) for note in _cost_notes(cost))])


def _cost_row(item: CostItem) -> list[str]:
    return [
        _cell(printable(item.what), 28),
        _quantity(item.quantity),
        _cell(printable(item.unit), 12),
        _money(item.rate),
        _money(item.amount),
    ]


def _quantity(quantity: Decimal | None) -> str:
    return UNKNOWN if quantity is None else f"{quantity:,.2f}".removesuffix(".00")


def _money(amount: Decimal | None) -> str:
    return UNKNOWN if amount is None else f"{amount:,.2f}"


def _total(cost: Cost) -> str:
    return _money(cost.total) if cost.complete else f"at least {_money(cost.total)}"


def _cost_notes(cost: Cost) -> Iterator[str]:
    yield from (f"{printable(item.what)}: {printable(item.note)}" for item in cost.items if item.note)
    hours = UNKNOWN if cost.person_hours is None else _quantity(cost.person_hours)
    yield f"Person-hours in all: {hours}."
    if not cost.complete:
        yield "The total leaves out every amount that is unknown."
    shown = sum((item.amount.quantize(_CENT) for item in cost.items if item.amount is not None), Decimal(0))
    if shown != cost.total.quantize(_CENT):
        yield "Each amount is rounded to a hundredth; the total is of the exact amounts."


def _to_ask(answers: Sequence[LineAnswer]) -> str:
    """Facts that are missing: the sender's line by line, and then what the receiver has to measure and publish."""
    asked = [(answer.line, fact) for answer in answers for fact in answer.missing]
    sender = [f"line {number}: {field_words(fact)}" for number, fact in asked if not fact.startswith("system.")]
    own = dict.fromkeys(field_words(fact) for _, fact in asked if fact.startswith("system."))
    parts = [_bullets("To ask the sender", sender), _bullets("To measure and publish yourselves", own)]
    return "\n\n".join(part for part in parts if part)


def _sources(sources: Mapping[str, int]) -> str:
    rows = [_wrapped(f"  [{number}] {printable(source)}", 6) for source, number in sources.items()]
    return "\n".join(["Sources", *rows]) if rows else ""


def _bullets(title: str, sentences: Iterable[str]) -> str:
    rows = [_wrapped(f"  - {printable(sentence)}", 4) for sentence in sentences]
    return "\n".join([title, *rows]) if rows else ""


def _titled(title: str, rows: list[list[str]], headers: list[str], align: tuple[str, ...]) -> str:
    return f"{title}\n{textwrap.indent(_table(rows, headers, align), '  ')}" if rows else ""


def _spaced(rows: list[list[object]], headers: list[str], align: tuple[str, ...]) -> str:
    """A table whose rows may run over several lines, with a blank line between them to keep them apart."""
    if not rows:
        return "The consignment has no lines."
    gaps = [cell for row in rows for cell in (row, [""] * len(headers))][:-1]
    return _table(gaps, headers, align)


def _table(rows: Sequence[Sequence[object]], headers: Sequence[str], align: tuple[str, ...]) -> str:
    # Spaces are kept because _on_the_point pads with them.
    return tabulate(rows, headers, "simple", disable_numparse=True, colalign=align, preserve_whitespace=True)


def _on_the_point(figures: Sequence[str]) -> list[str]:
    """The figures padded on the right so that their decimal points stand under each other when set flush right."""
    tails = [_tail(figure) for figure in figures]
    room = max(tails, default=0)
    return [figure + " " * (room - tail) for figure, tail in zip(figures, tails, strict=True)]


def _tail(figure: str) -> int:
    whole, point, decimals = figure.partition(".")
    return len(point + decimals) if point else len(whole) - len(whole.rstrip(MEMORY_MARK))


def _cell(text: str, columns: int) -> str:
    return textwrap.fill(text, columns)


def _wrapped(text: str, indent: int) -> str:
    return textwrap.fill(text, PAGE_COLUMNS, subsequent_indent=" " * indent)
