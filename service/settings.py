"""What the operator can set, all of it through the environment."""

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from service.outside.addresses import Network, NotANetwork, read_networks
from service.store.urls import NotADatabaseUrl, database_url, written


class SettingsError(ValueError):
    """A setting cannot be used; the message names it and says what would do."""


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings of one process, each under the name of its variable."""

    database_url: str | None = field(default=None, repr=False)
    """``DATABASE_URL``: the PostgreSQL (15 or later) to work with, as the owner of the tables, who migrates. Without
    it the service starts a private one in ``data_folder``."""

    app_database_url: str | None = field(default=None, repr=False)
    """``APP_DATABASE_URL``: the same database under the application's own login, a member of ``traybridge_app`` and
    nothing else. Without it the application enters by ``DATABASE_URL`` and works as ``traybridge_app``."""

    data_folder: Path = Path(".traybridge")
    """``TRAYBRIDGE_DATA``: where the private PostgreSQL keeps its data."""

    pool_size: int = 4
    """``TRAYBRIDGE_POOL_SIZE``: database connections of one process; as many as it has threads."""

    statement_timeout_ms: int = 30_000
    """``TRAYBRIDGE_STATEMENT_TIMEOUT_MS``: how long one statement may take."""

    lock_timeout_ms: int = 5_000
    """``TRAYBRIDGE_LOCK_TIMEOUT_MS``: how long to wait for a row that somebody else is changing."""

    questions_per_minute: int = 60
    """``TRAYBRIDGE_QUESTIONS_PER_MINUTE``: how many of the questions that need no key one address may ask of one
    process."""

    proxies: int = 0
    """``TRAYBRIDGE_PROXIES``: how many proxies stand before the service, each adding to X-Forwarded-For. Without any,
    that header is ignored, since anybody can write it."""

    allowed_networks: tuple[Network, ...] = ()
    """``TRAYBRIDGE_ALLOWED_NETWORKS``: private networks that webhooks may be called in, also unencrypted, parted by
    commas. Elsewhere no call goes to a private, loopback or otherwise special address."""

    address: str | None = None
    """``TRAYBRIDGE_ADDRESS``: where people find the service, such as ``https://traybridge.example.org``. It stands on
    papers and in QR codes; without it, they say the address that the request was sent to."""


def read_settings(environment: Mapping[str, str] = os.environ) -> Settings:
    """The settings as the environment has them; an empty variable counts as not set.

    :raises SettingsError: for the first value that cannot be used. A password is never repeated.
    """
    default = Settings()
    app_url = _url(environment, "APP_DATABASE_URL")
    if app_url and not environment.get("DATABASE_URL"):
        raise SettingsError("APP_DATABASE_URL is set without DATABASE_URL, which names the same database's owner.")
    return Settings(
        database_url=_url(environment, "DATABASE_URL"),
        app_database_url=app_url,
        data_folder=Path(environment.get("TRAYBRIDGE_DATA") or default.data_folder),
        pool_size=_count(environment, "TRAYBRIDGE_POOL_SIZE", default.pool_size),
        statement_timeout_ms=_count(environment, "TRAYBRIDGE_STATEMENT_TIMEOUT_MS", default.statement_timeout_ms),
        lock_timeout_ms=_count(environment, "TRAYBRIDGE_LOCK_TIMEOUT_MS", default.lock_timeout_ms),
        questions_per_minute=_count(environment, "TRAYBRIDGE_QUESTIONS_PER_MINUTE", default.questions_per_minute),
        address=_address(environment),
        proxies=_count(environment, "TRAYBRIDGE_PROXIES", 0) if environment.get("TRAYBRIDGE_PROXIES") else 0,
        allowed_networks=_networks(environment, "TRAYBRIDGE_ALLOWED_NETWORKS"),
    )


def _url(environment: Mapping[str, str], name: str) -> str | None:
    if not (given := environment.get(name)):
        return None
    try:
        return written(database_url(given))
    except NotADatabaseUrl as error:
        raise SettingsError(f"{name}: {error}") from error


def _networks(environment: Mapping[str, str], name: str) -> tuple[Network, ...]:
    try:
        return read_networks(environment.get(name, ""))
    except NotANetwork as error:
        raise SettingsError(f"{name}: {error}") from error


def _address(environment: Mapping[str, str]) -> str | None:
    given = environment.get("TRAYBRIDGE_ADDRESS")
    if not given:
        return None
    parts = urlsplit(given)
    if parts.scheme not in {"http", "https"} or not parts.netloc or parts.query or parts.fragment:
        raise SettingsError("TRAYBRIDGE_ADDRESS is no address of a service; write one such as https://example.org.")
    return given.rstrip("/")


def _count(environment: Mapping[str, str], name: str, default: int) -> int:
    given = environment.get(name) or str(default)
    if not (given.isascii() and given.isdigit() and int(given) > 0):
        raise SettingsError(f"{name} is “{given}”; write a whole number above zero, such as {default}.")
    return int(given)
