"""The keys that programs come with."""

from datetime import UTC, datetime

import click
from sqlalchemy import Engine
from tabulate import tabulate

from service.commands.databases import app_database, institution_called
from service.core.errors import NotFound
from service.store import keys
from service.store.institutions import Institution
from service.store.keys import Key
from service.store.session import open_session

SCOPES = click.Choice(["read", "write", "admin"])
#: Keys shown by `keys list`: nobody hands out more, and a table longer than this helps nobody.
MOST_KEYS = 1_000


@click.group(name="keys")
def keys_() -> None:
    """Create, list and revoke the keys that programs come with."""


@keys_.command(name="create")
@click.option("--institution", "code", required=True, help="Code of the institution that the key works for.")
@click.option("--name", required=True, help="What the key is for, so that it can be told from others.")
@click.option(
    "--scope", "scopes", type=SCOPES, multiple=True, required=True, help="May be repeated; none includes another."
)
@click.option("--expires", type=click.DateTime(["%Y-%m-%d"]), help="Last day it works (UTC), as YYYY-MM-DD.")
def create_key(code: str, name: str, scopes: tuple[str, ...], expires: datetime | None) -> None:
    """Create a key and show it, this once.

    read: see what is the institution's own. write: change it, and ask for fit checks. admin: change the institution's
    own entry in the directory.
    """
    until = None if expires is None else expires.replace(hour=23, minute=59, second=59, tzinfo=UTC)
    if until is not None and until <= datetime.now(UTC):
        raise click.BadParameter("that day is over", param_hint="--expires")
    secret = keys.new_secret()
    with app_database() as engine:
        owner = institution_called(engine, code)
        with open_session(engine, owner.id) as session:
            keys.make(session, owner.id, name, scopes, secret, until)
            session.commit()
    click.echo("Keep this key; it is not shown again:", err=True)
    click.echo(secret.written)


@keys_.command(name="list")
@click.option("--institution", "code", required=True, help="Code of the institution.")
def list_keys(code: str) -> None:
    """List an institution's keys, the newest first. The secrets themselves are kept nowhere."""
    with app_database() as engine:
        found = _keys(engine, institution_called(engine, code))
    rows = [
        [f"tb_{key.prefix}…", key.name, ", ".join(key.scopes), _day(key.expires_at), key.last_used_on, _state(key)]
        for key in found
    ]
    headers = ["Key", "Name", "Scopes", "Until", "Last used", "State"]
    click.echo(tabulate(rows, headers) if rows else f"{code} has no keys.")


@keys_.command(name="revoke")
@click.argument("prefix")
@click.option("--institution", "code", required=True, help="Code of the institution.")
def revoke_key(prefix: str, code: str) -> None:
    """End a key at once.

    PREFIX is the key's beginning, as `keys list` shows it; the whole key will do as well.
    """
    with app_database() as engine:
        owner = institution_called(engine, code)
        prefix = prefix.removeprefix("tb_").rstrip("…").partition("_")[0]
        key = next((key for key in _keys(engine, owner) if key.prefix == prefix), None)
        if key is None:
            raise NotFound(f"key of {code} that begins with", f"tb_{prefix}")
        if key.revoked_at is None:
            with open_session(engine, owner.id) as session:
                keys.revoke(session, owner.id, key.id, key.version, datetime.now(UTC))
                session.commit()
    click.echo(f"The key tb_{prefix}… ({key.name}) opens nothing any more.")


def _keys(engine: Engine, owner: Institution) -> list[Key]:
    with open_session(engine, owner.id) as session:
        return list(keys.page(session, owner.id, None, MOST_KEYS).items)


def _day(moment: datetime | None) -> str:
    return "" if moment is None else moment.date().isoformat()


def _state(key: Key) -> str:
    if key.revoked_at is not None:
        return f"revoked {_day(key.revoked_at)}"
    return "expired" if key.expires_at is not None and key.expires_at <= datetime.now(UTC) else "good"
