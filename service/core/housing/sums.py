"""Where trays can start: any layout can be pushed to the front and left until each tray starts at a sum of sides."""

from itertools import accumulate

from service.core.housing.smaller_numbers import Problem


class Sums:
    """Sums of long and short sides up to ``longest``, and the starts that matter within a length."""

    def __init__(self, problem: Problem, longest: int) -> None:
        is_sum = [True] + [False] * longest
        for length in range(problem.short, longest + 1):
            is_sum[length] = is_sum[length - problem.short] or (
                length >= problem.long and is_sum[length - problem.long]
            )
        self.below = list(accumulate((at if reached else 0 for at, reached in enumerate(is_sum)), max))
        self._starts: dict[int, list[int]] = {}

    def starts(self, length: int) -> list[int]:
        """The raster points of a length: no count is lost when trays start at these only.

        Scheithauer & Terno 1996, "The G4-heuristic for the pallet loading problem", Journal of the
        Operational Research Society 47.
        """
        if length not in self._starts:
            below = self.below
            self._starts[length] = sorted({below[length] - below[length - at] for at in set(below[: length + 1])})
        return self._starts[length]
