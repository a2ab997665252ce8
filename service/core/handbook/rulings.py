"""What is known of pinning bottoms and pins under the treatments of the trade."""

from collections.abc import Collection, Iterable, Mapping
from functools import cache

from service.core.handbook.entries import HandbookFault, MaterialRuling, PairRuling, PinRuling
from service.core.handbook.loader import Row, backing, required, table
from service.core.handbook.words import every, word
from service.core.materials import Bottom, PinMetal, Treatment
from service.core.measure.dimension import Grade
from service.core.standards import Ruling

_NOTHING_FOUND = MaterialRuling(
    Ruling.UNKNOWN, "Nothing was found on this.", "No published source found", Grade.COMMON_PRACTICE
)


@cache
def _cells() -> Mapping[tuple[Bottom, Treatment], MaterialRuling]:
    columns = every(Treatment, table("bottoms_and_treatments")["cells"], "cells")
    return {
        (bottom, treatment): _cell(cell, f"cells.{treatment}.{bottom}")
        for treatment, column in columns.items()
        for bottom, cell in every(Bottom, column, f"cells.{treatment}").items()
    }


def _cell(cell: Row | str, where: str) -> MaterialRuling:
    if isinstance(cell, str):
        if cell != "?":
            raise HandbookFault(f"{where} is “{cell}”; a cell is a ruling, or “?” where nothing is known.")
        return _NOTHING_FOUND
    behind = backing(cell, where, "ruling", "condition", "spared_by_firm_glue")
    return MaterialRuling(
        Ruling(required(cell, "ruling", where)),
        required(cell, "condition", where),
        behind.source,
        behind.grade,
        bool(cell.get("spared_by_firm_glue")),
        behind.cited,
    )


def ruling(bottom: Bottom, treatment: Treatment) -> MaterialRuling:
    """What is known of a bottom under a treatment; unknown where nobody has found out.

    :raises NotInHandbook: when either word is not one of the trade's.
    """
    return _cells()[word(Bottom, bottom), word(Treatment, treatment)]


@cache
def _pairs() -> tuple[PairRuling, ...]:
    return tuple(_pair(row, f"pairs {row.get('treatments')}") for row in table("bottoms_and_treatments")["pairs"])


def _pair(row: Row, where: str) -> PairRuling:
    behind = backing(row, where, "treatments", "ruling", "condition")
    first, second = map(Treatment, row["treatments"])
    said = Ruling(required(row, "ruling", where)), required(row, "condition", where)
    return PairRuling((first, second), *said, behind.source, behind.grade, behind.cited)


def pair_rulings(treatments: Iterable[Treatment]) -> tuple[PairRuling, ...]:
    """The rulings on treatments that must not meet, of those that a set of treatments would bring together."""
    together = {word(Treatment, treatment) for treatment in treatments}
    return tuple(pair for pair in _pairs() if together.issuperset(pair.treatments))


def pin_rulings(
    metal: PinMetal, bottom: Bottom | None = None, treatments: Collection[Treatment] = ()
) -> tuple[PinRuling, ...]:
    """What is known of pins of a metal: by itself first, then in the bottom, then under each treatment.

    A bottom that nobody reports to attack pins adds nothing; a treatment always answers, be it that nothing is
    known.

    :raises NotInHandbook: when a word is not one of the trade's.
    """
    asked, lying_in = word(PinMetal, metal), None if bottom is None else word(Bottom, bottom)
    return (
        _metals()[asked],
        *(attack for attack in _attacks() if (attack.metal, attack.bottom) == (asked, lying_in)),
        *(_metals_treated()[asked, word(Treatment, treatment)] for treatment in treatments),
    )


@cache
def _metals() -> Mapping[PinMetal, PinRuling]:
    rows = every(PinMetal, table("pin_metals")["alone"], "alone")
    return {metal: _pin(metal, _cell(row, f"alone.{metal}")) for metal, row in rows.items()}


@cache
def _attacks() -> tuple[PinRuling, ...]:
    return tuple(attack for row in table("pin_metals")["bottoms"] for attack in _attacks_of(row))


def _attacks_of(row: Row) -> tuple[PinRuling, ...]:
    """What one bottom does to every metal that it does not spare."""
    known = _cell({field: row[field] for field in row.keys() - {"bottom", "spares"}}, f"bottoms.{row['bottom']}")
    attacked = set(PinMetal) - set(map(PinMetal, row["spares"]))
    return tuple(_pin(metal, known, Bottom(row["bottom"])) for metal in PinMetal if metal in attacked)


@cache
def _metals_treated() -> Mapping[tuple[PinMetal, Treatment], PinRuling]:
    columns = every(Treatment, table("pin_metals")["treatments"], "treatments")
    return {
        (metal, treatment): _pin(metal, _cell(cell, f"treatments.{treatment}.{metal}"), treatment=treatment)
        for treatment, column in columns.items()
        for metal, cell in every(PinMetal, _spread(column), f"treatments.{treatment}").items()
    }


def _spread(column: Row) -> Row:
    """A column in which ``any`` has been written out for the metals that it stands for."""
    named = {metal: cell for metal, cell in column.items() if metal != "any"}
    return {**({metal.value: column["any"] for metal in PinMetal} if "any" in column else {}), **named}


def _pin(
    metal: PinMetal, known: MaterialRuling, bottom: Bottom | None = None, treatment: Treatment | None = None
) -> PinRuling:
    return PinRuling(metal, known.ruling, known.condition, known.source, known.grade, bottom, treatment, known.cited)
