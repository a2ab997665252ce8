"""How hard to look. Limits are steps and not seconds, so that the same trays get the same plan on any machine."""

from collections.abc import Callable
from dataclasses import dataclass

from service.core.housing.plan import Progress


@dataclass(frozen=True, slots=True)
class Effort:
    """Limits of each part of the work.

    ``mixing_work`` goes into the lower bound, with ``restarts`` from disturbed places each time; ``pricing_rounds``
    into column layouts, and ``cutting_rounds`` into straight cuts and pinwheels; ``rounds`` of ``passes`` each into
    other layouts; ``choosing_nodes`` into picking whole numbers of drawers among so many ``choices``;
    ``search_nodes`` into whether some trays lie in one drawer; ``closing_work`` into closing the gap in whole trays,
    counted so that one takes about a millisecond.
    """

    mixing_work: int = 8_000
    restarts: int = 4
    pricing_rounds: int = 300
    cutting_rounds: int = 40
    rounds: int = 4
    passes: int = 1_000
    choices: int = 400
    choosing_nodes: int = 20
    search_nodes: int = 10_000
    closing_work: int = 10_000


#: Answers within a request.
QUICK = Effort(
    mixing_work=1_500,
    restarts=1,
    cutting_rounds=12,
    rounds=1,
    passes=100,
    choices=300,
    choosing_nodes=20,
    search_nodes=2_000,
    closing_work=700,
)
#: For a job that may take its time.
THOROUGH = Effort(
    mixing_work=200_000,
    restarts=10,
    rounds=12,
    passes=2_000,
    choices=2_000,
    choosing_nodes=1_000,
    search_nodes=200_000,
    closing_work=500_000,
)


class Noticed:
    """Asks whether to stop, and remembers whether that was ever so."""

    def __init__(self, should_stop: Callable[[], bool]) -> None:
        self._should_stop, self.was_so = should_stop, False

    def __call__(self) -> bool:
        self.was_so = self.was_so or self._should_stop()
        return self.was_so


@dataclass(frozen=True, slots=True)
class Watch:
    """Who looks on: asked between steps whether to stop, and told how far the work has come."""

    should_stop: Callable[[], bool] = lambda: False
    on_progress: Callable[[Progress], None] = lambda progress: None  # noqa: ARG005 - nobody looks on
