"""Reading a storage system over before it is published: what contradicts itself, and what it leaves unsaid."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from service.core.errors import Fault
from service.core.measure.dimension import Size
from service.core.measure.lengths import written_mm
from service.core.standards import Cabinet, Doorway, DrawerStandard, StorageSystem, Support


@dataclass(frozen=True, slots=True)
class Gap:
    """Something unsaid, and which answers will have to be *unknown* for it."""

    field: str
    consequence: str


def faults_in(system: StorageSystem) -> tuple[Fault, ...]:
    """Codes that stand twice and names of drawers that are not there; empty when the system hangs together."""
    return (
        *_repeated("cabinets", (cabinet.code for cabinet in system.cabinets)),
        *_repeated("drawers", (drawer.code for drawer in system.drawers)),
        *_repeated("tray_series", (series.code for series in system.tray_series)),
        *_repeated("box_shelves", (shelf.code for shelf in system.box_shelves)),
        *(
            fault
            for index, series in enumerate(system.tray_series)
            for fault in _repeated(f"tray_series/{index}/trays", (tray.code for tray in series.trays))
        ),
        *_hollower_than_they_are(system),
        *_strangers(system),
        *_crossed_door_and_places(system),
    )


def _repeated(where: str, codes: Iterable[str]) -> Iterator[Fault]:
    listed = list(codes)
    for code, times in Counter(listed).items():
        if times > 1:
            second = listed.index(code, listed.index(code) + 1)
            yield Fault(f"/{where}/{second}/code", f"“{code}” stands {times} times; each code may stand once.")


def _hollower_than_they_are(system: StorageSystem) -> Iterator[Fault]:
    """Drawers and trays that would be larger inside than outside."""
    for index, drawer in enumerate(system.drawers):
        yield from larger_inside(f"/drawers/{index}", drawer.outer, drawer.inner)
    for index, series in enumerate(system.tray_series):
        for place, tray in enumerate(series.trays):
            yield from larger_inside(f"/tray_series/{index}/trays/{place}", tray.outer, tray.inner)


def larger_inside(at: str, outer: Size, inner: Size) -> Iterator[Fault]:
    """Each axis along which a thing is stated to be larger inside than outside: one of the two is a slip."""
    for axis in ("width", "depth", "height"):
        outside, inside = getattr(outer, axis), getattr(inner, axis)
        if outside is not None and inside is not None and inside.value_nm > outside.value_nm:
            yield Fault(
                f"{at}/inner/{axis}",
                f"It would be larger inside ({written_mm(inside.value_nm)}) than outside "
                f"({written_mm(outside.value_nm)}); one of the two is wrong.",
            )


def _strangers(system: StorageSystem) -> Iterator[Fault]:
    known = [drawer.code for drawer in system.drawers]
    for index, cabinet in enumerate(system.cabinets):
        if cabinet.made_for is not None and cabinet.made_for not in known:
            listed = ", ".join(known) or "none yet"
            yield Fault(
                f"/cabinets/{index}/made_for", f"No drawer here has the code “{cabinet.made_for}”; listed: {listed}."
            )


def _crossed_door_and_places(system: StorageSystem) -> Iterator[Fault]:
    for index, cabinet in enumerate(system.cabinets):
        if cabinet.doorway is not Doorway.NARROWER and (cabinet.door_width or cabinet.door_height):
            yield Fault(
                f"/cabinets/{index}/doorway", "A door's own width and height belong to the doorway “narrower” only."
            )
        positions = _positions(cabinet)
        if cabinet.free_positions is not None and positions is not None and cabinet.free_positions > positions:
            yield Fault(
                f"/cabinets/{index}/free_positions",
                f"{cabinet.free_positions} positions cannot be free of {positions} in all.",
            )


def _positions(cabinet: Cabinet) -> int | None:
    if cabinet.positions_per_column is None:
        return None
    return cabinet.positions_per_column * cabinet.columns * cabinet.count


def gaps_in(system: StorageSystem) -> tuple[Gap, ...]:
    """What is not stated, each with the answers that will suffer; empty when every rule can be answered."""
    return (
        *(gap for cabinet in system.cabinets for gap in _cabinet_gaps(cabinet)),
        *(gap for drawer in system.drawers for gap in _drawer_gaps(drawer)),
        *_system_gaps(system),
    )


def _cabinet_gaps(cabinet: Cabinet) -> Iterator[Gap]:
    at = f"cabinets[{cabinet.code}]"
    if cabinet.made_for is None:
        for axis in _unsaid(cabinet.opening, ("width", "depth")):
            yield Gap(f"{at}.opening.{axis}", "Whether any drawer goes in stays unknown.")
    if cabinet.pitch is None:
        yield Gap(f"{at}.pitch", "How many positions a drawer takes stays unknown.")
    if cabinet.support is None:
        yield Gap(f"{at}.support", "Whether a narrow drawer is carried stays unknown.")
    elif cabinet.support is Support.SIDE_RUNNERS and cabinet.runner_ledge is None:
        yield Gap(f"{at}.runner_ledge", "Whether the runners carry a narrower drawer stays unknown.")
    if cabinet.support is Support.SIDE_RUNNERS and cabinet.runners_removable is None:
        yield Gap(f"{at}.runners_removable", "Whether a high drawer can take two positions stays unknown.")
    if cabinet.doorway is None:
        yield Gap(f"{at}.doorway", "Whether drawers pass the door stays unknown, and every drawer is put on hold.")
    if cabinet.free_positions is None:
        yield Gap(f"{at}.free_positions", "Whether there is room enough stays unknown.")


def _drawer_gaps(drawer: DrawerStandard) -> Iterator[Gap]:
    at = f"drawers[{drawer.code}]"
    for axis in _unsaid(drawer.inner, ("width", "depth")):
        yield Gap(f"{at}.inner.{axis}", "How many trays it holds stays unknown.")
    for axis in _unsaid(drawer.inner, ("height",)):
        yield Gap(f"{at}.inner.{axis}", "Whether pins and trays clear its lid stays unknown.")


def _system_gaps(system: StorageSystem) -> Iterator[Gap]:
    if system.materials.treatments is None:
        yield Gap("materials.treatments", "Whether a pinning bottom bears your treatments stays unknown.")
    if system.growth_reserve_percent is None:
        yield Gap("growth_reserve_percent", "How many drawers a consignment takes stays unknown.")
    if system.climate.dampest is None and system.climate.monthly is None:
        yield Gap("climate.dampest", "Whether a wooden drawer still fits in the dampest month stays unknown.")
    if not system.tray_series:
        yield Gap("tray_series", "Nothing can be re-housed into trays of yours.")


def _unsaid(size: Size, axes: tuple[str, ...]) -> Iterator[str]:
    return (axis for axis in axes if getattr(size, axis) is None)
