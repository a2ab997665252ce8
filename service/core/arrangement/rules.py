"""What an institution has settled about the order that it keeps. ``None`` is not stated."""

from dataclasses import dataclass
from decimal import Decimal

from service.core.arrangement.inventory import MovingRates, ReadingOrder


@dataclass(frozen=True, slots=True)
class ArrangementRules:
    """``reserve_percent`` of each drawer's inside stays free for growth, ``play_nm`` is room beside each tray.

    ``alphabetical``: taxa follow the alphabet, because the institution says so; otherwise its own sequence, which it
    uploads. ``bench_places`` is how many trays may wait on a bench or in holders while others move.
    """

    reading_order: ReadingOrder = ReadingOrder.COLUMNS
    reserve_percent: Decimal | None = None
    play_nm: int = 0
    alphabetical: bool = False
    bench_places: int = 0
    rates: MovingRates = MovingRates()
