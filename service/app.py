"""Where the parts meet: settings, database, resources and pages become one application."""

import os
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import flask
from flask import Flask
from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError
from werkzeug.middleware.proxy_fix import ProxyFix

from service import __version__
from service.core.actor import Actor
from service.core.errors import Busy
from service.outside.calling import Caller
from service.settings import Settings, read_settings
from service.store import institutions, keys, migrate
from service.store.session import app_engine, open_key_session, open_session, require_fence
from service.web import (
    arrangement_plans,
    arrangement_rules,
    batches,
    changes,
    consignments,
    custody,
    desk,
    drawer_homes,
    drawer_takers,
    drawers,
    events,
    external_identifiers,
    fit_checks,
    freezer,
    handbook,
    health,
    housing_plans,
    inventory,
    loan_rules,
    lots,
    lots_away,
    operations,
    packing_benches,
    papers,
    quarantine_rules,
    quarantines,
    rooms,
    storage_systems,
    system_sheets,
    transfer_papers,
    transfers,
    trays,
    webhooks,
)
from service.web import institutions as institutions_resource
from service.web.kit import logs, rate
from service.web.kit.install import Contract, Hooks, install
from service.web.kit.openapi import Api
from service.web.pages import build as _builders_page  # noqa: F401 - it adds itself to the pages
from service.web.pages.reference import pages
from service.web.transaction import once, work_on

EXAMPLES = Path(__file__).parent.parent / "openapi" / "examples"
CONTRACT = Contract(
    title="Traybridge",
    version=__version__,
    description=(
        "Institutions publish their storage systems, describe what is on offer, and get a verdict with figures: "
        "as it is, by the tray, re-house, or hold with the fact that is missing. Lengths go in as millimetres or as "
        'measured ("16 1/2 in") and come out as numbers of millimetres. Missing data is unknown, never fine. The '
        "service warns about law and hazards and never says that anything is legal or safe: local rules and licensed "
        "practice come first.\n\n"
        "What was released stays: nothing is taken away or narrowed without a new version. Answers may gain fields, "
        "so pass over what you do not know; refusals may gain kinds, so go by the status. An operation on its way "
        "out says so in Deprecation (RFC 9745) and Sunset (RFC 8594)."
    ),
    examples=EXAMPLES,
)
#: Five thousand lines with all their measurements, and some room.
LARGEST_BODY_BYTES = 12_000_000


def create_app(settings: Settings) -> Flask:
    """The application on the database that the settings name; ``DATABASE_URL`` must be set."""
    if settings.database_url is None:
        raise ValueError("The settings name no database.")
    engine = app_engine(
        settings.app_database_url or settings.database_url,
        own_login=settings.app_database_url is not None,
        pool_size=settings.pool_size,
        statement_timeout_ms=settings.statement_timeout_ms,
        lock_timeout_ms=settings.lock_timeout_ms,
    )
    app = build(
        engine,
        why_not_ready=_readiness(settings.database_url),
        questions_per_minute=settings.questions_per_minute,
        caller=Caller(settings.allowed_networks),
    )
    app.config["ADDRESS"] = settings.address
    _fence(app, engine)
    if settings.proxies:
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=settings.proxies, x_proto=0)  # type: ignore[method-assign]
    return app


def from_environment() -> Flask:
    """The application as the environment describes it, for a server of web applications."""
    logs.configure(as_json=os.environ.get("TRAYBRIDGE_LOGS", "json") == "json")
    return create_app(read_settings())


def _fence(app: Flask, engine: Engine) -> None:
    """Serve under no role that sees past the walls.

    A worker may be born while the database restarts; it then serves, and asks before it answers. Were it to die of
    that, the whole service would be taken down with it.
    """
    try:
        require_fence(engine)
    except Busy:
        is_fenced = False

        def ask_first() -> None:
            nonlocal is_fenced
            if not is_fenced and not flask.request.path.startswith("/health/"):
                require_fence(engine)
                is_fenced = True

        app.before_request(ask_first)


def build(
    engine: Engine,
    *,
    why_not_ready: Callable[[], str | None] = lambda: None,
    questions_per_minute: int = rate.USUAL_PER_MINUTE,
    caller: Caller | None = None,
) -> Flask:
    """The application on an engine of the application role. ``caller`` judges the addresses of webhooks."""
    app = Flask("service", static_folder=None)
    api = install(
        app, Hooks(_authenticator(engine), why_not_ready, once), CONTRACT, largest_body_bytes=LARGEST_BODY_BYTES
    )
    work_on(app, engine)
    webhooks.call_by(app, caller or Caller())
    rate.install(app, questions_per_minute)
    _register(app, api)
    return app


def _register(app: Flask, api: Api) -> None:
    app.extensions["traybridge.api"] = api
    for resource in (
        institutions_resource.institutions,
        storage_systems.storage_systems,
        consignments.consignments,
        fit_checks.fit_checks,
        housing_plans.housing_plans,
        operations.operations,
        rooms.rooms_resource,
        rooms.cabinets_resource,
        drawers.drawers_resource,
        trays.trays_resource,
        trays.tray_moves,
        inventory.inventory,
        inventory.collection_health,
        arrangement_rules.arrangement_rules,
        arrangement_rules.taxon_sequence,
        arrangement_plans.arrangement_plans,
        loan_rules.loan_rules,
        transfers.transfers,
        transfer_papers.transfer_papers,
        packing_benches.packing_benches,
        papers.papers,
        quarantine_rules.quarantine_rules,
        quarantines.quarantines,
        freezer.freezer,
        custody.custody,
        desk.desk,
        events.events,
        webhooks.webhooks,
        drawer_takers.drawer_takers,
        drawer_homes.drawer_homes,
        external_identifiers.external_identifiers,
        changes.changes,
        system_sheets.sheets,
        lots.lots,
        lots_away.lots_away,
        batches.batches,
        handbook.handbook,
        health.health,
    ):
        api.register_blueprint(resource)
    app.register_blueprint(pages)


def document() -> Api:
    """The contract alone, without a database."""
    app = Flask("service", static_folder=None)
    api = install(app, Hooks(lambda _: None, lambda: None), CONTRACT)
    _register(app, api)
    return api


def _authenticator(engine: Engine) -> Callable[[str], Actor | None]:
    def authenticate(secret: str) -> Actor | None:
        digest = keys.sha256_of(secret)
        with open_key_session(engine, digest) as session:
            key = keys.by_secret(session, digest)
            if key is None:
                return None
            code = institutions.by_id(session, key.institution_id).code
        today = datetime.now(UTC).date()
        if key.last_used_on != today:
            with open_session(engine, key.institution_id) as session:
                keys.mark_used(session, key, today)
                session.commit()
        return Actor(key.institution_id, code, frozenset(key.scopes), key.id)

    return authenticate


def _readiness(url: str) -> Callable[[], str | None]:
    def why_not_ready() -> str | None:
        try:
            migrate.check(url)
        except migrate.MigrationError as error:
            return str(error)
        except SQLAlchemyError:
            return "The database cannot be reached."
        return None

    return why_not_ready
