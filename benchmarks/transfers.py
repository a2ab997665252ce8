"""Movements a second against the same SQL run straight from psycopg; desk lists and custody at ever more lots.

    python -m benchmarks transfers [lots ...]

Times are medians on whatever machine this is; what counts is how they compare, side by side in one run.
"""

import re
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from hashlib import md5
from pathlib import Path
from statistics import median
from uuid import UUID

import click
import psycopg
from sqlalchemy import Connection, Engine, event
from sqlalchemy.orm import Session
from tabulate import tabulate

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent / "tests")]

from transfer_clerks import DAY, NOW, Clerks, a_lot, two_museums  # noqa: E402 - the tests' own folder is found first

from service.actions import transfers as actions  # noqa: E402
from service.actions.transfers import MoveNamed, NewFact  # noqa: E402
from service.core.transfers.chain import Link, link  # noqa: E402
from service.core.transfers.desk import Listed  # noqa: E402
from service.core.transfers.facts import Fact, Step  # noqa: E402
from service.core.transfers.ledger import Account, Move  # noqa: E402
from service.core.transfers.parties import Side  # noqa: E402
from service.store import custody, desk, embedded, migrate  # noqa: E402
from service.store.session import app_engine, open_session  # noqa: E402
from service.store.urls import database_url  # noqa: E402

SIZES = (1_000, 100_000, 1_000_000)
LOTS_OF_EACH = 2_000
MOVEMENTS = 200
ROUNDS = 9
TODAY = date(2026, 11, 25)
PAST = date(2026, 3, 1)
#: The institution that lends a tenth of everything.
LARGE = UUID(md5(b"i0").hexdigest())  # noqa: S324 - a name, not a secret
BIG_TABLES = (
    "custody_balance",
    "custody_posting",
    "custody_movement",
    "line_standing",
    "transfer_standing",
    "transfer_line",
    "transfer",
)
Ask = Callable[[Session], object]
Statement = tuple[str, object]


def main(arguments: Sequence[str]) -> None:
    """Measure at the numbers of lots given, or at a thousand, a hundred thousand and a million."""
    sizes = tuple(int(size) for size in arguments) or SIZES
    with tempfile.TemporaryDirectory(prefix="traybridge-bench-") as folder, embedded.running(Path(folder)) as url:
        click.echo(_movements(_database(url, "movements")))
        times: dict[str, dict[int, float]] = {}
        plans: dict[str, set[str]] = {}
        for lots in sizes:
            begun = time.perf_counter()
            engine = _filled(url, lots)
            click.echo(f"{lots:,} lots loaded in {time.perf_counter() - begun:.0f} s", err=True)
            for name, ask in QUESTIONS.items():
                times.setdefault(name, {})[lots] = _seconds(engine, ask)
                plans[name] = _indexes(engine, ask)
            engine.dispose()
        click.echo(_table(sizes, times, plans))


def _database(url: str, name: str) -> str:
    address = database_url(url)
    with psycopg.connect(address.set(drivername="postgresql").render_as_string(False), autocommit=True) as owner:
        owner.execute(f"CREATE DATABASE {name}")
    made = address.set(database=name).render_as_string(False)
    migrate.upgrade(made)
    return made


def _filled(url: str, lots: int) -> Engine:
    made = _database(url, f"lots_{lots}")
    script = (HERE / "lots.sql").read_text("utf-8")
    institutions = max(10, lots // LOTS_OF_EACH)
    script = script.replace(":lots", str(lots)).replace(":institutions", str(institutions))
    with psycopg.connect(made.replace("+psycopg", "")) as owner, owner.cursor() as cursor:
        cursor.execute("SET session_replication_role = replica")
        indexes = cursor.execute(
            "SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = 'public' AND tablename = ANY (%s)"
            " AND indexname NOT IN (SELECT conname FROM pg_constraint)",
            [list(BIG_TABLES)],
        ).fetchall()
        for name, _ in indexes:
            cursor.execute(f"DROP INDEX {name}")
        cursor.execute(script)
        for _, definition in indexes:
            cursor.execute(definition)
        owner.commit()
        cursor.execute("ANALYZE")
    return app_engine(made, statement_timeout_ms=600_000)


def _desk(listed: Listed) -> Ask:
    return lambda session: desk.page(session, listed, LARGE, TODAY, 30, None, 50)


def _custody(what: Callable[..., object], on: date | None, taxon: str | None = None) -> Ask:
    return lambda session: what(session, custody.Asked(LARGE, Side.LENDER, on, taxon), None, 50)


QUESTIONS: dict[str, Ask] = {
    **{f"desk: {listed.value.replace('_', ' ')}": _desk(listed) for listed in Listed},
    "custody now, by lot": _custody(custody.lots, None),
    "custody now, one taxon": _custody(custody.lots, None, "Taxon 0020"),
    "custody now, by taxon": _custody(custody.taxa, None),
    "custody now, by institution": _custody(custody.institutions, None),
    "custody on a past day, by lot": _custody(custody.lots, PAST),
    "custody on a past day, by taxon": _custody(custody.taxa, PAST),
    "custody on a past day, by institution": _custody(custody.institutions, PAST),
}


def _seconds(engine: Engine, ask: Ask) -> float:
    times = []
    for number in range(ROUNDS + 2):
        with open_session(engine, LARGE) as session:
            begun = time.perf_counter()
            ask(session)
            if number > 1:
                times.append(time.perf_counter() - begun)
    return median(times)


@contextmanager
def _overheard(engine: Engine) -> Iterator[list[Statement]]:
    """Every statement that is sent, with its parameters."""
    said: list[Statement] = []

    def listen(_: Connection, __: object, statement: str, parameters: object, *___: object) -> None:
        said.append((statement, parameters))

    event.listen(engine, "before_cursor_execute", listen)
    try:
        yield said
    finally:
        event.remove(engine, "before_cursor_execute", listen)


def _indexes(engine: Engine, ask: Ask) -> set[str]:
    """The indexes in the plan of a question. A large table that is read from end to end is told in capitals."""
    with open_session(engine, LARGE) as session:
        with _overheard(engine) as said:
            ask(session)
        statement, parameters = said[-1]
        explained = session.connection().exec_driver_sql(f"EXPLAIN {statement}", parameters)  # type: ignore[arg-type]
        plan = "\n".join(row[0] for row in explained)
    scans = {f"SEQ SCAN ON {table}" for table in re.findall(r"Seq Scan on (\w+)", plan) if table in BIG_TABLES}
    used = re.findall(r"Index (?:Only )?Scan (?:Backward )?(?:using|on) (\w+)", plan)
    return scans | set(used) - {
        "institution_pkey", "transfer_pkey", "transfer_line_pkey"
    }  # fmt: skip


def _table(sizes: tuple[int, ...], times: dict[str, dict[int, float]], plans: dict[str, set[str]]) -> str:
    rows = [
        [name, *(f"{of[size] * 1000:.2f}" for size in sizes), f"{of[sizes[-1]] / of[sizes[0]]:.1f}",
         ", ".join(sorted(plans[name]))]
        for name, of in times.items()
    ]  # fmt: skip
    headers = ["first page of 50, in ms", *(f"{size:,} lots" for size in sizes), "growth", "indexes of the plan"]
    return f"Lists of an institution that lends a tenth of everything\n\n{tabulate(rows, headers)}\n"


def _movements(url: str) -> str:
    """One clerk, one movement after another: through the use case, and its statements straight from psycopg."""
    engine = app_engine(url)
    clerks = two_museums(engine)
    through = _through_the_use_case(clerks, engine)
    straight = _straight(url, engine, clerks)
    engine.dispose()
    rows = [
        ["through the use case", f"{through:.0f}", "1.00"],
        ["the same SQL from psycopg", f"{straight:.0f}", f"{straight / through:.2f}"],
    ]
    table = tabulate(rows, ["", "per second", "factor"], disable_numparse=True)
    return f"Movements a second, one after another\n\n{table}\n"


def _a_loan(clerks: Clerks, number: int) -> None:
    clerks.write(a_lot(count=10), code=f"B-{number}")
    clerks.agree()


def _step(number: int) -> tuple[Step, Account, Account]:
    out = number % 2 == 0
    ends = (Account.COLLECTION, Account.PACKED) if out else (Account.PACKED, Account.COLLECTION)
    return (Step.PACKED if out else Step.UNPACKED, *ends)


def _through_the_use_case(clerks: Clerks, engine: Engine) -> float:
    took = 0.0
    for loan in range(MOVEMENTS // 20):
        _a_loan(clerks, loan)
        for number in range(20):
            step, source, target = _step(number)
            new = NewFact(step, "A. Clerk", DAY, (MoveNamed("1", 1, source, target),))
            begun = time.perf_counter()
            with open_session(engine, clerks.north.id) as session:
                actions.add_fact(session, clerks.actor(Side.LENDER), clerks.transfer_id, new, NOW)  # type: ignore[arg-type]
                session.commit()
            took += time.perf_counter() - begun
    return MOVEMENTS / took


def _straight(url: str, engine: Engine, clerks: Clerks) -> float:
    """The statements of one movement are overheard once, and then sent with ever new facts, all made beforehand."""
    took = 0.0
    with psycopg.connect(url.replace("+psycopg", ""), options="-c role=traybridge_app") as connection:
        for loan in range(MOVEMENTS // 20):
            _a_loan(clerks, 1_000 + loan)
            with _overheard(engine) as said:
                clerks.add(Step.PACKED, moves=(MoveNamed("1", 1),))
            bodies = _bodies(clerks, 20)
            begun = time.perf_counter()
            for body in bodies:
                for statement, parameters in said:
                    sent = (
                        dict(parameters) | {"body": body} if "INSERT INTO transfer_fact" in statement else parameters
                    )  # type: ignore[call-overload]
                    cursor = connection.execute(statement, sent)  # type: ignore[arg-type]
                    if cursor.description:
                        cursor.fetchall()
                connection.commit()
            took += time.perf_counter() - begun
    return MOVEMENTS / took


def _bodies(clerks: Clerks, count: int) -> list[str]:
    head, bodies = clerks.view().kept.head, []
    last = Link(head.seq, b"", head.digest)
    for number in range(count):
        step, source, target = _step(number + 1)
        fact = Fact(step, Side.LENDER, "A. Clerk", DAY, (Move("1", source, target, 1),))
        last = link(str(clerks.transfer_id), last, fact, NOW)
        bodies.append(last.body.decode())
    return bodies
