"""Folders and ports that the commands of the tests work with."""

import socket
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder with a short path, since pytest's own are long and closed to the private server's system user."""
    with tempfile.TemporaryDirectory(prefix="tb-") as made:
        yield Path(made) / "data"


@pytest.fixture(scope="module")
def kept_folder() -> Iterator[Path]:
    """One whose data the tests of a file use one after the other, as an operator does from day to day."""
    with tempfile.TemporaryDirectory(prefix="tb-") as made:
        yield Path(made) / "data"


@pytest.fixture
def port_in_use() -> Iterator[str]:
    """A port of this machine that somebody else listens on."""
    with socket.create_server(("127.0.0.1", 0)) as other:
        yield str(other.getsockname()[1])
