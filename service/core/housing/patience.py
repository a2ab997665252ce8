"""When a search has to come to an end, and yet with a plan."""

from collections.abc import Callable

from service.core.housing.effort import Watch
from service.core.housing.plan import Progress


class Patience:
    """Ends a search when time ``is_up``, but not between its bound and its first plan, which is quick to find."""

    def __init__(self, is_up: Callable[[], bool], on_progress: Callable[[Progress], None] = lambda _: None) -> None:
        self._is_up, self._on_progress = is_up, on_progress
        self._waits_for_a_plan = False

    @property
    def watch(self) -> Watch:
        return Watch(self._should_stop, self._note)

    def _should_stop(self) -> bool:
        return not self._waits_for_a_plan and self._is_up()

    def _note(self, progress: Progress) -> None:
        self._waits_for_a_plan = progress.best is None
        self._on_progress(progress)
