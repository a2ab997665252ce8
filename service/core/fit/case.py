"""One line of a consignment held against one storage system."""

from dataclasses import dataclass

from service.core.consignment import Container, Line, TrayLot
from service.core.standards import StorageSystem


@dataclass(frozen=True, slots=True)
class Case:
    """What the rules look at. ``index`` counts from 0, as the list of lines in the request does."""

    index: int
    line: Line
    system: StorageSystem

    def asks(self, field: str) -> str:
        """The request's own name for a field of this line, such as ``lines[3].inner.height``."""
        return f"lines[{self.index}].{field}"

    def asks_tray(self, lot: int, field: str) -> str:
        """The same for a size of tray; where the tray is the container, the fields are the line's own."""
        if self.line.container is Container.UNIT_TRAY:
            return self.asks(field.replace("bottom", "lining"))
        return self.asks(f"trays[{lot}].{field}")

    @property
    def tray_lots(self) -> tuple[TrayLot, ...]:
        """The unit trays that could move over, as far as anybody has stated them."""
        return self.line.trays_to_move() or ()

    def tray_name(self, lot: int) -> str:
        """What a size of tray goes by in a sentence."""
        if len(self.tray_lots) == 1:
            return "tray"
        return f"tray of size {lot + 1}"
