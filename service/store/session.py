"""Engines and sessions: who is asking is bound to every transaction, before its first statement.

The application works as the database role ``traybridge_app``, which owns nothing and which row-level security
binds. The policies read two settings of the transaction: ``app.institution_id`` and ``app.key_sha256``.
"""

from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.orm import Session, SessionTransaction

from service.store.problems import say_it_plainly
from service.store.urls import database_url, written

APP_ROLE: Final = "traybridge_app"
#: Where names are looked up: our tables first, and then the queue's, whose own functions name them plainly.
SEARCH_PATH: Final = "public,queue"
#: Somebody who has not said who they are. It has to be said, so that nobody is anonymous by oversight.
ANONYMOUS: Final = None

_BOUND_TO = "bound_to"
_BIND = text(
    "SELECT set_config('app.institution_id', :institution_id, true), set_config('app.key_sha256', :key, true)"
)
_UNSAFE = text(
    "SELECT rolsuper OR rolbypassrls OR EXISTS (SELECT FROM pg_class WHERE relname = 'institution'"
    " AND relkind = 'r' AND pg_has_role(relowner, 'USAGE')) FROM pg_roles WHERE rolname = current_user"
)


class NobodyBound(RuntimeError):
    """A session was used before anybody was bound to it: a fault in the program, not in a request."""


class NotFenced(RuntimeError):
    """The application would work under a role that row-level security does not bind."""


@dataclass(frozen=True, slots=True)
class BoundTo:
    """Whom a session works for: an institution, the holder of a key, or nobody in particular."""

    institution_id: UUID | None
    key_sha256: str | None = None


class BoundSession(Session):
    """A session that refuses to begin a transaction for an unnamed asker."""


@event.listens_for(BoundSession, "after_begin")
def _bind(session: Session, _transaction: SessionTransaction, connection: Connection) -> None:
    bound = session.info.get(_BOUND_TO)
    if bound is None:
        raise NobodyBound("Bind the session to an institution, or say that it is ANONYMOUS, before using it.")
    # An empty string, since a setting of a transaction comes back as one when the transaction is over.
    connection.execute(_BIND, {"institution_id": str(bound.institution_id or ""), "key": bound.key_sha256 or ""})


def app_engine(
    url: str,
    *,
    own_login: bool = False,
    pool_size: int = 4,
    statement_timeout_ms: int = 30_000,
    lock_timeout_ms: int = 5_000,
) -> Engine:
    """The application's connections: one for each thread, none to spare.

    With ``own_login`` the URL's login is the application's own and its rights are what the operator gave it.
    Otherwise the login is only the way in: each connection starts as ``traybridge_app``, so that not even RESET ROLE
    leaves that role.
    """
    address = database_url(url)
    settings = {
        "timezone": "UTC",
        "statement_timeout": statement_timeout_ms,
        "lock_timeout": lock_timeout_ms,
        "idle_in_transaction_session_timeout": 60_000,
        "search_path": SEARCH_PATH,
    }
    if not own_login:
        settings["role"] = APP_ROLE
    asked = [str(address.query["options"])] if "options" in address.query else []
    options = " ".join([*asked, *(f"-c {name}={value}" for name, value in settings.items())])
    engine = create_engine(
        address,
        connect_args={"options": options, "application_name": "traybridge"},
        pool_size=pool_size,
        max_overflow=0,
        pool_timeout=10,
        pool_pre_ping=True,
    )
    event.listen(engine, "handle_error", say_it_plainly)
    return engine


def queue_connection(url: str, *, own_login: bool = False) -> tuple[str, str]:
    """The same database for the queue's own loop, which speaks to the driver alone: its address, and its options."""
    address = database_url(url)
    asked = [str(address.query["options"])] if "options" in address.query else []
    role = [] if own_login else [f"-c role={APP_ROLE}"]
    options = " ".join([*asked, *role, f"-c search_path={SEARCH_PATH}", "-c timezone=UTC"])
    plain = address.difference_update_query(["options"]).set(drivername="postgresql")
    return written(plain), options


def require_fence(engine: Engine) -> None:
    """Refuse to work under a role that sees past row-level security.

    :raises NotFenced: when the engine's role is a superuser, bypasses row-level security or owns the tables.
    """
    with engine.connect() as connection:
        if connection.scalar(_UNSAFE):
            raise NotFenced(
                "The application's login could see past the walls between institutions;"
                f" give it a login of its own that is only a member of {APP_ROLE}."
            )


def open_session(engine: Engine, institution_id: UUID | None) -> Session:
    """A session for one institution, or for :data:`ANONYMOUS`. Close it, or use it in a ``with`` block."""
    return _session(engine, BoundTo(institution_id))


def open_key_session(engine: Engine, key_sha256: str) -> Session:
    """A session that sees, beyond what is everybody's, the one key with this digest: for finding out who asks."""
    return _session(engine, BoundTo(ANONYMOUS, key_sha256))


def _session(engine: Engine, bound: BoundTo) -> Session:
    info: dict[Any, Any] = {_BOUND_TO: bound}
    return BoundSession(engine, info=info)
