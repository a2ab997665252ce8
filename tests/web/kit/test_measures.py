"""Lengths and dimensions are read as the trade writes them, and the contract says exactly how that is."""

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from marshmallow import ValidationError
from schema_truth import admits

from service.core.handbook.styles import drawer_style
from service.core.measure.dimension import Dimension, Grade, KnownAs
from service.core.measure.lengths import LONGEST_NM
from service.web.kit.measures import DimensionField, Length, written_length_pattern

LENGTH, DIMENSION = Length(), DimensionField()
COMPONENTS = DIMENSION.components()

written = st.from_regex(written_length_pattern(), fullmatch=True)
units = st.sampled_from(
    ["mm", "cm", "m", "in", "inch", "Inches", '"', "″", "''", "ft", "feet", "'", "′", "mm.", "IN.", "km", "", "lb"]
)
parts = st.sampled_from(
    ["0", "1", "16", "419", "4191", "99999", "100000", "123456", "16 1/2", "16-1/2", "18 7/8", "1/0", "5/08", "½",
     "16½", "16 ½", "41.9", "41,9", "1,234", "1.234", ".5", ",5", "1e3", "-1", "5.", "16  1 / 2", "1⁄2", "٣"]
)  # fmt: skip
spaces = st.sampled_from(["", " ", "  ", "   ", "\u00a0", "\t"])
measures = st.builds(
    "".join, st.lists(st.builds("".join, st.tuples(spaces, parts, spaces, units, spaces)), max_size=3)
)
numbers = (
    st.floats(allow_nan=False, allow_infinity=False) | st.integers() | st.floats(0, 100_001) | st.integers(-2, 9)
)
lengths = written | measures | numbers | st.none() | st.booleans() | st.text(max_size=5)
objects = st.fixed_dictionaries(
    {},
    optional={
        "value": lengths,
        "tolerance": lengths,
        "readings": st.lists(lengths, max_size=3) | lengths,
        "handbook": st.sampled_from(["cornell.outer.width", "cornell.outer.girth", "growth.reserve_least"]) | lengths,
        "tolerance_class": st.sampled_from(["f", "m", "c", "v", "x", ""]) | lengths,
        "unit": st.just("mm"),
    },
)


def reads(field: Any, value: object) -> bool:
    try:
        field.deserialize(value)
    except ValidationError:
        return False
    return True


@settings(max_examples=600, deadline=None)
@given(value=lengths)
@example("16½ in")
@example("1,234 mm")
@example("328 ft")
@example("1/4 ft.4000 in")
@example("1/4 ft .5 in")
@example("1' 4 1/2\"")
@example("419.1 mm\n")
def test_a_length_is_accepted_exactly_when_its_schema_admits_it(value: object) -> None:
    assert reads(LENGTH, value) == admits(LENGTH.shape(), COMPONENTS, value)


@settings(max_examples=300, deadline=None)
@given(text=written)
@example("1 ft. 4 in")
def test_whatever_has_the_form_of_a_length_is_one_within_reason(text: str) -> None:
    assert 0 <= LENGTH.deserialize(text) <= LONGEST_NM


@settings(max_examples=600, deadline=None)
@given(value=objects | lengths)
@example({"value": 1, "tolerance": "1/64 in"})
@example({"readings": [1, "16 1/2 in"], "tolerance": 0})
@example({"handbook": "cornell.outer.width"})
@example({"readings": []})
def test_a_dimension_is_accepted_exactly_when_its_schema_admits_it(value: object) -> None:
    assert reads(DIMENSION, value) == admits(DIMENSION.shape(), COMPONENTS, value)


@settings(max_examples=300, deadline=None)
@given(value=objects | lengths)
def test_what_is_answered_of_a_dimension_fits_its_schema_and_reads_as_the_same_length(value: object) -> None:
    try:
        dimension = DIMENSION.deserialize(value)
    except ValidationError:
        return
    answer = json.loads(json.dumps(DIMENSION.write(dimension)))
    assert admits(DIMENSION.answer_shape(), COMPONENTS, answer)
    assert DIMENSION.deserialize(answer["value_mm"]).value_nm == dimension.value_nm


@pytest.mark.parametrize(
    ("sent", "nm"),
    [
        (419.1, 419_100_000),
        (419, 419_000_000),
        ("419.1 mm", 419_100_000),
        ("41,91 cm", 419_100_000),
        ("16 1/2 in", 419_100_000),  # 1 in = 25.4 mm by definition
        ("16½″", 419_100_000),
        ("1 ft 4 1/2 in", 419_100_000),
        ("1/64 in", 396_875),
    ],
)
def test_a_bare_length_is_a_nominal_dimension_and_keeps_how_it_was_written(sent: object, nm: int) -> None:
    as_written = sent if isinstance(sent, str) else None
    assert DIMENSION.deserialize(sent) == Dimension(nm, KnownAs.NOMINAL, as_written=as_written)


def test_a_stated_value_may_have_a_tolerance() -> None:
    read = DIMENSION.deserialize({"value": "16 1/2 in", "tolerance": 0.5})
    assert read == Dimension(419_100_000, tolerance_nm=500_000, as_written="16 1/2 in")


def test_readings_make_a_measured_dimension_that_shows_their_spread() -> None:
    readings = [418.6, 419.0, 419.4, 419.1]
    answer = DIMENSION.write(DIMENSION.deserialize({"readings": readings}))
    assert answer["known_as"] == "measured"
    spread = answer["readings"]
    assert spread["count"] == 4
    assert spread["mean_mm"] == pytest.approx(np.mean(readings), abs=1e-6)
    assert spread["sd_mm"] == pytest.approx(np.std(readings, ddof=1), abs=1e-6)
    assert (spread["smallest_mm"], spread["largest_mm"]) == (418.6, 419.4)
    assert spread["values_mm"] == readings


def test_one_reading_has_no_spread() -> None:
    answer = DIMENSION.write(DIMENSION.deserialize({"readings": ["41.9 cm"]}))
    assert answer["readings"]["count"] == 1
    assert "sd_mm" not in answer["readings"]


def test_a_handbook_figure_brings_its_source_and_grade() -> None:
    read = DIMENSION.deserialize({"handbook": "cornell.outer.width"})
    assert read == drawer_style("cornell").outer.width
    answer = DIMENSION.write(read)
    assert (answer["figure"], answer["known_as"]) == ("cornell.outer.width", "handbook")
    assert answer["source"]
    assert Grade(answer["grade"])


@pytest.mark.parametrize(
    ("sent", "pointer", "words"),
    [
        ("16 1/2", None, "not a length"),
        ("1,234 mm", None, "two ways"),
        (-1, None, "outside 0 to"),
        ("328 ft", None, "more digits or spaces"),
        ([1], None, "Write a number of millimetres, or"),
        ({}, None, "Give one of value, readings and handbook"),
        ({"value": 1, "readings": [1]}, None, "Give one of value, readings and handbook"),
        ({"handbook": "cornell.outer.width", "tolerance": 1}, "tolerance", "no such field"),
        ({"handbook": "growth.reserve_least"}, "handbook", "has no length"),
        ({"value": 1, "unit": "mm"}, "unit", "no such field"),
        ({"readings": [True]}, "readings", "Write a number of millimetres, or"),
    ],
)  # fmt: skip
def test_what_is_no_dimension_is_told_what_would_be(sent: object, pointer: str | None, words: str) -> None:
    with pytest.raises(ValidationError) as caught:
        DIMENSION.deserialize(sent)
    messages = caught.value.messages if pointer is None else caught.value.messages_dict[pointer]
    assert words in str(messages)


def test_a_plain_length_holds_nanometres_and_shows_millimetres() -> None:
    assert LENGTH.deserialize("1/16 in") == 1_587_500
    assert LENGTH.write(1_587_500) == 1.5875


ANSWERED = [
    419.1,
    "16 1/2 in",
    {"value": "41.9 cm", "tolerance": 0.5},
    {"readings": [418.9, 419.2, 419.0]},
    {"handbook": "cornell.outer.width"},
]


@pytest.mark.parametrize("sent", ANSWERED)
def test_a_dimension_that_was_answered_can_be_sent_again_and_stays_the_same(sent: Any) -> None:
    dimension = DIMENSION.read(sent)
    answered = json.loads(json.dumps(DIMENSION.write(dimension)))
    assert admits(DIMENSION.shape(), COMPONENTS, answered)
    assert DIMENSION.read(answered) == dimension


def test_an_answer_that_was_changed_is_believed_in_its_figure_and_not_in_its_credentials() -> None:
    answered = DIMENSION.write(DIMENSION.read({"handbook": "cornell.outer.width"}))
    changed = DIMENSION.read(answered | {"value_mm": 480.0})
    assert (changed.value_nm, changed.known_as, changed.grade) == (480_000_000, KnownAs.NOMINAL, None)
