"""How many equal trays lie in one drawer, by exact search in two dimensions."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """Where one tray lies: the corner nearest the front left, and the room it takes there, play not included."""

    x_nm: int
    y_nm: int
    width_nm: int
    depth_nm: int
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Tiling:
    """``count`` trays, each in its place; no layout can hold more than ``at_most``."""

    count: int
    at_most: int
    places: tuple[Place, ...]
    left_over_mm2: int

    @property
    def is_proved(self) -> bool:
        return self.count == self.at_most


def tile(
    inner_width_nm: int, inner_depth_nm: int, tray_width_nm: int, tray_depth_nm: int, play_nm: int, may_turn: bool
) -> Tiling:
    """The most trays of one size that lie side by side in a drawer."""
    raise NotImplementedError
