"""The handbook: the trade's figures, each with its source and its grade. Read-only."""

from typing import Any

from service.core import handbook as trade
from service.core.errors import NotFound
from service.core.handbook import NotInHandbook
from service.core.handbook.chemicals import Chemical, LimitKind, chemicals
from service.core.materials import Bottom, Treatment
from service.core.measure.dimension import Grade
from service.core.standards import Ruling
from service.web.kit.fields import Choice, Code, Flag, List, Nested, Number, Text
from service.web.kit.operation import Blueprint
from service.web.kit.schema import Strict
from service.web.schemas.parts import SizeSchema

handbook = Blueprint(
    "handbook",
    __name__,
    url_prefix="/v1/handbook",
    description="The trade's figures, each with its source and its grade. Figures from memory say so.",
)


class DrawerStyleSchema(Strict):
    """A style of drawer, as far as its sizes are known. Name a figure such as cornell.outer.width in your own."""

    code = Code(required=True)
    name = Text(max_length=200, required=True)
    outer = Nested(SizeSchema, required=True, metadata={"description": "outside"})
    inner = Nested(SizeSchema, required=True, metadata={"description": "inside"})
    unspecified = Nested(
        SizeSchema, required=True, metadata={"description": "printed without saying whether inner or outer"}
    )
    notes = Text(
        max_length=4_000, min_length=0, required=True, metadata={"description": "what else the sources say of it"}
    )


class DrawerStylesSchema(Strict):
    """All drawer styles."""

    items = List(Nested(DrawerStyleSchema), required=True)


class RulingSchema(Strict):
    """What is known of one pinning bottom under one treatment. Unknown is unknown, never fine."""

    bottom = Choice(Bottom, required=True)
    treatment = Choice(Treatment, required=True)
    ruling = Choice(Ruling, required=True)
    condition = Text(
        max_length=2_000,
        min_length=0,
        required=True,
        metadata={"description": "what was found, and on what it depends"},
    )
    source = Text(max_length=2_000, required=True)
    grade = Choice(Grade, required=True)


class RulingsSchema(Strict):
    """Every bottom under every treatment."""

    items = List(Nested(RulingSchema), required=True)


class FigureSchema(Strict):
    """One figure of the trade."""

    key = Text(max_length=200, required=True, metadata={"description": "its name, to be cited by as `handbook`"})
    as_written = Text(max_length=200, required=True, metadata={"description": "as the source has it"})
    unit = Text(
        max_length=40, min_length=0, required=True, metadata={"description": "unit of the figure; empty: it has none"}
    )
    grade = Choice(Grade, required=True)
    source = Text(max_length=2_000, required=True)
    note = Text(max_length=2_000, metadata={"description": "what else is to be known of it"})


class FiguresSchema(Strict):
    """All figures."""

    items = List(Nested(FigureSchema), required=True)


class SourceSchema(Strict):
    """A published source."""

    key = Code(required=True, metadata={"description": "the short name that figures cite it by"})
    reference = Text(
        max_length=2_000, required=True, metadata={"description": "author, year, title and where it was published"}
    )


class SourcesSchema(Strict):
    """All published sources that the handbook cites."""

    items = List(Nested(SourceSchema), required=True)


class ExposureLimitSchema(Strict):
    """One limit in air, by whoever set it."""

    set_by = Text(max_length=100, required=True, metadata={"description": "who set the limit"})
    kind = Choice(LimitKind, required=True)
    ppm = Number(
        min=0,
        max=1_000_000,
        metadata={"description": "parts of vapour in a million parts of air; left out: not stated so"},
    )
    mg_per_m3 = Number(
        min=0, max=1_000_000, metadata={"description": "milligrams in a cubic metre of air; left out: not stated so"}
    )
    skin = Flag(required=True, metadata={"description": "true: the body takes it up through the skin as well"})


class ChemicalSchema(Strict):
    """A substance that was used against pests, with limits as of the edition that was read."""

    treatment = Choice(Treatment, required=True)
    cas = Text(max_length=20, required=True, metadata={"description": "CAS registry number"})
    molar_mass_g = Number(
        min=0, max=10_000, metadata={"description": "grams of a mole; left out where it is no one substance"}
    )
    caution = Text(max_length=2_000, required=True, metadata={"description": "what to mind"})
    limits = List(
        Nested(ExposureLimitSchema),
        required=True,
        metadata={"description": "limits in air; none listed: none was found, which says nothing of safety"},
    )
    remark = Text(
        max_length=2_000,
        min_length=0,
        required=True,
        metadata={"description": "what else is to be known of the limits"},
    )
    as_of = Text(max_length=10, required=True, metadata={"description": "year and month of the edition"})
    source = Text(max_length=2_000, required=True)
    grade = Choice(Grade, required=True)


class ChemicalsSchema(Strict):
    """The substances whose limits the handbook has. The limits that hold are those of the place of work."""

    items = List(Nested(ChemicalSchema), required=True)


@handbook.operation("GET", "/drawer-styles", scope="public", returns=DrawerStylesSchema)
def list_drawer_styles() -> dict[str, Any]:
    """List the trade's drawer styles.

    Sizes of the outside and of the inside, each as far as a source states it, with that source. What no source states
    is left out.
    """
    return {"items": trade.drawer_styles()}


@handbook.operation("GET", "/drawer-styles/<code:style>", scope="public", returns=DrawerStyleSchema)
def get_drawer_style(style: str) -> Any:
    """Read a drawer style.

    Sizes of the outside and of the inside, each as far as a source states it, with that source.
    """
    try:
        return trade.drawer_style(style)
    except NotInHandbook as error:
        raise NotFound("drawer style", style) from error


@handbook.operation("GET", "/bottoms-and-treatments", scope="public", returns=RulingsSchema)
def list_bottoms_and_treatments() -> dict[str, Any]:
    """List what each pinning bottom bears.

    Every pinning bottom under every treatment, with the source; `unknown` where nothing was found. An institution's
    own findings come before these.
    """
    pairs = [(bottom, treatment) for bottom in Bottom for treatment in Treatment]
    return {"items": [_ruling(bottom, treatment) for bottom, treatment in pairs]}


@handbook.operation("GET", "/chemicals", scope="public", returns=ChemicalsSchema)
def list_chemicals() -> dict[str, Any]:
    """List what was used against pests, with exposure limits.

    Each limit stands with who set it and as of when. Local rules and licensed practice come first.
    """
    return {"items": [_chemical(chemical) for chemical in chemicals().values()]}


@handbook.operation("GET", "/figures", scope="public", returns=FiguresSchema)
def list_figures() -> dict[str, Any]:
    """List every figure that answers rest on.

    Each as its source writes it, with unit, source and grade; figures from memory say so and decide nothing alone.
    """
    return {"items": list(trade.figures().values())}


@handbook.operation("GET", "/sources", scope="public", returns=SourcesSchema)
def list_sources() -> dict[str, Any]:
    """List the published sources.

    Published ones only, by the short names that figures cite them by.
    """
    return {"items": list(trade.sources().values())}


def _chemical(chemical: Chemical) -> dict[str, Any]:
    said = {name: getattr(chemical, name) for name in chemical.__dataclass_fields__}
    return said | {"caution": trade.people_caution(chemical.treatment).text}


def _ruling(bottom: Bottom, treatment: Treatment) -> dict[str, Any]:
    found = trade.ruling(bottom, treatment)
    return {
        "bottom": bottom,
        "treatment": treatment,
        "ruling": found.ruling,
        "condition": found.condition,
        "source": found.source,
        "grade": found.grade,
    }
