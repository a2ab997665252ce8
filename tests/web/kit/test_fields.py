"""Each field accepts exactly what its JSON Schema admits, as an independent library reads it."""

from datetime import UTC, date, datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any
from uuid import UUID

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from marshmallow import ValidationError
from schema_truth import admits

from service.web.kit.fields import (
    CODE,
    DATE_WRITTEN,
    INSTANT_WRITTEN,
    UUID_WRITTEN,
    Amount,
    Choice,
    Code,
    Date,
    Field,
    Flag,
    Instant,
    Int,
    List,
    Number,
    Text,
    Uuid,
)
from service.web.kit.schema import Parameters


class Wood(StrEnum):
    LIME = "lime"
    CEDAR = "cedar"


FIELDS: dict[str, Field] = {
    "text": Text(min_length=1, max_length=4),
    "code": Code(max_length=6),
    "whole": Int(min=-3, max=12),
    "number": Number(min=-0.5, max=40),
    "amount": Amount(whole_digits=3, decimals=2),
    "whole amount": Amount(whole_digits=2, decimals=0),
    "flag": Flag(),
    "choice": Choice(Wood),
    "day": Date(),
    "moment": Instant(),
    "id": Uuid(),
}

near = st.sampled_from(
    [
        "", " ", "a\n", "a\x00", "abcd", "abcde", "lime", "LIME", "lime ", "0", "00", "0.5", "12.345", "-1", "+1",
        "1e2", ".5", "5.", "NaN", "true", "2026-02-29", "2024-02-29", "2026-2-1", "20260201", "2026-W01-1",
        "2026-01-01\n",
        "2026-01-01T00:00:00Z", "2026-01-01 00:00:00Z", "2026-01-01T00:00:00", "2026-02-30T00:00:00Z",
        "2026-01-01T00:00:60Z", "2026-01-01T24:00:00Z", "2026-01-01T00:00:00.1234567Z",
        "{6d0c4b4e9d0b4f7e8f0a0d9f6c5b7a11}",
        "6d0c4b4e-9d0b-4f7e-8f0a-0d9f6c5b7a11", "6D0C4B4E-9D0B-4F7E-8F0A-0D9F6C5B7A11", "١", "−1",
        True, False, None, 0, -3, -4, 12, 13, 3.0, 3.5, -0.5, 40, 40.0000001, 1e300, 10**30, [], ["a"], {}, {"a": 1},
    ]
)  # fmt: skip
patterned = st.sampled_from([CODE, DATE_WRITTEN, INSTANT_WRITTEN, UUID_WRITTEN]).flatmap(
    lambda pattern: st.from_regex(pattern, fullmatch=True)
)
json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=6),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3),
    max_leaves=4,
)
amounts = st.decimals(-1, 2_000, places=3).map(str) | st.from_regex(r"\A[0-9]{1,4}(\.[0-9]{0,3})?\Z")
anything = near | patterned | amounts | json_values | st.floats(-2, 42) | st.integers(-5, 15)


def accepts(field: Any, value: object) -> bool:
    try:
        field.deserialize(value)
    except ValidationError:
        return False
    return True


@pytest.mark.parametrize("field", FIELDS.values(), ids=FIELDS.keys())
@settings(max_examples=250, deadline=None)
@given(value=anything)
@example("2026-02-30")
@example("abcd\n")
@example(3.0)
def test_a_field_accepts_exactly_what_its_schema_admits(field: Field, value: object) -> None:
    assert accepts(field, value) == admits(field.shape(), {}, value)


@settings(max_examples=200, deadline=None)
@given(value=st.lists(st.sampled_from(["a", "b", "abc", "abcd", 1, None]), max_size=5) | json_values)
def test_a_list_accepts_exactly_what_its_schema_admits(value: object) -> None:
    field = List(Text(max_length=3), min_items=1, max_items=3, unique=True)
    schema = {"type": "array", "items": field.inner.shape(), **field.shape()}
    assert accepts(field, value) == admits(schema, {}, value)


ROUND_TRIPS = [
    (Text(max_length=9), "Carabus é", "Carabus é"),
    (Code(), "NHMX", "NHMX"),
    (Int(min=0), 3.0, 3),
    (Number(min=0, max=9), 3, 3.0),
    (Amount(), "12.50", Decimal("12.50")),
    (Flag(), False, False),
    (Choice(Wood), "lime", Wood.LIME),
    (Date(), "2026-11-25", date(2026, 11, 25)),
    (Instant(), "2026-11-25T09:30:00Z", datetime(2026, 11, 25, 9, 30, tzinfo=UTC)),
    (Uuid(), "6d0c4b4e-9d0b-4f7e-8f0a-0d9f6c5b7a11", UUID("6d0c4b4e-9d0b-4f7e-8f0a-0d9f6c5b7a11")),
]


@pytest.mark.parametrize(("field", "sent", "value"), ROUND_TRIPS, ids=lambda x: type(x).__name__)
def test_what_was_read_is_written_as_it_came(field: Field, sent: object, value: object) -> None:
    read = field.deserialize(sent)
    assert read == value
    assert type(read) is type(value)
    assert field._serialize(read, None, None) == sent
    assert admits(field.answer_shape(), {}, field._serialize(read, None, None))


def test_a_moment_elsewhere_is_answered_in_utc() -> None:
    read = Instant().deserialize("2026-11-25T09:30:00.5+05:45")
    assert Instant().write(read) == "2026-11-25T03:45:00.500000Z"


def test_money_is_never_rounded_nor_written_with_an_exponent() -> None:
    assert Amount().write(Decimal("1E+3")) == "1000"


@pytest.mark.parametrize("value", ["\ud800", "a\udfff"])
def test_half_a_character_is_no_text(value: str) -> None:
    assert not accepts(Text(max_length=4), value)


@pytest.mark.parametrize("field", [f for f in FIELDS.values() if f.shape()["type"] == "string"], ids=repr)
def test_every_text_has_a_longest_length_in_its_schema(field: Field) -> None:
    assert field.shape().keys() & {"maxLength", "enum"}


class Filters(Parameters):
    whole = Int(min=0, max=9)
    flag = Flag()
    wood = List(Choice(Wood))
    number = Number(min=0, max=1)


@pytest.mark.parametrize(
    ("query", "read"),
    [
        ({"whole": ["3"]}, {"whole": 3}),
        ({"flag": ["false"]}, {"flag": False}),
        ({"wood": ["lime"]}, {"wood": (Wood.LIME,)}),
        ({"wood": ["lime", "cedar"]}, {"wood": (Wood.LIME, Wood.CEDAR)}),
        ({"number": ["0.25"]}, {"number": 0.25}),
    ],
)
def test_a_query_is_read_by_the_same_fields(query: dict[str, list[str]], read: dict[str, object]) -> None:
    from werkzeug.datastructures import MultiDict

    assert Filters().load_query(MultiDict(query)) == read


@pytest.mark.parametrize(
    "query", ["whole=3.0", "whole= 3", "whole=１", "whole=", "flag=True", "flag=1", "number=1e-3", "number=nan"]
)
def test_a_query_takes_one_way_of_writing(query: str) -> None:
    from werkzeug.datastructures import MultiDict

    name, _, text = query.partition("=")
    with pytest.raises(ValidationError) as caught:
        Filters().load_query(MultiDict({name: text}))
    assert caught.value.messages_dict.keys() == {name}
