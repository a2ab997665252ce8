"""Parcels below whose number nothing holds what is packed: by mass, and by volume in the largest room there is."""

from collections.abc import Sequence

from service.core.handbook.figures import figure
from service.core.parcels.filling import Thing
from service.core.parcels.limits import Limits
from service.core.parcels.stock import PackingBench


def fewest_parcels(things: Sequence[Thing], bench: PackingBench, limits: Limits) -> int:
    """At least so many parcels, for things that may share them.

    What breaks a limit by itself travels alone, each in a parcel of its own; the rest is added up.
    """
    around = bench.padding + figure("parcel.made_carton_wall").nm
    rooms = [carton.inner.grown(-bench.padding) for carton in bench.cartons if limits.allow(carton.outer)]
    rooms = [room for room in rooms if min(room.width_nm, room.depth_nm, room.height_nm) > 0]
    largest = max((*(room.volume_nm3 for room in rooms), limits.most_volume_nm3(around)))

    def goes_alone(thing: Thing) -> bool:
        too_large = not limits.allow(thing.size.grown(around)) and not any(room.holds(thing.size) for room in rooms)
        return too_large or thing.mass_g > limits.mass_g or thing.size.volume_nm3 > largest

    shared = [thing for thing in things if not goes_alone(thing)]
    by_mass = _up(sum(thing.mass_g for thing in shared), limits.mass_g)
    by_volume = _up(sum(thing.size.volume_nm3 for thing in shared), largest)
    return len(things) - len(shared) + (max(1, by_mass, by_volume) if shared else 0)


def _up(amount: int, by: int) -> int:
    return -(-amount // by)
