"""Asking the check for one answer out of many."""

from service.core.consignment import Line
from service.core.fit.answer import LineAnswer
from service.core.fit.check import check
from service.core.fit.findings import Finding
from service.core.standards import StorageSystem


def answer_to(line: Line, system: StorageSystem) -> LineAnswer:
    return check((line,), system).lines[0]


def found(line: Line, system: StorageSystem, rule: str) -> Finding:
    """The one finding of a rule."""
    (finding,) = all_found(line, system, rule)
    return finding


def all_found(line: Line, system: StorageSystem, rule: str) -> list[Finding]:
    return [finding for finding in answer_to(line, system).findings if finding.rule == rule]
