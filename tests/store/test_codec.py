"""Dataclasses as JSON and back: nothing is lost, and nothing is guessed."""

import json
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, bindparam, select
from sqlalchemy.dialects.postgresql import JSONB

from service.core.consignment import Container, Line
from service.core.fit.answer import FitAnswer
from service.core.measure.dimension import Dimension, Size
from service.core.standards import Cabinet, CostRates, DrawerStandard, RoomClimate, SetPoint, StorageSystem
from service.store import codec

DECIMALS = st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**9), max_value=10**9, places=4)
#: PostgreSQL cannot hold the character NUL in text, and the web does not let it in.
TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12)

for plain, values in {
    Decimal: DECIMALS,
    str: TEXT,
    int: st.integers(-(2**53), 2**53),
    float: st.floats(allow_nan=False, allow_infinity=False),
}.items():
    st.register_type_strategy(plain, values)

LAWS = settings(
    deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
STORED = st.one_of(st.from_type(StorageSystem), st.from_type(Line), st.from_type(FitAnswer))


@LAWS
@given(STORED)
def test_what_is_written_is_read_back_the_same(value: object) -> None:
    written = json.loads(codec.canonical(value))
    assert codec.from_json(type(value), written) == value
    assert codec.sha256(codec.from_json(type(value), written)) == codec.sha256(value)


def test_postgresql_gives_back_what_it_was_given(engine: Engine) -> None:
    there_and_back = select(bindparam("value", type_=JSONB))

    with engine.connect() as connection:

        @settings(LAWS, max_examples=30)
        @given(STORED)
        def law(value: object) -> None:
            returned = connection.scalar(there_and_back, {"value": codec.to_json(value)})
            assert codec.from_json(type(value), returned) == value
            assert codec.sha256(codec.from_json(type(value), returned)) == codec.sha256(value)

        law()


def test_what_is_not_known_is_left_out() -> None:
    assert codec.to_json(Size(width=Dimension(419_100_000))) == {
        "width": {"value_nm": 419_100_000, "known_as": "nominal", "readings_nm": []}
    }


def test_a_rate_keeps_its_last_zero() -> None:
    assert codec.to_json(CostRates(tray=Decimal("1.50"))) == {"tray": "1.50"}


def test_a_zero_is_a_zero_from_whichever_side_it_was_reached() -> None:
    assert codec.canonical(SetPoint(-0.0, 50.0)) == codec.canonical(SetPoint(0.0, 50.0))


def test_the_canonical_spelling_has_its_keys_in_order_and_no_spaces() -> None:
    value = RoomClimate(driest=SetPoint(20.0, 38.5, 2))
    spelling = b'{"driest":{"month":2,"relative_humidity_percent":38.5,"temperature_c":20.0}}'
    assert codec.canonical(value) == spelling
    # From a program of its own: printf '%s' '<the line above>' | sha256sum
    assert codec.sha256(value) == "79dcddc9cbee6affd0e4aeb4d5c47168daac01c1cdce58634a79ba7ec40cb4af"


@pytest.mark.parametrize(
    "stored",
    [
        {"container": "drawer"},
        {"container": "drawer", "count": 1, "colour": "brown"},
        {"container": "coffin", "count": 1},
        {"container": "drawer", "count": "1"},
        {"container": "drawer", "count": 1.0},
        {"container": "drawer", "count": True},
        {"container": "drawer", "count": 1, "description": 7},
        {"container": "drawer", "count": 1, "treatments_used": "thymol"},
        {"container": "drawer", "count": 1, "outer": []},
        [],
    ],
)
def test_what_is_no_stored_line_is_refused(stored: object) -> None:
    assert codec.from_json(Line, {"container": "drawer", "count": 1}) == Line(Container.DRAWER, 1)
    with pytest.raises(codec.NotReadable, match="not a stored Line"):
        codec.from_json(Line, stored)  # type: ignore[arg-type]


@pytest.mark.parametrize("rate", [1.5, "NaN", "Infinity", "one", ""])
def test_a_rate_is_a_finite_decimal_in_a_string(rate: object) -> None:
    with pytest.raises(codec.NotReadable):
        codec.from_json(CostRates, {"tray": rate})


def test_fields_that_came_later_change_no_old_digest() -> None:
    """Digests as they were before tolerance classes, monthly values and materials of cabinets were known."""
    cabinet = Cabinet("c", "Cabinet", 1, opening=Size(Dimension(486_000_000)))
    system = StorageSystem((cabinet,), (DrawerStandard("d", "Drawer"),), climate=RoomClimate(SetPoint(19.0, 38.0, 2)))
    line = Line(Container.DRAWER, 60, outer=Size(Dimension(500_000_000)))
    assert codec.sha256(system) == "e5c604e09fd2471906e5105d6463d37c196f98083f46029e85a9f2fa19d30863"
    assert codec.sha256(line) == "effb91885754a7ebbb44625b95b798da08797fea909a1ed5d42e1e2f9bdb1dc9"
