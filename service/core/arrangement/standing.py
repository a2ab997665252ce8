"""What stands where at one moment, as it changes step by step."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256

from service.core.arrangement.inventory import Inventory
from service.core.arrangement.plan import Step


class NotThere(ValueError):
    """A step cannot be taken: what it takes for granted is no longer so. The message says what has changed."""


@dataclass(frozen=True)
class Standing:
    """The trays of each drawer in reading order, by key; and those that wait on the bench."""

    drawers: Mapping[str, tuple[str, ...]]
    bench: tuple[str, ...] = ()

    def drawer_of(self) -> dict[str, str]:
        return {tray: drawer for drawer, trays in self.drawers.items() for tray in trays}


def standing_of(inventory: Inventory) -> Standing:
    return Standing({key: tuple(tray.key for tray in trays) for key, trays in inventory.trays_by_drawer.items()})


def fingerprint(inventory: Inventory) -> str:
    """The same for as long as every drawer stands where it does with the same trays in the same order."""
    lines = sorted(
        "\t".join((drawer.cabinet or "", str(drawer.position or ""), drawer.key, *(tray.key for tray in trays)))
        for drawer in inventory.drawers
        for trays in [inventory.trays_by_drawer[drawer.key]]
    )
    return sha256("\n".join(lines).encode()).hexdigest()


def taken(standing: Standing, step: Step) -> Standing:
    """What stands where after one step.

    :raises NotThere: when the tray is not where the step picks it up, or the place it goes to has changed.
    """
    drawers, bench = dict(standing.drawers), standing.bench
    if step.from_drawer is not None:
        drawers[step.from_drawer] = _without(drawers.get(step.from_drawer, ()), step.tray, step.from_drawer)
    elif step.tray in bench:
        bench = tuple(tray for tray in bench if tray != step.tray)
    elif any(step.tray in trays for trays in drawers.values()):
        raise NotThere(f"Tray {step.tray} stands in a drawer already.")
    if step.to_drawer is None:
        return Standing(drawers, (*bench, step.tray))
    drawers[step.to_drawer] = _with(drawers.get(step.to_drawer, ()), step)
    return Standing(drawers, bench)


def _without(trays: Sequence[str], tray: str, drawer: str) -> tuple[str, ...]:
    if tray not in trays:
        raise NotThere(f"Tray {tray} no longer stands in drawer {drawer}.")
    return tuple(each for each in trays if each != tray)


def _with(trays: Sequence[str], step: Step) -> tuple[str, ...]:
    at = (step.place or 1) - 1
    before = trays[at - 1] if 0 < at <= len(trays) else None
    if at > len(trays) or before != step.after:
        raise NotThere(
            f"What stands in drawer {step.to_drawer} has changed: tray {step.tray} was to follow {step.after}."
        )
    return (*trays[:at], step.tray, *trays[at:])
