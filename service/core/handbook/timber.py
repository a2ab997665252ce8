"""Woods, boards made of wood, and metals: how each grows and shrinks, and the names that it goes by."""

import re
from collections.abc import Iterable, Mapping
from functools import cache, lru_cache
from typing import Any

from service.core.handbook.entries import Figure
from service.core.handbook.further_sources import further_backing
from service.core.handbook.loader import Row, found, refuse_strangers, required, table
from service.core.handbook.written import read_figure
from service.core.measure.dimension import Grade
from service.core.measure.movement import Backed, Expansion, Inert, Material, Panel, Span, Wood

#: The fibre saturation point that the Wood Handbook's equation 13-3 takes for every wood, in per cent of moisture.
USUAL_FIBRE_SATURATION = 30.0

_MATERIAL_FIELDS = frozenset({"name", "called"})
_WORDS = re.compile(r"[^\W\d_]+")


@cache
def woods() -> Mapping[str, Wood]:
    """Every wood by its code."""
    return {code: _wood(code, row) for code, row in table("timber")["woods"].items()}


def _wood(code: str, row: Row) -> Wood:
    refuse_strangers(row, _MATERIAL_FIELDS | {"coefficients", "shrinkage", "fibre_saturation", "disputed"}, code)
    shrinkage = row.get("shrinkage")
    return Wood(
        code,
        required(row, "name", code),
        _backed(row["coefficients"], f"{code}.coefficients"),
        None if shrinkage is None else _backed(shrinkage, f"{code}.shrinkage"),
        _along(),
        float(row.get("fibre_saturation", USUAL_FIBRE_SATURATION)),
        bool(row.get("disputed")),
    )


def _backed(row: Row, where: str) -> Backed:
    behind = further_backing(row, where, "radial", "tangential")
    return Backed(float(row["radial"]), float(row["tangential"]), behind.source, behind.grade)


@cache
def _along() -> Span:
    """The change along the grain per one per cent of moisture, from what it is from green to ovendry."""
    row = table("timber")["along"]
    further_backing(row, "along", "least_percent", "greatest_percent")
    least, greatest = (
        float(row[field]) / 100 / USUAL_FIBRE_SATURATION for field in ("least_percent", "greatest_percent")
    )
    return Span(least, greatest)


@cache
def panels() -> Mapping[str, Panel]:
    """Every board made of wood, by its code."""
    return {code: _panel(code, row) for code, row in table("timber")["panels"].items()}


def _panel(code: str, row: Row) -> Panel:
    refuse_strangers(row, _MATERIAL_FIELDS | {"in_plane", "thickness"}, code)
    thickness = row.get("thickness")
    return Panel(
        code,
        required(row, "name", code),
        _expansion(row["in_plane"], f"{code}.in_plane"),
        None if thickness is None else _expansion(thickness, f"{code}.thickness"),
    )


@cache
def inert_materials() -> Mapping[str, Inert]:
    """Every material that takes up no water, by its code."""
    return {
        code: Inert(code, required(row, "name", code), _expansion(row["per_kelvin"], f"{code}.per_kelvin"))
        for code, row in table("timber")["inert"].items()
    }


def _expansion(row: Row, where: str) -> Expansion:
    behind = further_backing(row, where, "least", "greatest")
    return Expansion(Span(float(row["least"]), float(row["greatest"])), behind.source, behind.grade)


def wood(code: str) -> Wood:
    """One wood.

    :raises NotInHandbook: with the codes that there are.
    """
    return found(woods(), code, "wood")


def drawer_wall() -> Figure:
    """How thick a drawer's side is where nobody has said."""
    return read_figure(table("timber")["drawer"]["wall"], "drawer.wall")


def sender_room() -> Figure:
    """How warm the sender's room is where nobody has said."""
    return read_figure(table("timber")["drawer"]["room"], "drawer.room")


@cache
def _by_name() -> Mapping[tuple[str, ...], tuple[Material, ...]]:
    named: dict[tuple[str, ...], list[Material]] = {}
    kinds: Iterable[tuple[str, Mapping[str, Material]]] = (
        ("woods", woods()),
        ("panels", panels()),
        ("inert", inert_materials()),
    )
    for kind, materials in kinds:
        rows: Mapping[str, Any] = table("timber")[kind]
        for code, material in materials.items():
            for name in rows[code]["called"]:
                named.setdefault(_words(name), []).append(material)
    return {name: tuple(materials) for name, materials in named.items()}


@lru_cache(maxsize=1_000)
def materials_called(written: str) -> tuple[Material, ...]:
    """All the materials that a label such as “basswood” or “spruce plywood” may stand for; none is unknown.

    A board made of wood goes before the wood that it is made of, and a longer name before a shorter one: “plywood,
    birch” is plywood, “red oak” one oak and “oak” each of them. Two materials named side by side both count.
    """
    words = _words(written)
    names = [name for name in _by_name() if _holds(words, name)]
    told = [name for name in names if not any(len(other) > len(name) and _holds(other, name) for other in names)]
    meant = dict.fromkeys(material for name in told for material in _by_name()[name])
    boards = tuple(material for material in meant if isinstance(material, Panel))
    return boards or tuple(meant)


def _words(text: str) -> tuple[str, ...]:
    return tuple(_WORDS.findall(text.lower()))


def _holds(words: tuple[str, ...], name: tuple[str, ...]) -> bool:
    return any(words[start : start + len(name)] == name for start in range(len(words) - len(name) + 1))


def sources_of(materials: Iterable[Material]) -> str:
    """The references behind the figures of some materials, each once."""
    return "; ".join(dict.fromkeys(source for material in materials for source in _sources(material)))


def _sources(material: Material) -> tuple[str, ...]:
    match material:
        case Wood():
            return (material.coefficients.source,)
        case Panel():
            return (material.in_plane.source,)
        case Inert():
            return (material.per_kelvin.source,)


@cache
def moisture_table() -> Mapping[tuple[int, int], tuple[float, Grade]]:
    """Wood Handbook table 4-2 by degrees Fahrenheit and per cent of relative humidity: moisture, and its grade."""
    cells: dict[tuple[int, int], tuple[float, Grade]] = {}
    for fahrenheit, row in table("timber")["equilibrium_moisture"].items():
        further_backing(row, fahrenheit, "percent", "from_memory")
        graded = [(cell, Grade.PUBLISHED) for cell in row["percent"]]
        graded += [(cell, Grade.FROM_MEMORY) for cell in row["from_memory"]]
        cells |= {(int(fahrenheit), 5 * column): cell for column, cell in enumerate(graded, start=1)}
    return cells
