"""What a field means is said once, where it belongs, and told wherever the field stands."""

from enum import StrEnum

import pytest
from marshmallow import fields

from service.web.kit.fields import Choice, Int, List, Text
from service.web.kit.schema import Strict
from service.web.kit.words import BY_NAME, described


class Weather(StrEnum):
    """What the sky does, as ``seen``
    from below.

    More about it.
    """

    FAIR = "fair"
    RAIN = "rain"
    """Water falls."""
    SNOW = "snow"
    """The same, frozen:
    mind the ``roof``."""


class Plain(StrEnum):
    YES = "yes"


class Diary(Strict):
    code = Text(max_length=5)
    note = Text(max_length=5, metadata={"description": "what befell"})
    sky = Choice(Weather)
    tomorrow = Choice(Weather, metadata={"description": "as it is forecast."})
    kind = Choice(Plain)
    skies = List(Choice(Weather), metadata={"description": "hour by hour"})
    codes = List(Text(max_length=5), data_key="code_list")
    nights = Int(min=0, data_key="version")
    strange = Text(max_length=5)


@pytest.fixture
def diary() -> dict[str, fields.Field[object]]:
    return Diary().fields


def said(field: fields.Field[object]) -> object:
    return described(field, {}).get("description")


MEMBERS = "`rain`: Water falls. `snow`: The same, frozen: mind the `roof`."


def test_a_fields_own_words_come_before_those_of_its_name(diary: dict[str, fields.Field[object]]) -> None:
    assert said(diary["note"]) == "what befell"
    assert said(diary["code"]) == BY_NAME["code"]


def test_the_name_is_the_one_that_stands_in_the_json(diary: dict[str, fields.Field[object]]) -> None:
    assert said(diary["nights"]) == BY_NAME["version"]


def test_a_name_that_nobody_explained_stays_without_words(diary: dict[str, fields.Field[object]]) -> None:
    assert said(diary["strange"]) is None
    assert said(diary["kind"]) is None


def test_what_a_shape_says_of_itself_stays(diary: dict[str, fields.Field[object]]) -> None:
    assert described(diary["code"], {"type": "string", "description": "kept"}) == {
        "type": "string",
        "description": "kept",
    }


def test_an_enumeration_tells_what_it_is_and_what_its_members_mean(diary: dict[str, fields.Field[object]]) -> None:
    assert said(diary["sky"]) == f"What the sky does, as `seen` from below. {MEMBERS}"


def test_where_a_field_says_what_it_is_the_members_follow(diary: dict[str, fields.Field[object]]) -> None:
    assert said(diary["tomorrow"]) == f"as it is forecast. {MEMBERS}"


def test_the_words_of_a_list_are_not_repeated_for_each_item(diary: dict[str, fields.Field[object]]) -> None:
    skies, codes = diary["skies"], diary["codes"]
    assert isinstance(skies, List)
    assert isinstance(codes, List)
    assert said(skies) == "hour by hour"
    assert said(skies.inner) == f"What the sky does, as `seen` from below. {MEMBERS}"
    assert said(codes.inner) is None
