"""The room that a cabinet leaves for a drawer."""

from dataclasses import dataclass

from service.core.consignment import Line
from service.core.fit.comparing import Side
from service.core.measure.dimension import Dimension
from service.core.measure.lengths import written_mm
from service.core.standards import Cabinet, DrawerStandard, StorageSystem


@dataclass(frozen=True, slots=True)
class Slot:
    """One position of ``cabinet``.

    ``made_for`` is the drawer whose outer size stands in, with no clearance at all, for what was never measured of
    the opening. Its height stands in for the pitch too, but only as the least that the pitch can be.
    """

    cabinet: Cabinet
    made_for: DrawerStandard | None

    @classmethod
    def of(cls, cabinet: Cabinet, system: StorageSystem) -> "Slot":
        return cls(cabinet, system.drawer(cabinet.made_for) if cabinet.made_for else None)

    @property
    def name(self) -> str:
        return f"cabinet “{self.cabinet.name}”"

    @property
    def subject(self) -> str:
        return self.cabinet.code

    def field(self, field: str) -> str:
        """The name to ask for a fact of this cabinet by."""
        return f"system.cabinets[{self.cabinet.code}].{field}"

    def width(self) -> Dimension | None:
        return self.cabinet.opening.width or (self.made_for.outer.width if self.made_for else None)

    def depth(self) -> Dimension | None:
        return self.cabinet.opening.depth or (self.made_for.outer.depth if self.made_for else None)

    def height(self) -> Dimension | None:
        return self.cabinet.pitch or (self.made_for.outer.height if self.made_for else None)

    def width_side(self) -> Side:
        return Side(self.width(), f"the opening of {self.name}", self.field("opening.width"))

    def depth_side(self) -> Side:
        return Side(self.depth(), f"the depth of {self.name}", self.field("opening.depth"))

    def height_side(self) -> Side:
        what = "the pitch of" if self.cabinet.pitch else "the height that every position has in"
        return Side(self.height(), f"{what} {self.name}", self.field("pitch"))

    def unmeasured(self) -> tuple[str, ...]:
        """The fields of the opening for which the drawer that it was made for stands in."""
        opening = self.cabinet.opening
        stand_ins = (
            ("opening.width", opening.width is None and self.width()),
            ("opening.depth", opening.depth is None and self.depth()),
        )
        return tuple(self.field(name) for name, stands_in in stand_ins if stands_in)

    def assumption(self) -> str | None:
        """The sentence that says so where a drawer stands in for the opening."""
        if not self.unmeasured() or self.made_for is None:
            return None
        return (
            f"The opening was never measured; the outer size of the “{self.made_for.name}” that it was made for "
            "stands in, with no clearance."
        )


def outer_side(line: Line, axis: str, field: str) -> Side:
    """The outer width, depth or height of one container of the line."""
    dimension: Dimension | None = getattr(line.outer, axis)
    container = line.container.value.replace("_", " ")
    return Side(dimension, f"the {axis} of the {container}", field)


def plane_off(line: Line, axis: str, excess_nm: int) -> str:
    """What would mend a container that is ``excess_nm`` too large along one axis, if planing can."""
    outer, inner = getattr(line.outer, axis), getattr(line.inner, axis)
    plane = f"plane {written_mm(excess_nm)} off the {axis}"
    if axis == "height" or outer is None or inner is None or inner.largest_nm >= outer.smallest_nm:
        return f"{plane}, if there is wood enough"
    walls_nm = outer.smallest_nm - inner.largest_nm
    if excess_nm >= walls_nm:
        return (
            f"no planing will do: the two walls are {written_mm(walls_nm)} together and "
            f"{written_mm(excess_nm)} would have to go"
        )
    return f"{plane}, out of {written_mm(walls_nm)} in its two walls"
