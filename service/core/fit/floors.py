"""What lies on the floor of a drawer, and the height that is left above it."""

from service.core.fit.comparing import Side
from service.core.measure.dimension import Dimension, Grade
from service.core.standards import DrawerStandard


def lining_of(drawer: DrawerStandard) -> tuple[Side, ...]:
    """The lining that trays would stand on, if one is published; otherwise the floor is taken as bare."""
    if drawer.lining is None:
        return ()
    field = f"system.drawers[{drawer.code}].lining.thickness"
    return (Side(drawer.lining.thickness, f"the thickness of the lining of the “{drawer.name}”", field),)


def height_above_lining(drawer: DrawerStandard) -> Side:
    """The clear height under the lid of one of the receiver's drawers, above its lining where it has one."""
    height = drawer.inner.height
    field = f"system.drawers[{drawer.code}].inner.height"
    clear = Side(height, f"the height under the lid of the “{drawer.name}”", field)
    for lining in lining_of(drawer):
        if height is None:
            return clear
        if lining.dimension is None:
            return lining
        return Side(less(height, lining.dimension), f"{clear.name}, above its lining,", clear.field)
    return clear


def less(whole: Dimension, part: Dimension) -> Dimension:
    """The least that is left of one dimension when another is taken off; from memory if either is."""
    remembered = whole.is_from_memory or part.is_from_memory
    return Dimension(
        max(0, whole.smallest_nm - part.largest_nm), whole.known_as, grade=Grade.FROM_MEMORY if remembered else None
    )
