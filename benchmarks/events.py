"""Events through the outbox to many subscribers' webhooks, of whom some are slow, some silent and some gone.

    python -m benchmarks events [subscribers] [events]

Each subscriber is an institution with one webhook. A burst of events, each for another subscriber, is written at
once; what is measured is how many a second arrive at those who answer well, and how long half of them and nearly all
of them take. Then the same with some who do not answer well: when nobody knows it yet, and when it is known. Real
workers, real calls, one machine for all of it; what counts is how the bursts compare.
"""

import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import click
import psycopg
from tabulate import tabulate

from benchmarks.clock import in_turn
from service.outside.signing import new_secret
from service.store import embedded, events, migrate
from service.store.session import app_engine, open_session
from service.working import Spending, workers_running

SUBSCRIBERS, EVENTS = 10_000, 3_000
#: Of a hundred subscribers.
SLOW, SILENT, GONE = 2, 1, 2
GIVE_UP_S = 900
WRITES = 300

INSTITUTIONS = (
    "INSERT INTO institution (id, code, name) SELECT gen_random_uuid(), 's-' || n, 'Subscriber ' || n"
    " FROM generate_series(1, %s) n"
)
WEBHOOKS = (
    "INSERT INTO webhook (institution_id, id, url, description, types, enabled, secret)"
    " SELECT id, gen_random_uuid(), %s, '', '{}', true, %s FROM institution"
)
PROGRESS = (
    "INSERT INTO webhook_progress (institution_id, webhook_id, read_to) SELECT institution_id, id, 0 FROM webhook"
)
#: Which subscribers answer otherwise than at once, by their number.
MOODS = (
    "UPDATE webhook w SET url = CASE WHEN n.part < %(slow)s THEN %(base)s::text || '/slow'"
    " WHEN n.part < %(slow)s + %(silent)s THEN %(base)s::text || '/silent' ELSE 'http://127.0.0.1:1/gone' END"
    " FROM (SELECT id, substring(code FROM '^s-([0-9]+)$')::int %% 100 AS part FROM institution) n"
    " WHERE n.id = w.institution_id AND n.part < %(slow)s + %(silent)s + %(gone)s"
)
HAPPENS = (
    "INSERT INTO event (institution_id, id, type, subject_id, made_by)"
    " SELECT id, gen_random_uuid(), 'fit_check.made', gen_random_uuid(), id FROM institution WHERE id = ANY (%s)"
)
ARRIVED = (
    "SELECT count(*), percentile_cont(ARRAY[0.5, 0.99]) WITHIN GROUP ("
    " ORDER BY extract(epoch FROM a.created_at - e.recorded_at))"
    " FROM webhook_attempt a JOIN webhook w ON w.institution_id = a.institution_id AND w.id = a.webhook_id"
    " JOIN event e ON e.institution_id = a.institution_id AND e.id = a.event_id"
    " WHERE a.outcome = 'delivered' AND w.url LIKE '%%/quick' AND e.recorded_at >= %s"
)


def main(arguments: Sequence[str]) -> None:
    subscribers, count = (
        int(arguments[at]) if len(arguments) > at else n for at, n in enumerate((SUBSCRIBERS, EVENTS))
    )
    with tempfile.TemporaryDirectory(prefix="traybridge-bench-") as folder, embedded.running(Path(folder)) as url:
        migrate.upgrade(url)
        with psycopg.connect(url.replace("+psycopg", ""), autocommit=True) as owner, _receiver() as base:
            click.echo(_writing(owner))
            owner.execute(INSTITUTIONS, [subscribers])  # type: ignore[arg-type]
            owner.execute(WEBHOOKS, [f"{base}/quick", new_secret()])  # type: ignore[arg-type]
            owner.execute(PROGRESS)
            owner.execute("ANALYZE")
            click.echo(_bursts(owner, url, base, min(count, subscribers)))
            click.echo(_reading(owner, url))


@contextmanager
def _receiver() -> Iterator[str]:
    command = [sys.executable, str(Path(__file__).with_name("receiver.py"))]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:  # noqa: S603 - our own module
        assert process.stdout is not None  # noqa: S101
        try:
            yield f"http://127.0.0.1:{process.stdout.readline().strip()}"
        finally:
            process.terminate()


def _bursts(owner: psycopg.Connection, url: str, base: str, count: int) -> str:
    environment = {
        "DATABASE_URL": url, "TRAYBRIDGE_ALLOWED_NETWORKS": "127.0.0.0/8", "TRAYBRIDGE_LOGS": "plain",
        "PYTHONPATH": os.getcwd(),
    }  # fmt: skip
    chance = random.Random(5)  # noqa: S311 - the same subscribers in every run
    rows = []
    with workers_running(environment, 1, Spending(stop_within=5)):
        _warm_up(owner, chance, count)
        rows.append(["all answer at once, 1 worker", *_burst(owner, chance, count)])
        owner.execute(MOODS, {"base": base, "slow": SLOW, "silent": SILENT, "gone": GONE})
        rows.append(["5 in 100 do not, and nobody knows", *_burst(owner, chance, count)])
        rows.append(["the same, and it is known", *_burst(owner, chance, count)])
    with workers_running(environment, 2, Spending(stop_within=5)):
        _warm_up(owner, chance, count)
        rows.append(["the same, 2 workers", *_burst(owner, chance, count)])
    first = rows[0][1]
    shown = [
        [name, f"{rate:.0f}", f"{rate / first:.2f}", f"{half:.1f}", f"{most:.1f}"] for name, rate, half, most in rows
    ]
    headers = ["a burst of events", "a second", "factor", "half within s", "99 in 100 within s"]
    return f"{count:,} events to so many subscribers\n\n{tabulate(shown, headers, disable_numparse=True)}\n"


def _warm_up(owner: psycopg.Connection, chance: random.Random, count: int) -> None:
    """Wait until the workers work."""
    _burst(owner, chance, min(count, 200))


def _burst(owner: psycopg.Connection, chance: random.Random, count: int) -> tuple[float, float, float]:
    """Events a second that arrived at those who answer well; the seconds within which half and most of them did."""
    everybody = [row[0] for row in owner.execute("SELECT id FROM institution WHERE code LIKE 's-%' ORDER BY code")]
    chosen = chance.sample(everybody, count)
    well = owner.execute(
        "SELECT count(*) FROM webhook WHERE url LIKE '%%/quick' AND institution_id = ANY (%s)", [chosen]
    ).fetchone()
    begun = owner.execute("SELECT clock_timestamp()").fetchone()
    assert begun is not None and well is not None  # noqa: S101, PT018
    started = time.perf_counter()
    for at in range(0, count, 100):
        owner.execute(HAPPENS, [chosen[at : at + 100]])
    while time.perf_counter() < started + GIVE_UP_S:
        arrived, seconds = owner.execute(ARRIVED, [begun[0]]).fetchone() or (0, None)  # type: ignore[arg-type]
        if arrived >= well[0]:
            return arrived / (time.perf_counter() - started), *seconds
        time.sleep(0.1)
    raise RuntimeError(f"After {GIVE_UP_S} s only {arrived} of {well[0]} events have arrived.")


def _writing(owner: psycopg.Connection) -> str:
    """What it costs whoever writes a fact that it is told."""
    owner.execute("INSERT INTO institution (id, code, name) VALUES (gen_random_uuid(), 'writer', 'Writer')")
    numbers = iter(range(10**9))

    def write(told: str) -> Callable[[], None]:
        def work() -> None:
            owner.execute(f"ALTER TABLE consignment {told} TRIGGER consignment_told")
            for _ in range(WRITES):
                owner.execute(
                    "INSERT INTO consignment (id, institution_id, code, kind, sender)"
                    " SELECT gen_random_uuid(), id, %s, 'gift', '{\"name\": \"x\"}' FROM institution"
                    " WHERE code = 'writer'",
                    [f"C-{next(numbers)}"],
                )

        return work

    seconds = in_turn({"without its event": write("DISABLE"), "with its event": write("ENABLE")}, rounds=9)
    alone = seconds["without its event"]
    rows = [[name, f"{each / WRITES * 1000:.2f}", f"{each / alone:.2f}"] for name, each in seconds.items()]
    table = tabulate(rows, ["one consignment written", "ms", "factor"], disable_numparse=True)
    return f"What an event costs whoever writes the fact, each in a transaction of its own\n\n{table}\n"


def _reading(owner: psycopg.Connection, url: str) -> str:
    """One reader of one feed, by pages of 200, when they are read for the first time and when they are read again."""
    row = owner.execute("SELECT id FROM institution WHERE code = 'writer'").fetchone()
    assert row is not None  # noqa: S101
    engine, reader = app_engine(url), row[0]

    def read() -> int:
        position, seen = 0, 0
        with open_session(engine, reader) as session:
            events.catch_up(session, reader)
            while found := events.after(session, reader, position, 200):
                seen, position = seen + len(found), found[-1].position
            session.commit()
        return seen

    rows = []
    for name in ("for the first time", "again"):
        begun = time.perf_counter()
        seen = read()
        rows.append([name, seen, f"{seen / (time.perf_counter() - begun):,.0f}"])
    engine.dispose()
    table = tabulate(rows, ["a feed is read", "events", "a second"], disable_numparse=True)
    return f"Reading the feed, pages of 200\n\n{table}\n"


if __name__ == "__main__":
    main(sys.argv[1:])
