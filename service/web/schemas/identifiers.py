"""Names that other databases have for things, as they are sent and shown."""

from collections.abc import Callable
from typing import Any, ClassVar

from marshmallow import ValidationError

from service.core.identifiers import LONGEST_VALUE, Identifier, Kind, NotAnIdentifier, identifier
from service.web.kit.fields import Choice, List, Nested, Text, Uuid
from service.web.kit.schema import Strict

MOST_IDENTIFIERS = 20
SCHEME = r"^[a-z][a-z0-9._-]{0,49}$"


def scheme_text(**more: Any) -> Text:
    """The field for the name of a scheme."""
    described = {
        "description": "ror, or any short name of your own; the values of ror are checked by their digits",
        "example": "ror",
    }
    return Text(max_length=50, pattern=SCHEME, like="a scheme's name such as ror", metadata=described, **more)


def read_identifier(scheme: str, value: str) -> Identifier:
    """An identifier in its one spelling.

    :raises ValidationError: when the value is none of its scheme.
    """
    try:
        return identifier(scheme, value)
    except NotAnIdentifier as error:
        raise ValidationError(str(error), "value") from error


class IdentifierSchema(Strict):
    """What another database calls something: a scheme, and a value within it."""

    makes: ClassVar[Callable[..., Any] | None] = staticmethod(read_identifier)
    scheme = scheme_text(required=True)
    value = Text(
        max_length=LONGEST_VALUE,
        required=True,
        metadata={"description": "the name itself; one that is spelled in several ways is kept in one"},
    )


class GivenIdentifierSchema(Strict):
    """A name of a thing, and who calls it so."""

    scheme = Text(
        max_length=50,
        required=True,
        metadata={"description": "what the value is a name within: ror, or a short name of the giver's own"},
    )
    value = Text(
        max_length=LONGEST_VALUE, required=True, metadata={"description": "the name itself, in its one spelling"}
    )
    given_by = Uuid(required=True, metadata={"description": "the institution that calls it so"})


class NamedThingSchema(GivenIdentifierSchema):
    """What something is called, and where it is."""

    kind = Choice(Kind, required=True)
    thing_id = Uuid(
        required=True, metadata={"description": "id of the thing, or of the thing that the line belongs to"}
    )
    line = Text(
        max_length=64, metadata={"description": "key or position of a line within it; left out for the whole"}
    )
    href = Text(max_length=300, required=True, metadata={"description": "where the thing is to be read"})


class Identifiers(List):
    """Names to give."""

    def __init__(self, **more: Any) -> None:
        described = {"description": "what your own database calls it"}
        super().__init__(Nested(IdentifierSchema), max_items=MOST_IDENTIFIERS, metadata=described, **more)


class GivenIdentifiers(List):
    """Names as they were given."""

    def __init__(self) -> None:
        described = {"description": "what it is called by its owner, its sides and you"}
        super().__init__(Nested(GivenIdentifierSchema), required=True, metadata=described)
