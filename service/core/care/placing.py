"""Nothing is placed in the collection, or lent on, before its quarantine is over.

Where something is placed or lent on, one question is asked: which quarantines keep it? A named person may release a
quarantine with a reason, or go over this in a step of a transfer; both stay visible.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from service.core.care.quarantine import Standing
from service.core.errors import Conflict
from service.core.transfers.facts import Step
from service.core.transfers.lines import Line
from service.core.transfers.notices import Notice, Weight

#: The code of the notice, which an override of a step has to name.
IN_QUARANTINE = "in-quarantine"
#: Steps by which material of this transfer enters somebody's collection for good, or goes on to others.
PLACES_OWN = frozenset({Step.OWNERSHIP_CHANGED, Step.RETAINED, Step.PASSED_ON})


@dataclass(frozen=True, slots=True)
class Keeping:
    """A quarantine that is not over, and what it keeps."""

    id: UUID
    code: str
    lines: tuple[str, ...]
    standing: Standing
    trays: tuple[str, ...] = ()

    @property
    def sentence(self) -> str:
        lines = f" (line {', '.join(self.lines)})" if self.lines else ""
        lines += f" (tray {', '.join(self.trays)})" if self.trays else ""
        why = self.standing.missing or "It is not over."
        return f"Quarantine {self.code}{lines} is not over. {why}"


class InQuarantine(Conflict):
    """Something would be placed or lent on whose quarantine is not over."""

    def __init__(self, keeping: Iterable[Keeping]) -> None:
        held = tuple(keeping)
        super().__init__(
            IN_QUARANTINE,
            " ".join(one.sentence for one in held) + " To do it all the same, somebody has to release it, by name and"
            " with a reason.",
            quarantines=[one.id for one in held],
        )


def notice_of(keeping: Keeping) -> Notice:
    """The same as an objection to a step of a transfer."""
    return Notice(IN_QUARANTINE, Weight.AGAINST_TERMS, keeping.sentence, keeping.lines)


def keeps(named: tuple[str, ...], moved: frozenset[str]) -> bool:
    """Whether a quarantine of these lines (none named: all) keeps any of the lines that move."""
    return not named or bool(moved.intersection(named))


def shares_material(one: Iterable[Line], other: Iterable[Line]) -> bool:
    """Whether two sets of lines are known to hold the same specimens: by a catalogue number or an identifier."""
    return not _numbers(one).isdisjoint(_numbers(other))


def _numbers(lines: Iterable[Line]) -> set[str]:
    return {number for line in lines for number in (*line.catalogue_numbers, *line.identifiers)}
