"""Entering and listing the institutions that take part."""

import click
from tabulate import tabulate

from service.commands.databases import app_database
from service.store import institutions
from service.store.ids import new_id
from service.store.session import ANONYMOUS, open_session


@click.group(name="institutions")
def institutions_() -> None:
    """Enter and list the institutions that take part."""


@institutions_.command(name="add")
@click.argument("code")
@click.argument("name")
@click.option("--country", help="Two letters (ISO 3166-1), such as NZ.")
def add_institution(code: str, name: str, country: str | None) -> None:
    """Enter an institution: its CODE (Darwin Core institutionCode) and its NAME."""
    own_id = new_id()
    with app_database() as engine, open_session(engine, own_id) as session:
        institutions.enter(session, own_id, code, name, country)
        session.commit()
    click.echo(f"Entered {code} as {own_id}.")


@institutions_.command(name="list")
def list_institutions() -> None:
    """List the institutions, in the order of their codes."""
    rows, after = [], None
    with app_database() as engine, open_session(engine, ANONYMOUS) as session:
        while True:
            page = institutions.page(session, after, 200)
            rows += [[one.code, one.name, one.country_code, one.id] for one in page.items]
            if (after := page.next) is None:
                break
    click.echo(tabulate(rows, ["Code", "Name", "Country", "Id"]) if rows else "No institution has been entered yet.")
