"""Storage systems for everybody to find, published as their owners do it."""

from dataclasses import replace
from datetime import UTC, datetime
from uuid import UUID

from builders import a_cabinet, a_system, size
from sqlalchemy import Engine

from service.actions import standards
from service.actions.standards import CoverSheet, Draft
from service.core.actor import Actor
from service.core.standards import StorageSystem
from service.store.session import open_session
from service.store.systems import Visibility


def of_width(width: float, **cabinet: object) -> StorageSystem:
    """A system whose cabinets are so wide inside."""
    return replace(a_system(), cabinets=(a_cabinet(opening=size(width, 425, 1985), **cabinet),))


def publish(engine: Engine, owner: UUID, code: str, name: str, content: StorageSystem) -> UUID:
    with open_session(engine, owner) as session:
        system = standards.make_system(session, Actor(owner), code, CoverSheet(name, Visibility.EVERYBODY))
        draft = standards.begin_draft(session, system.id, Draft(content))
        standards.publish(session, system.id, draft.number, draft.version, datetime(2026, 11, 25, tzinfo=UTC))
        session.commit()
    return system.id
