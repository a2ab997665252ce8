"""Consignments in the database: lines in order, read by those they are offered to."""

from uuid import UUID

import pytest
from sqlalchemy import Engine

from service.core.consignment import ConsignmentKind, Container, Line, TrayLot
from service.core.errors import Conflict, Invalid, NotAllowed, NotFound, StaleVersion
from service.core.measure.dimension import Dimension, Size
from service.store import consignments
from service.store.consignments import Consignment, Cover, Sender
from service.store.ids import new_id
from service.store.session import ANONYMOUS, open_session

GIFT = Cover(ConsignmentKind.GIFT, Sender(name="A private collector"), note="Two rooms full")
DRAWERS = Line(
    Container.DRAWER,
    60,
    "Home-made drawers",
    outer=Size(Dimension(419_100_000), Dimension(457_200_000), Dimension(63_500_000)),
    trays=(TrayLot(480, Size(Dimension(100_000_000))),),
    specimens=21_000,
)
BOXES = Line(Container.STORAGE_BOX, 4)


def make(engine: Engine, owner: UUID, *offered_to: UUID, code: str = "C-1") -> Consignment:
    cover = Cover(GIFT.kind, GIFT.sender, offered_to, GIFT.note)
    with open_session(engine, owner) as session:
        made = consignments.make(session, owner, code, cover, [DRAWERS, BOXES])
        session.commit()
    return made


def test_a_consignment_comes_back_line_by_line(engine: Engine, north: UUID) -> None:
    made = make(engine, north)
    with open_session(engine, north) as session:
        assert consignments.by_id(session, made.id) == made
        assert consignments.lines(session, made) == (DRAWERS, BOXES)
        assert consignments.page(session, north, None, 10).items == (made,)


def test_those_it_is_offered_to_read_it_and_do_not_change_it(engine: Engine, north: UUID, south: UUID) -> None:
    made = make(engine, north, south)
    with open_session(engine, south) as session:
        assert consignments.page_offered(session, south, None, 10).items == (made,)
        assert consignments.page(session, south, None, 10).items == ()
        assert consignments.lines(session, made) == (DRAWERS, BOXES)
        with pytest.raises(NotAllowed):
            consignments.change(session, made, made.version, GIFT, [])
        with pytest.raises(NotAllowed):
            consignments.remove(session, made, made.version)


def test_nobody_else_knows_of_it(engine: Engine, north: UUID, south: UUID) -> None:
    made = make(engine, north, new_id())
    for asker in (south, ANONYMOUS):
        with open_session(engine, asker) as session:
            assert consignments.lines(session, made) == ()
            assert consignments.page_offered(session, south, None, 10).items == ()
            with pytest.raises(NotFound):
                consignments.by_id(session, made.id)


def test_an_offer_that_is_withdrawn_is_no_longer_seen(engine: Engine, north: UUID, south: UUID) -> None:
    made = make(engine, north, south)
    with open_session(engine, north) as session:
        changed = consignments.change(session, made, made.version, GIFT)
        session.commit()
        assert (changed.offered_to, changed.version) == ((), 2)
        assert consignments.lines(session, made) == (DRAWERS, BOXES)
    with open_session(engine, south) as session, pytest.raises(NotFound):
        consignments.by_id(session, made.id)


def test_new_lines_replace_the_old_ones_if_nobody_was_quicker(engine: Engine, north: UUID) -> None:
    made = make(engine, north)
    with open_session(engine, north) as session:
        consignments.change(session, made, made.version, GIFT, [BOXES])
        assert consignments.lines(session, made) == (BOXES,)
        with pytest.raises(StaleVersion):
            consignments.change(session, made, made.version, GIFT, [DRAWERS])


def test_a_removed_consignment_takes_its_lines_along(engine: Engine, north: UUID) -> None:
    made = make(engine, north)
    with open_session(engine, north) as session:
        consignments.remove(session, made, made.version)
        assert consignments.lines(session, made) == ()
        with pytest.raises(NotFound):
            consignments.by_id(session, made.id)


def test_pages_go_from_the_newest_to_the_oldest_without_a_gap(engine: Engine, north: UUID) -> None:
    for number in range(5):
        make(engine, north, code=f"C-{number}")
    with open_session(engine, north) as session:
        found, after = [], None
        while True:
            read = consignments.page(session, north, after, 2)
            found += [each.code for each in read.items]
            if (after := read.next) is None:
                break
    assert found == ["C-4", "C-3", "C-2", "C-1", "C-0"]


def test_a_code_is_taken_once_by_each_owner(engine: Engine, north: UUID, south: UUID) -> None:
    make(engine, north)
    make(engine, south)
    with pytest.raises(Conflict) as refused:
        make(engine, north)
    assert refused.value.kind == "code_taken"


@pytest.mark.parametrize(
    ("cover", "lines", "field"),
    [
        (Cover(ConsignmentKind.GIFT, Sender()), [], "sender"),
        (Cover(ConsignmentKind.GIFT, Sender(new_id(), "and a name")), [], "sender"),
        (Cover(ConsignmentKind.GIFT, GIFT.sender, tuple(new_id() for _ in range(201))), [], "offered_to"),
        (GIFT, [Line(Container.DRAWER, 0)], "count"),
        (GIFT, [Line(Container.DRAWER, 1, specimens=-1)], "specimens"),
    ],
)
def test_what_cannot_be_so_is_refused_by_the_name_of_the_field(
    engine: Engine, north: UUID, cover: Cover, lines: list[Line], field: str
) -> None:
    with open_session(engine, north) as session, pytest.raises(Invalid) as refused:
        consignments.make(session, north, "C-1", cover, lines)
    assert refused.value.field == field
