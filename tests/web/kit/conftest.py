"""The shelf of boxes, with its client and its keys."""

from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from shelf import Shelf, create_shelf, write_examples

from service.web.kit.openapi import Api

ALL = {"Authorization": "Bearer key-all"}
READ = {"Authorization": "Bearer key-read"}


@pytest.fixture
def shelf_and_api(tmp_path: Path) -> tuple[Flask, Api]:
    write_examples(tmp_path)
    return create_shelf(tmp_path)


@pytest.fixture
def app(shelf_and_api: tuple[Flask, Api]) -> Flask:
    return shelf_and_api[0]


@pytest.fixture
def api(shelf_and_api: tuple[Flask, Api]) -> Api:
    return shelf_and_api[1]


@pytest.fixture
def kept(app: Flask) -> Shelf:
    shelf: Shelf = app.extensions["shelf"]
    return shelf


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """A client whose key reads and writes."""
    client = app.test_client()
    client.environ_base["HTTP_AUTHORIZATION"] = ALL["Authorization"]
    return client


@pytest.fixture
def reader(app: Flask) -> FlaskClient:
    """A client whose key only reads."""
    client = app.test_client()
    client.environ_base["HTTP_AUTHORIZATION"] = READ["Authorization"]
    return client


@pytest.fixture
def stranger(app: Flask) -> FlaskClient:
    """A client without a key."""
    return app.test_client()
