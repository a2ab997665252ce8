"""Two institutions, invented, who know nothing of each other."""

from uuid import UUID

import pytest
from sqlalchemy import Engine

from service.store import institutions
from service.store.ids import new_id
from service.store.session import open_session


def enter(engine: Engine, code: str) -> UUID:
    institution_id = new_id()
    with open_session(engine, institution_id) as session:
        institutions.enter(session, institution_id, code, f"Museum {code}", "SE")
        session.commit()
    return institution_id


@pytest.fixture
def north(engine: Engine) -> UUID:
    return enter(engine, "NORTH")


@pytest.fixture
def south(engine: Engine) -> UUID:
    return enter(engine, "SOUTH")
