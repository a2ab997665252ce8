"""Throwing away what is kept for a while only."""

import click

from service.commands.databases import app_database
from service.commands.ledger import each_institution
from service.store import deliveries, kept_answers
from service.store.session import open_session


@click.command()
def tidy() -> None:
    """Throw away what is kept for a while only. Run it every night.

    Answers kept for retries go after 30 days, the log of calls to webhooks after 90; the database itself refuses to
    forget them sooner.
    """
    forgotten = attempts = 0
    with app_database() as engine:
        for owner in each_institution(engine):
            with open_session(engine, owner.id) as session:
                forgotten += kept_answers.forget_old(session, owner.id)
                attempts += deliveries.forget_old(session, owner.id)
                session.commit()
    click.echo(f"{forgotten} answers and {attempts} calls to webhooks forgotten.")
