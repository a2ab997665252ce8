"""The kinds of rule, by what they look at, and where each kind stands in a check."""

from collections.abc import Callable
from dataclasses import dataclass

from service.core.fit.case import Case
from service.core.fit.findings import Finding
from service.core.standards import BoxShelf, Cabinet, DrawerStandard

Findings = tuple[Finding, ...]

#: A line of drawers against one kind of cabinet; ``True`` with the front of the drawer to the side.
CabinetRule = Callable[[Case, Cabinet, bool], Findings]
#: A line of boxes against one shelf; ``True`` with the front of the box to the side.
ShelfRule = Callable[[Case, BoxShelf, bool], Findings]
#: One size of tray in the line, counted from 0, against one of the receiver's drawers.
TrayRule = Callable[[Case, int, DrawerStandard], Findings]
#: A line by itself, against the receiver's policies.
LineRule = Callable[[Case], Findings]


@dataclass(frozen=True, slots=True)
class Rules:
    """Every rule of a check. Those in ``advice`` decide nothing and hold whichever way a line goes."""

    in_a_cabinet: tuple[CabinetRule, ...]
    on_a_shelf: tuple[ShelfRule, ...]
    as_it_is: tuple[LineRule, ...]
    in_a_drawer: tuple[TrayRule, ...]
    by_the_tray: tuple[LineRule, ...]
    advice: tuple[LineRule, ...]
