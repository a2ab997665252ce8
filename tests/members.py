"""Institutions for tests, each with a key of its own."""

from dataclasses import dataclass
from uuid import UUID

from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import Engine

from service.store import institutions, keys
from service.store.ids import new_id
from service.store.session import open_session

EVERY_SCOPE = ("read", "write", "admin")


@dataclass(frozen=True)
class Member:
    """An institution of the test and the key it comes with."""

    id: UUID
    code: str
    key: str

    @property
    def headers(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.key}"}

    def client(self, app: Flask) -> FlaskClient:
        """A client that calls the application in this process, with the member's key."""
        client = app.test_client()
        client.environ_base["HTTP_AUTHORIZATION"] = self.headers["Authorization"]
        return client


def enter(engine: Engine, code: str, name: str, country: str | None = None) -> Member:
    """Enter an institution and give it a key that may do everything."""
    own_id = new_id()
    with open_session(engine, own_id) as session:
        institutions.enter(session, own_id, code, name, country)
        session.commit()
    return Member(own_id, code, key_of(engine, own_id, EVERY_SCOPE))


def key_of(engine: Engine, institution_id: UUID, scopes: tuple[str, ...]) -> str:
    """A further key of an institution."""
    secret = keys.new_secret()
    with open_session(engine, institution_id) as session:
        keys.make(session, institution_id, "test", scopes, secret)
        session.commit()
    return secret.written
