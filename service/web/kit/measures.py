"""Lengths and dimensions as people send them and as answers show them.

A length is a number of millimetres or a measure with its unit; a dimension also says how it is known.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from statistics import fmean, stdev
from typing import Any

from marshmallow import Schema, ValidationError

from service.core.handbook import Figure, figures
from service.core.measure.dimension import Dimension, Grade, KnownAs, ToleranceClass
from service.core.measure.lengths import (
    HOW_TO_WRITE,
    LONGEST_NM,
    NM_PER_MM,
    NotALength,
    length_from_mm,
    parse_length,
    to_mm,
)
from service.web.kit.fields import Choice, Field, Int, List, Nested, Number, Shape, Text, matches
from service.web.kit.schema import Strict
from service.web.kit.words import described

LONGEST_MM = LONGEST_NM // NM_PER_MM
#: Somebody measures a line of two hundred drawers, some of them twice.
MOST_READINGS = 1_000
_LONGEST_WRITTEN = 60


def _units(*names: str) -> str:
    """A unit in any case of its letters, which JSON Schema's patterns have no switch for."""
    spelled = ("".join(f"[{c.upper()}{c.lower()}]" if c.isalpha() else c for c in name) for name in names)
    return rf"(?:{'|'.join(spelled)})\.?"


def _amount(digits: int, before_fraction: int, *, after_feet: bool = False) -> str:
    """A decimal, a common fraction or a mixed number, with at most so many digits.

    A comma before exactly three decimals is left out: it means different lengths on two sides of a border. So is a
    point right behind feet, which is the point of “ft.” or that of “.5” and nobody can tell which.
    """
    no_whole = "" if after_feet else "|[.,][0-9]{1,9}"
    decimal = rf"(?:[0-9]{{1,{digits}}}(?:\.[0-9]{{1,9}}|,[0-9]{{1,2}}|,[0-9]{{4,9}})?{no_whole})"
    some = rf"[0-9]{{1,{before_fraction}}}"
    mixed = rf"(?:{some}(?: {{1,2}}|-))?{some} ?[/⁄] ?[1-9][0-9]{{0,3}}"
    return rf"(?:{mixed}|(?:{some} ?)?[½¼¾⅛⅜⅝⅞]|{decimal})"


_SPACE = "[ \u00a0\u202f]{0,2}"
_INCH = _units("inches", "inch", "in", '["″”“]', "['′’]['′’]")
_FOOT = _units("feet", "foot", "ft", "['′’]")


def _written(unit: str, digits: int, before_fraction: int) -> str:
    return f"{_amount(digits, before_fraction)}{_SPACE}{unit}"


@cache
def written_length_pattern() -> str:
    """What a length with its unit looks like; whatever has this form is a length of at most 100 m.

    To that end each unit has its most digits: 99999.9 mm, 9999.9 cm, 99.9 m, 999.9 in, 99.9 ft, and fewer before a
    fraction.
    """
    forms = (
        _written(_units("mm"), 5, 4),
        _written(_units("cm"), 4, 3),
        _written(_units("m"), 2, 1),
        _written(_INCH, 3, 3),
        f"{_written(_FOOT, 2, 2)}(?:{_SPACE}{_amount(2, 2, after_feet=True)}{_SPACE}{_INCH})?",
    )
    return f"^{_SPACE}(?:{'|'.join(forms)}){_SPACE}$"


def read_length(value: Any) -> int:
    """The nanometres in a number of millimetres or a measure with its unit.

    :raises ValidationError: with a sentence that says how to write a length.
    """
    try:
        if isinstance(value, str):
            return _read_written(value)
        if isinstance(value, int | float) and not isinstance(value, bool):
            return length_from_mm(value)
    except NotALength as error:
        raise ValidationError(str(error)) from error
    raise ValidationError(f"Write {HOW_TO_WRITE}.")


def _read_written(text: str) -> int:
    if len(text) > _LONGEST_WRITTEN:
        raise NotALength(f"This has {len(text)} characters; write {HOW_TO_WRITE}.")
    nm = parse_length(text)
    if not matches(written_length_pattern(), text):
        raise NotALength(f"“{text}” has more digits or spaces than are taken; write {HOW_TO_WRITE}.")
    return nm


_LENGTH = {"$ref": "#/components/schemas/LengthInput"}
_MM = {"type": "number", "minimum": 0, "maximum": LONGEST_MM}


def _length_component() -> Shape:
    return {
        "description": f"A length: {HOW_TO_WRITE}.",
        "oneOf": [
            {"type": "number", "minimum": 0, "maximum": LONGEST_MM, "description": "millimetres"},
            {
                "type": "string", "minLength": 2, "maxLength": _LONGEST_WRITTEN, "pattern": written_length_pattern(),
                "description": "a measure with its unit",
            },
        ],
        "examples": [419.1, "16 1/2 in"],
    }  # fmt: skip


class Length(Field):
    """A plain length. It holds whole nanometres (name the attribute ``…_nm`` and the ``data_key`` ``…_mm``)."""

    def read(self, value: Any) -> int:
        return read_length(value)

    def write(self, value: int) -> float:
        return to_mm(value)

    def from_text(self, text: str) -> float | str:
        return float(text) if matches(r"^[0-9]{1,6}(\.[0-9]{1,6})?$", text) else text

    def components(self) -> Mapping[str, Shape]:
        return {"LengthInput": _length_component()}

    def shape(self) -> Shape:
        return dict(_LENGTH)

    def answer_shape(self) -> Shape:
        return dict(_MM)


@cache
def length_figures() -> Mapping[str, Dimension]:
    """The handbook's figures that are lengths, by their keys, such as ``cornell.outer.width``."""
    return {key: dimension for key, figure in figures().items() if (dimension := _as_length(figure)) is not None}


def _as_length(figure: Figure) -> Dimension | None:
    try:
        return figure.as_dimension()
    except NotALength:
        return None


def _mm(**kwargs: Any) -> Number:
    return Number(min=0, max=LONGEST_MM, **kwargs)


class SpreadAnswer(Strict):
    """The readings of a sample, summed up."""

    count = Int(min=1, max=MOST_READINGS, required=True, metadata={"description": "how many readings there are"})
    mean_mm = _mm(required=True, metadata={"description": "their mean, in millimetres"})
    sd_mm = _mm(
        metadata={
            "description": "their sample standard deviation, in millimetres; left out: there is one reading only"
        }
    )
    smallest_mm = _mm(required=True, metadata={"description": "the smallest reading, in millimetres"})
    largest_mm = _mm(required=True, metadata={"description": "the largest reading, in millimetres"})
    values_mm = List(
        _mm(),
        min_items=1,
        max_items=MOST_READINGS,
        required=True,
        metadata={"description": "every reading, in millimetres"},
    )


class DimensionAnswer(Strict):
    """A dimension as answers show it."""

    value_mm = _mm(
        required=True,
        metadata={"description": "the length that is reckoned with, in millimetres; of readings their mean"},
    )
    known_as = Choice(KnownAs, required=True)
    readings = Nested(
        SpreadAnswer, metadata={"description": "what was read off; left out: nobody says that it was measured"}
    )
    tolerance_mm = _mm(metadata={"description": "the maker's plus-or-minus, in millimetres; left out: unknown"})
    tolerance_class = Choice(ToleranceClass)
    as_written = Text(max_length=_LONGEST_WRITTEN, metadata={"description": "as somebody wrote it with its unit"})
    figure = Text(max_length=200, metadata={"description": "the handbook figure that it was taken from"})
    source = Text(max_length=2_000)
    grade = Choice(Grade)


class DimensionField(Field):
    """A length together with how it is known.

    Reads a bare length (nominal), or an object with the stated ``value``, with ``readings`` of a sample, or with the
    key of a ``handbook`` figure; a ``tolerance`` or a ``tolerance_class`` may stand beside the first two. What
    somebody wrote with its unit is kept as it was written. An answer's own form is read back too, so that what was
    read can be changed and sent again.
    """

    def __init__(self, *, handbook: Callable[[], Mapping[str, Dimension]] = length_figures, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.handbook = handbook

    def read(self, value: Any) -> Dimension:
        if isinstance(value, dict):
            return self._read_object(value)
        return Dimension(read_length(value), as_written=_as_written(value))

    def _read_object(self, value: dict[str, Any]) -> Dimension:
        if "value_mm" in value:
            return self._read_back(value)
        named = sorted(_FORMS & value.keys())
        if len(named) != 1:
            raise ValidationError(
                "Give one of value, readings and handbook; a tolerance may stand beside the first two."
            )
        allowed = {named[0]} | (_BESIDE if named[0] != "handbook" else frozenset())
        strangers = {key: ["There is no such field here."] for key in value if key not in allowed}
        if strangers:
            raise ValidationError(strangers)
        return _collect(value, {"value": _stated, "readings": _measured, "handbook": self._looked_up}[named[0]])

    def _read_back(self, value: dict[str, Any]) -> Dimension:
        """A dimension as an answer showed it. What cannot be confirmed of how it is known is dropped."""
        answered = DimensionAnswer().load(value)
        if "readings" in answered:
            faithful = {"readings": list(answered["readings"]["values_mm"])}
        elif _same_length(answered.get("as_written"), answered["value_mm"]):
            faithful = {"value": answered["as_written"]}
        else:
            faithful = {"value": answered["value_mm"]}
        if "tolerance_mm" in answered:
            faithful["tolerance"] = answered["tolerance_mm"]
        if "tolerance_class" in answered:
            faithful["tolerance_class"] = answered["tolerance_class"]
        dimension = self._read_object(faithful)
        figure = self.handbook().get(answered.get("figure", ""))
        return figure if figure is not None and figure.value_nm == dimension.value_nm else dimension

    def _looked_up(self, value: dict[str, Any], _tolerance_nm: int | None) -> Dimension:
        key = value["handbook"]
        if not isinstance(key, str) or key not in self.handbook():
            raise ValidationError({"handbook": [f"The handbook has no length “{str(key)[:80]}”."]})
        return self.handbook()[key]

    def write(self, value: Dimension) -> Shape:
        known = {
            "value_mm": to_mm(value.value_nm),
            "known_as": value.known_as.value,
            "readings": spread_of(value.readings_nm) if value.readings_nm else None,
            "tolerance_mm": None if value.tolerance_nm is None else to_mm(value.tolerance_nm),
            "tolerance_class": value.tolerance_class,
            "as_written": value.as_written,
            "figure": value.figure,
            "source": value.source,
            "grade": value.grade,
        }
        return {key: fact for key, fact in known.items() if fact is not None}

    def components(self) -> Mapping[str, Shape]:
        return {
            "LengthInput": _length_component(),
            "DimensionInput": _dimension_input(sorted(self.handbook())),
            "Dimension": _dimension_output(),
        }

    def shape(self) -> Shape:
        return {"$ref": "#/components/schemas/DimensionInput"}

    def answer_shape(self) -> Shape:
        return {"$ref": "#/components/schemas/Dimension"}


_FORMS = frozenset({"value", "readings", "handbook"})
_BESIDE = frozenset({"tolerance", "tolerance_class"})
_CLASS = Choice(ToleranceClass)
_Maker = Callable[[dict[str, Any], int | None], Dimension]


def _collect(value: dict[str, Any], make: _Maker) -> Dimension:
    """Read the tolerance, its class and the rest, and name the faults of all."""
    faults: dict[str, Any] = {}
    tolerance_nm, of_class, dimension = None, None, None
    try:
        of_class = _CLASS.deserialize(value["tolerance_class"]) if "tolerance_class" in value else None
    except ValidationError as error:
        faults["tolerance_class"] = error.messages
    try:
        tolerance_nm = read_length(value["tolerance"]) if "tolerance" in value else None
    except ValidationError as error:
        faults["tolerance"] = error.messages
    try:
        dimension = make(value, tolerance_nm)
    except ValidationError as error:
        faults.update(error.messages_dict)
    if faults or dimension is None:
        raise ValidationError(faults)
    return replace(dimension, tolerance_class=of_class)


def _stated(value: dict[str, Any], tolerance_nm: int | None) -> Dimension:
    written = value["value"]
    try:
        return Dimension(read_length(written), tolerance_nm=tolerance_nm, as_written=_as_written(written))
    except ValidationError as error:
        raise ValidationError({"value": error.messages}) from error


def _measured(value: dict[str, Any], tolerance_nm: int | None) -> Dimension:
    readings = value["readings"]
    if not isinstance(readings, list) or not 1 <= len(readings) <= MOST_READINGS:
        raise ValidationError({"readings": [f"Write a list of 1 to {MOST_READINGS} readings, in square brackets."]})
    lengths_nm, faults = [], {}
    for place, reading in enumerate(readings):
        try:
            lengths_nm.append(read_length(reading))
        except ValidationError as error:
            faults[place] = error.messages
    if faults:
        raise ValidationError({"readings": faults})
    return replace(Dimension.measured(tuple(lengths_nm)), tolerance_nm=tolerance_nm)


def _same_length(written: object, mm: object) -> bool:
    """Whether a measure with its unit is the same length as a number of millimetres."""
    try:
        return isinstance(written, str) and read_length(written) == read_length(mm)
    except ValidationError:
        return False


def _as_written(value: object) -> str | None:
    return value if isinstance(value, str) else None


def spread_of(readings_nm: tuple[int, ...]) -> Shape:
    """A sample's readings summed up: mean, sample standard deviation (none for one reading), count and extremes."""
    spread = {"sd_mm": round(stdev(readings_nm) / NM_PER_MM, 6)} if len(readings_nm) > 1 else {}
    return {
        "count": len(readings_nm),
        "mean_mm": round(fmean(readings_nm) / NM_PER_MM, 6),
        **spread,
        "smallest_mm": to_mm(min(readings_nm)),
        "largest_mm": to_mm(max(readings_nm)),
        "values_mm": [to_mm(reading_nm) for reading_nm in readings_nm],
    }


def _closed(title: str, required: list[str], properties: Shape) -> Shape:
    members = {"required": required, "properties": properties, "additionalProperties": False}
    return {"title": title, "type": "object", **members}


def _dimension_input(keys: list[str]) -> Shape:
    value = {**_LENGTH, "description": "as the maker, a drawing or the owner states it"}
    readings = {
        "type": "array", "items": _LENGTH, "minItems": 1, "maxItems": MOST_READINGS,
        "description": "what was read off, of one piece or of several alike",
    }  # fmt: skip
    key = {"type": "string", "enum": keys, "description": "key of a figure of the handbook that is a length"}
    tolerance = {
        "tolerance": {**_LENGTH, "description": "the maker's plus-or-minus; absent is unknown"},
        "tolerance_class": {**_CLASS.shape(), "description": "general class that the maker works to (ISO 2768-1)"},
    }
    return {
        "description": "A length together with how it is known; a bare length is a nominal one.",
        "oneOf": [
            _LENGTH,
            _closed("StatedDimension", ["value"], {"value": value, **tolerance}),
            _closed("MeasuredDimension", ["readings"], {"readings": readings, **tolerance}),
            _closed("HandbookDimension", ["handbook"], {"handbook": key}),
            {"$ref": "#/components/schemas/Dimension"},
        ],
        "examples": ["16 1/2 in", {"value": 419.1, "tolerance": 0.5}, {"readings": [418.9, 419.2, 419.0]}],
    }


def _dimension_output() -> Shape:
    return {"description": "A length together with how it is known.", **_shape_of("Dimension", DimensionAnswer())}


def _shape_of(title: str, schema: Schema) -> Shape:
    shapes = {name: _field_shape(field) for name, field in schema.fields.items()}
    return _closed(title, [name for name, field in schema.fields.items() if field.required], shapes)


def _field_shape(field: Any) -> Shape:
    if isinstance(field, Nested):
        return described(field, _shape_of("Spread", field.schema))
    if isinstance(field, List):
        return described(field, {"type": "array", "items": _field_shape(field.inner), **field.shape()})
    shape: Shape = field.shape()
    return described(field, shape)
