"""Throwing away what is kept for a while only."""

import click

from service.commands.databases import app_database
from service.commands.ledger import each_institution
from service.store import kept_answers
from service.store.session import open_session


@click.command()
def tidy() -> None:
    """Throw away answers kept for retries, once they are older than 30 days. Run it every night.

    The database itself refuses to forget them sooner.
    """
    forgotten = 0
    with app_database() as engine:
        for owner in each_institution(engine):
            with open_session(engine, owner.id) as session:
                forgotten += kept_answers.forget_old(session, owner.id)
                session.commit()
    click.echo(f"{forgotten} answers forgotten.")
