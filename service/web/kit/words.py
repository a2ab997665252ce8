"""What the fields of the contract mean, in words.

A field says so itself in its ``description``. What an enumeration's members mean stands with the members, as their
docstrings, and is told wherever one is asked for or answered. Names that mean one thing everywhere are explained
here, once.
"""

import ast
import inspect
import sys
from collections.abc import Iterator, Mapping
from enum import StrEnum
from functools import cache
from itertools import pairwise
from typing import Any

from marshmallow import fields

from service.web.kit.fields import Choice

Json = dict[str, Any]

#: Used where a field has no words of its own. A name that means something else somewhere says so there.
BY_NAME: Mapping[str, str] = {
    "id": "given by this service; it never changes, and names nothing else",
    "code": "the short name by which it is referred to",
    "name": "what people call it",
    "label": "what is written on it for people",
    "note": "free words for people; nothing is worked out from them",
    "version": "counts its changes; the ETag says the same, and If-Match asks for it",
    "created_at": "when it was written down here",
    "updated_at": "when it was last changed",
    "institution_id": "the institution whose it is",
    "consignment_id": "the consignment that it is about",
    "storage_system_id": "the storage system that it is about",
    "transfer_id": "the transfer that it belongs to",
    "transfer_code": "the name that the institution that wrote the transfer down gave it",
    "revision_number": "the revision of the storage system that it was worked out with",
    "items": "what was asked for, in the order of the list",
    "next_cursor": "send it as `cursor` to get the next page; null on the last",
    "number": "its place in the list, counted from 1",
    "position": "its place in the list, counted from 1",
    "by": "the person who did it",
    "on": "the day on which it happened",
    "href": "where to read it, under the address of this service",
    "currency": "ISO 4217, such as EUR; left out: not stated",
    "source": "where it is published, or who says so",
    "taxon": "the taxon's name, as its owner writes it; left out: not known",
    "seq": "its number in the transfer's chain of facts, counted from 1",
    "recorded_at": "when it was written down here",
    "lent": "what has left the lender so far",
    "packed": "what lies packed at the lender",
    "transit_out": "what is on its way to the borrower or receiver",
    "transit_back": "what is on its way back",
    "returned": "what the lender has received back",
    "retained": "what is the receiver's own for good: kept by permission, or given",
    "passed_on": "what is with a third party by permission",
    "consumed": "what was used up or destroyed, with a reason and a name",
    "lost": "what is lost, and was written down as such",
    "outstanding": "what is lent and not accounted for: on its way, or with the borrower",
    "country": "ISO 3166-1 alpha-2; left out: not known",
    "cites_code": "its registration as a scientific institution under CITES; left out: none stated",
    "width_mm": "from side to side along the front",
    "depth_mm": "from front to back",
    "height_mm": "from bottom to top",
    "x_mm": "from the left, in millimetres",
    "y_mm": "from the front, in millimetres",
    "z_mm": "from below, in millimetres",
}


def described(field: fields.Field[Any], shape: Json) -> Json:
    """The JSON Schema of a field with what it means: its own words, its enumeration's, or those of its name."""
    said = shape.get("description") or field.metadata.get("description")
    is_item = isinstance(field.parent, fields.List)
    by_name = None if is_item else BY_NAME.get(field.data_key or field.name or "")
    if isinstance(field, Choice):
        said = _of_choice(field.words, said, by_name)
    said = said or by_name
    return shape if said is None else shape | {"description": said}


def _of_choice(words: type[StrEnum], said: str | None, by_name: str | None) -> str | None:
    members = " ".join(f"`{member.value}`: {text}" for member, text in _of_members(words))
    opening = said or _one_line(words.__dict__.get("__doc__")) or by_name
    if not opening or not members:
        return opening or members or None
    return f"{opening.rstrip('.')}. {members}"


def _of_members(words: type[StrEnum]) -> Iterator[tuple[StrEnum, str]]:
    told = _docstrings_of_members(words.__module__).get(words.__qualname__, {})
    yield from ((words[name], text) for name, text in told.items())


@cache
def _docstrings_of_members(module: str) -> Mapping[str, Mapping[str, str]]:
    """For each class of a module, the strings that stand under its members; Python itself does not keep them."""
    tree = ast.parse(inspect.getsource(sys.modules[module]))
    return {body.name: dict(_strings_under_names(body)) for body in tree.body if isinstance(body, ast.ClassDef)}


def _strings_under_names(body: ast.ClassDef) -> Iterator[tuple[str, str]]:
    for above, below in pairwise(body.body):
        match above, below:
            case ast.Assign(targets=[ast.Name(id=name)]), ast.Expr(value=ast.Constant(value=str() as text)):
                yield name, _one_line(text)


def _one_line(docstring: str | None) -> str:
    """The first paragraph, with code marked as the contract marks it."""
    return " ".join((docstring or "").partition("\n\n")[0].split()).replace("``", "`")
