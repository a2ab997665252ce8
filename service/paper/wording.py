"""The words that every paper shares: verdicts, figures, and text that is safe to print."""

import re
import unicodedata
from collections.abc import Iterable

from service.core.fit.answer import LineAnswer
from service.core.fit.findings import SEVERITY, Finding, Outcome, Verdict
from service.core.measure.dimension import Dimension
from service.core.measure.lengths import NM_PER_MM, written_mm

VERDICT_WORDS = {
    Verdict.AS_IT_IS: "as it is",
    Verdict.BY_THE_TRAY: "by the tray",
    Verdict.RE_HOUSE: "re-house",
    Verdict.HOLD: "hold",
}
VERDICT_MEANING = {
    Verdict.AS_IT_IS: "goes straight in",
    Verdict.BY_THE_TRAY: "the unit trays move over, their drawers or boxes do not",
    Verdict.RE_HOUSE: "new trays, specimens handled one by one",
    Verdict.HOLD: "a fact is missing",
}
UNKNOWN = "unknown"
#: Set after a figure that was written down from recollection.
MEMORY_MARK = "*"
MEMORY_NOTE = f"{MEMORY_MARK} from memory: check the figure before relying on it."


def verdict_words(answer: LineAnswer) -> str:
    """The verdict as it is said, and for a line on hold what it would be should every missing fact turn out badly."""
    words = VERDICT_WORDS[answer.verdict]
    return f"{words} (else {VERDICT_WORDS[answer.otherwise]})" if answer.otherwise else words


def printable(text: str) -> str:
    """The text on one line, without the control and unpaired characters that upset a terminal or break XML."""
    kept = "".join(" " if unicodedata.category(c) in {"Cc", "Cs", "Cn", "Zl", "Zp"} else c for c in text)
    return " ".join(kept.split())


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """What decides before what advises, the worst answer first, and of equals the tightest."""
    return sorted(findings, key=_rank)


def _rank(finding: Finding) -> tuple[bool, int, float]:
    margin = finding.margin_nm
    return not finding.deciding, -SEVERITY[finding.outcome], float("inf") if margin is None else margin


def decider(answer: LineAnswer) -> Finding | None:
    """The one finding that says most about this verdict.

    A line on hold waits for the facts in ``missing``, even where something else already says no.
    """
    ranked = worst_first(answer.deciding)
    if answer.verdict is Verdict.HOLD:
        asked = set(answer.missing)
        ranked.sort(key=lambda finding: (not asked & set(finding.missing), finding.outcome is not Outcome.UNKNOWN))
    return next(iter(ranked), None)


def margin_words(margin_nm: int | None) -> str:
    """A margin said aloud: ``3.2 mm to spare``, ``3.2 mm too much``, ``nothing to spare``; empty when unknown."""
    if margin_nm is None:
        return ""
    if margin_nm == 0:
        return "nothing to spare"
    return f"{written_mm(abs(margin_nm))} {'to spare' if margin_nm > 0 else 'too much'}"


def reason_with_margin(finding: Finding) -> str:
    """Why, in one sentence, with the margin after it unless the sentence has named it."""
    reason, margin = printable(finding.reason), margin_words(finding.margin_nm)
    named = finding.margin_nm is not None and written_mm(abs(finding.margin_nm)) in reason
    return f"{reason} ({margin})" if margin and not named else reason


#: Facts whose field alone would not tell the sender what to look for.
_ASKED_AS = {
    "trays": "whether there are unit trays inside, of which sizes, and how many",
    "pins.depth": "how deep the pins go into the bottom",
    "pins.length": "length of the longest pin",
    "treatments_used": "treatments used against pests, or that there were none",
}
_LIST_ITEM = re.compile(r"(?P<list>[a-z_]+?)s?\[(?P<which>[^\]]*)\]\.")


def field_words(field: str) -> str:
    """The request's name of a field, as people say it.

    ``lines[3].trays[0].outer.height`` is ``tray size 1, outer height``, and ``system.cabinets[C1].pitch`` is
    ``cabinet C1, pitch``.
    """
    path = re.sub(r"^lines\[\d+\]\.", "", field).removeprefix("system.")
    path = _ASKED_AS.get(path) or _LIST_ITEM.sub(_item_words, path)
    return printable(path.replace("_", " ").replace(".", " "))


def _item_words(match: re.Match[str]) -> str:
    if match["list"] == "tray" and match["which"].isdecimal():
        return f"tray size {int(match['which']) + 1}, "
    return f"{match['list']} {match['which']}, "


def mm(nm: int | None, dimension: Dimension | None = None) -> str:
    """A figure for a column headed mm: at most a hundredth, no needless zeros, marked when it is from memory."""
    if nm is None:
        return UNKNOWN
    figure = f"{nm / NM_PER_MM:.2f}".rstrip("0").rstrip(".")
    figure = "0" if figure == "-0" else figure
    return figure + (MEMORY_MARK if dimension is not None and dimension.is_from_memory else "")
