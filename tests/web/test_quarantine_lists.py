"""Lists of quarantines: however many there are, and however long their logs, the database is asked as often."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from flask.testing import FlaskClient
from members import enter
from sqlalchemy import Connection, Engine, event

from service.app import build

LOG = "time,core_c\r\n" + "".join(
    f"2026-11-0{day} {hour:02}:00,-31\r\n" for day in (2, 3, 4, 5) for hour in range(24)
)
CODES = ("one", "two", "three", "four")
LISTS = ("/v1/quarantines", "/v1/quarantines/due-inspections?until=2030-01-01")


@pytest.fixture
def client(engine: Engine) -> FlaskClient:
    return enter(engine, "ambleford", "Ambleford Museum", "GB").client(build(engine))


def treated(client: FlaskClient, *codes: str) -> None:
    """Quarantines with two logs and a release each."""
    for code in codes:
        said = {"code": code, "subject": {"description": "twelve drawers"}, "arrived_on": "2026-11-01",
                "shut_at": "2026-11-02T00:00:00Z", "taken_out_at": "2026-11-06T00:00:00Z"}  # fmt: skip
        made = client.post("/v1/quarantines", json=said)
        assert made.status_code == 201, made.get_json()
        address = f"/v1/quarantines/{made.get_json()['id']}"
        for name in ("first", "second"):
            sent = client.post(f"{address}/logs?code={name}", data=LOG.encode(), content_type="text/csv")
            assert sent.status_code == 201, sent.get_json()
        let_go = client.post(f"{address}/releases", json={"by": "Ines Halloran", "reason": "Sealed case."})
        assert let_go.status_code == 201, let_go.get_json()


@contextmanager
def counted(engine: Engine) -> Iterator[list[str]]:
    """The statements that are sent meanwhile."""
    sent: list[str] = []

    def note(_: Connection, __: object, statement: str, *___: object) -> None:
        sent.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    try:
        yield sent
    finally:
        event.remove(engine, "before_cursor_execute", note)


@pytest.mark.parametrize("address", LISTS)
def test_a_list_reads_the_logs_of_all_its_quarantines_at_once(
    client: FlaskClient, engine: Engine, address: str
) -> None:
    treated(client, *CODES[:1])
    with counted(engine) as for_one:
        assert len(client.get(address).get_json()["items"]) == 1
    treated(client, *CODES[1:])
    with counted(engine) as for_four:
        items = client.get(address).get_json()["items"]
    assert {item["code"]: item["state"] for item in items} == dict.fromkeys(CODES, "over")
    assert sum("quarantine_log" in statement for statement in for_four) == 1
    assert len(for_four) == len(for_one)
