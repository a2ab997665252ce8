"""Where a drawer or a tray stands, in words: room, cabinet, position."""

from service.core.arrangement.inventory import DrawerStyle, Inventory
from service.core.arrangement.plan import Alternative, Spot


class Whereabouts:
    """The drawers of an inventory and the new ones of an alternative, by key."""

    def __init__(self, inventory: Inventory, alternative: Alternative | None = None) -> None:
        cabinets = {cabinet.key: cabinet for cabinet in inventory.cabinets}
        rooms = {room.key: room.name for room in inventory.rooms}
        self.styles: dict[str, DrawerStyle] = {drawer.key: drawer.style for drawer in inventory.drawers}
        self._names = {drawer.key: drawer.name for drawer in inventory.drawers}
        self._places: dict[str, str] = {}
        for drawer in inventory.drawers:
            self._places[drawer.key] = "no cabinet"
            if drawer.cabinet in cabinets:
                cabinet = cabinets[drawer.cabinet]
                room = f"{rooms[cabinet.room]}, " if cabinet.room in rooms else ""
                self._places[drawer.key] = f"{room}{cabinet.name}, position {drawer.position}"
        for number, new in enumerate(alternative.new_drawers if alternative else (), start=1):
            self.styles[new.key] = new.style
            self._names.setdefault(new.key, f"new {number}")
            where = "no position yet"
            if new.cabinet in cabinets:
                where = f"{cabinets[new.cabinet].name}, position {new.position}"
            self._places[new.key] = where

    def name(self, drawer: str) -> str:
        return self._names[drawer]

    def drawer_words(self, drawer: str) -> str:
        """``drawer 12 (Beetle room, Cabinet 3, position 7)``."""
        return f"drawer {self._names[drawer]} ({self._places[drawer]})"

    def place_words(self, spot: Spot) -> str:
        return f"drawer {self._names[spot.drawer]}, place {spot.place}"
