"""How finely the asker cuts, and how a change is said in their own unit."""

from enum import StrEnum

from service.core.builder.changes import Change
from service.core.measure.lengths import NM_PER_INCH, NM_PER_MM, to_mm, written_inches
from service.core.standards import Axis

#: The grid of changes has this many cuts to either side at most: it is searched whole, and grows with its cube.
MOST_CUTS = 32


class Cut(StrEnum):
    """The finest mark that the asker saws to. Every change that is suggested is a whole number of them."""

    EIGHTH_INCH = "eighth_inch"
    SIXTEENTH_INCH = "sixteenth_inch"
    THIRTY_SECOND_INCH = "thirty_second_inch"
    MILLIMETRE = "millimetre"
    HALF_MILLIMETRE = "half_millimetre"

    @property
    def nm(self) -> int:
        return _NM[self]

    @property
    def reaches(self) -> tuple[int, ...]:
        """How many cuts away a size is looked for along each axis, one after the other: half an inch, and further
        where nothing so near gains anything."""
        wanted = (NM_PER_INCH // 2 // self.nm, NM_PER_INCH // self.nm, 2 * NM_PER_INCH // self.nm)
        return tuple(dict.fromkeys(min(MOST_CUTS, cuts) for cuts in wanted))

    @property
    def parts_of_inch(self) -> int | None:
        """Into how many parts the inch is divided; ``None`` for a metric rule."""
        return NM_PER_INCH // self.nm if self in _IN_INCHES else None


_NM = {
    Cut.EIGHTH_INCH: NM_PER_INCH // 8,
    Cut.SIXTEENTH_INCH: NM_PER_INCH // 16,
    Cut.THIRTY_SECOND_INCH: NM_PER_INCH // 32,
    Cut.MILLIMETRE: NM_PER_MM,
    Cut.HALF_MILLIMETRE: NM_PER_MM // 2,
}
_IN_INCHES = frozenset({Cut.EIGHTH_INCH, Cut.SIXTEENTH_INCH, Cut.THIRTY_SECOND_INCH})
_SMALLER = {Axis.WIDTH: "narrower", Axis.DEPTH: "less deep", Axis.HEIGHT: "lower"}
_LARGER = {Axis.WIDTH: "wider", Axis.DEPTH: "deeper", Axis.HEIGHT: "higher"}


def exact_mm(nm: int) -> str:
    """A length for a sentence that somebody will saw by, to the last nanometre: 4762500 is “4.7625 mm”."""
    return f"{to_mm(nm):.6f}".rstrip("0").rstrip(".") + " mm"


def change_in_words(axis: Axis, change_nm: int, cut: Cut) -> str:
    """“3/16 in narrower (4.7625 mm)”, or “5 mm narrower” for who measures in millimetres."""
    way, size = (_SMALLER if change_nm < 0 else _LARGER)[axis], abs(change_nm)
    if cut.parts_of_inch is None:
        return f"{exact_mm(size)} {way}"
    return f"{written_inches(size, cut.parts_of_inch)} {way} ({exact_mm(size)})"


def size_in_words(nm: int, cut: Cut) -> str:
    """A finished size: with its inches where a rule of that fineness or of sixty-fourths has the very mark."""
    if cut.parts_of_inch is None or nm % (NM_PER_INCH // 64):
        return exact_mm(nm)
    return f"{written_inches(nm, 64)} ({exact_mm(nm)})"


def changes_in_words(change: Change, cut: Cut) -> str:
    """All that is to be changed: “3/16 in narrower (4.7625 mm) and 1/8 in lower (3.175 mm)”."""
    parts = [change_in_words(axis, cuts * cut.nm, cut) for axis, cuts in zip(Axis, change.cuts, strict=True) if cuts]
    return " and ".join((", ".join(parts[:-1]), parts[-1]) if len(parts) > 1 else parts)


def worth_in_words(change: Change) -> str:
    """What it is worth: “212 more systems”, and what it costs besides: “, and 3 that took it no longer do”."""
    more = f"{change.gained:,} more system{'' if change.gained == 1 else 's'}"
    if not change.lost:
        return more
    return f"{more}, and {change.lost:,} that took it no longer {'does' if change.lost == 1 else 'do'}"
