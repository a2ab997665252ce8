"""How large and how heavy a parcel may be: the carrier's limits, or what one person carries where none is stated."""

from dataclasses import dataclass

from service.core.handbook.figures import figure
from service.core.parcels.stock import Carrier, Room


@dataclass(frozen=True, slots=True)
class Limits:
    """The most that a parcel may be. ``of_carrier`` says that the mass limit is the carrier's own."""

    mass_g: int
    longest_side_nm: int | None
    girth_and_length_nm: int | None
    made_side_nm: int
    of_carrier: bool

    def allow(self, outer: Room) -> bool:
        """Whether a parcel of these outer sizes is taken."""
        sides = sorted((outer.width_nm, outer.depth_nm, outer.height_nm))
        if self.longest_side_nm is not None and sides[2] > self.longest_side_nm:
            return False
        return self.girth_and_length_nm is None or sides[2] + 2 * (sides[0] + sides[1]) <= self.girth_and_length_nm

    def deepest_nm(self, width_nm: int, height_nm: int) -> int:
        """How deep a parcel to make may be outside, when it is so wide and so high; below zero when there is none."""
        if self.girth_and_length_nm is None:
            return self.made_side_nm
        longer, shorter = max(width_nm, height_nm), min(width_nm, height_nm)
        depth = self.girth_and_length_nm - 2 * (longer + shorter)
        if depth < longer:
            depth = (self.girth_and_length_nm - longer) // 2 - shorter
        return min(depth, self.made_side_nm)

    def most_volume_nm3(self, around_nm: int) -> int:
        """The largest room that a parcel to make can have inside ``around_nm`` of padding and wall.

        A length and a girth of fixed sum enclose most where the length is twice the width and the height.
        """
        side = self.made_side_nm - 2 * around_nm
        if self.girth_and_length_nm is None:
            return side**3
        return min(side**3, (self.girth_and_length_nm - 10 * around_nm) ** 3 // 108)


def limits_of(carrier: Carrier | None) -> Limits:
    stated = carrier or Carrier("", "")
    usual_side = figure("parcel.made_side_most").nm
    return Limits(
        mass_g=stated.most_mass_g or int(figure("parcel.made_mass_most").value),
        longest_side_nm=stated.longest_side_nm,
        girth_and_length_nm=stated.girth_and_length_nm,
        made_side_nm=min(usual_side, stated.longest_side_nm or usual_side),
        of_carrier=stated.most_mass_g is not None,
    )


def volumetric_g(outer: Room, carrier: Carrier | None) -> int | None:
    """Volume by the carrier's divisor, in whole grams rounded up; None where no divisor is stated."""
    if carrier is None or carrier.divisor_cm3_per_kg is None:
        return None
    # 1 cm3 is 10^21 nm3, and a kilogram a thousand grams.
    return _up(outer.volume_nm3 * 1000, carrier.divisor_cm3_per_kg * 10**21)


def chargeable_g(mass_g: int, volumetric: int | None, carrier: Carrier | None) -> int | None:
    """What is charged: the larger of the two, in whole steps of the carrier's; None where no divisor is stated."""
    if carrier is None or volumetric is None:
        return None
    step = carrier.step_g or 1
    return _up(max(mass_g, volumetric), step) * step


def _up(number: int, by: int) -> int:
    return -(-number // by)
