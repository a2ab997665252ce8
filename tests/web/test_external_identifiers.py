"""What other databases call things: given, looked up, and held to the digits of known schemes."""

import csv
import io

import pytest
from flask.testing import FlaskClient
from members import Member, enter
from problem_assertions import assert_problem, faults
from sqlalchemy import Engine
from werkzeug.test import TestResponse

from service.app import build

#: ROR ids: the example of the Darwin Core quick reference (institutionID, 2026-05-26), and one mistyped digit of it.
ROR, MISTYPED = "https://ror.org/015hz7p22", "https://ror.org/015hz7p23"


@pytest.fixture
def clients(engine: Engine) -> tuple[FlaskClient, FlaskClient, FlaskClient, tuple[Member, Member]]:
    app = build(engine)
    members = enter(engine, "ambleford", "Ambleford", "GB"), enter(engine, "kesselbrook", "Kesselbrook", "US")
    return members[0].client(app), members[1].client(app), app.test_client(), members


def call(*names: tuple[str, ...]) -> dict:
    return {"identifiers": [dict(zip(("scheme", "value", "line"), name, strict=False)) for name in names]}


def give(client: FlaskClient, address: str, said: dict) -> TestResponse:
    """Say what something is called, by what was read of it."""
    tag = client.get(address).headers.get("ETag", '"0"')
    return client.put(address, json=said, headers={"If-Match": tag})


def found(client: FlaskClient, **query: str) -> list[tuple[str, str | None]]:
    items = client.get("/v1/external-identifiers", query_string=query).get_json()["items"]
    return [(item["href"], item.get("line")) for item in items]


def a_consignment(client: FlaskClient, code: str, **more: object) -> str:
    offer = {"code": code, "kind": "gift", "sender": {"name": "Orla Fennimore"}} | more
    response = client.post("/v1/consignments", json=offer)
    assert response.status_code == 201, response.text
    return str(response.headers["Location"])


def test_an_institution_is_found_by_its_ror_id_however_it_is_written(clients) -> None:
    ambleford, kesselbrook, stranger, (one, _) = clients
    address = f"/v1/institutions/{one.id}"
    assert give(ambleford, f"{address}/identifiers", call(("ror", ROR))).status_code == 200
    for written in (ROR, "015hz7p22", "ROR.org/015HZ7P22/"):
        assert found(stranger, scheme="ror", value=written) == [(address, None)], written
    assert stranger.get(address).get_json()["identifiers"][0]["value"] == ROR
    taken = give(kesselbrook, f"/v1/institutions/{clients[3][1].id}/identifiers", call(("ror", "015hz7p22")))
    assert_problem(taken, 409, "identifier-taken")


def test_a_mistyped_ror_id_is_refused_where_it_stands_and_the_right_digits_are_named(clients) -> None:
    ambleford, _, stranger, (one, _) = clients
    refused = give(ambleford, f"/v1/institutions/{one.id}/identifiers", call(("ror", MISTYPED)))
    problem = assert_problem(refused, 422, "invalid")
    assert "ends in 22" in faults(problem)["/identifiers/0/value"]
    looked_up = stranger.get("/v1/external-identifiers", query_string={"scheme": "ror", "value": MISTYPED})
    assert_problem(looked_up, 422, "invalid")


def test_everything_has_names_of_its_own_and_is_found_by_them(clients) -> None:
    ambleford, _, _, (one, other) = clients
    system = ambleford.post(
        "/v1/storage-systems",
        json={"code": "s", "name": "S", "visibility": "owner", **call(("our-stores", "S/7"))},
    ).headers["Location"]
    line = {"container": "drawer", "count": 2, **call(("our-lots", "88"))}
    consignment = a_consignment(
        ambleford, "c", lines=[{"container": "drawer", "count": 1}, line], **call(("acc", "1"))
    )
    transfer = ambleford.post(
        "/v1/transfers",
        json={
            "code": "L-1", "kind": "loan", "lender": {"institution_id": str(one.id)},
            "borrower": {"institution_id": str(other.id)}, "answerable": {"name": "Dr Ines Halloran"},
            "purpose": "Revision", "by": "Marta Quillfeather", **call(("loans", "2026/14")),
            "lines": [{"key": "a", "count": 3, "taxon": "Carabus hortensis"}],
        },
    ).headers["Location"]  # fmt: skip
    assert found(ambleford, scheme="our-stores", value="S/7") == [(system, None)]
    assert found(ambleford, scheme="acc", value="1") == [(consignment, None)]
    assert found(ambleford, scheme="our-lots", value="88") == [(consignment, "2")]
    assert found(ambleford, scheme="loans", value="2026/14") == [(transfer, None)]
    for address in (system, consignment, transfer):
        assert len(ambleford.get(address).get_json()["identifiers"]) == 1
    named = call(("loans", "2026/14"), ("our-lots", "88", "a"))
    assert give(ambleford, f"{transfer}/identifiers", named).status_code == 200
    assert sorted(found(ambleford, scheme="our-lots", value="88")) == [(consignment, "2"), (transfer, "a")]
    nowhere = give(ambleford, f"{transfer}/identifiers", call(("our-lots", "88", "z")))
    assert list(faults(assert_problem(nowhere, 422, "invalid"))) == ["/identifiers/0/line"]


def test_lines_of_a_sheet_have_names_as_those_of_json_and_are_found_by_them(clients) -> None:
    ambleford = clients[0]
    address = a_consignment(ambleford, "c")
    sheet = (
        "container;count;identifiers\n"
        "drawer;1;Our-Lots: 88|ror:ROR.org/015HZ7P22\n"
        'drawer;2;"acc:urn:x:=1; acc:none"\n'
        "drawer;3;\n"
        "drawer;4;none\n"
    )

    def upload(text: str) -> TestResponse:
        tag = ambleford.get(address).headers["ETag"]
        return ambleford.put(
            f"{address}/lines", data=text.encode("utf-8-sig"), content_type="text/csv", headers={"If-Match": tag}
        )

    assert upload(sheet).status_code == 200
    lines = ambleford.get(address).get_json()["lines"]
    assert [line.get("identifiers") for line in lines] == [
        call(("our-lots", "88"), ("ror", ROR))["identifiers"],
        call(("acc", "urn:x:=1"), ("acc", "none"))["identifiers"],
        None,
        [],
    ]
    assert found(ambleford, scheme="our-lots", value="88") == [(address, "1")]
    assert found(ambleford, scheme="acc", value="urn:x:=1") == [(address, "2")]
    out = ambleford.get(f"{address}/lines", headers={"Accept": "text/csv"}).get_data(as_text=True)
    cells = [row["identifiers"] for row in csv.DictReader(io.StringIO(out, newline=""))]
    assert cells == [f"our-lots:88; ror:{ROR}", "acc:urn:x:=1; acc:none", "", "none"]
    assert upload(out).status_code == 200
    assert ambleford.get(address).get_json()["lines"] == lines
    bad = f"container,count,identifiers\ndrawer,1,88\ndrawer,1,ror:{MISTYPED}\ndrawer,1,our lots:88\n"
    problem = assert_problem(upload(bad), 422, "invalid")
    told = {fault["cell"]: fault["detail"] for fault in problem["errors"]}
    assert sorted(told) == [f"row {row}, column identifiers" for row in (2, 3, 4)]
    assert "our-lots:1902.17" in told["row 2, column identifiers"]
    assert "ends in 22" in told["row 3, column identifiers"]
    assert ambleford.get(address).get_json()["lines"] == lines


def test_one_name_names_one_thing_of_a_kind_and_falls_with_it(clients) -> None:
    ambleford = clients[0]
    first = a_consignment(ambleford, "a", **call(("acc", "1")))
    offer = {"code": "b", "kind": "gift", "sender": {"name": "Orla Fennimore"}, **call(("acc", "1"))}
    assert_problem(ambleford.post("/v1/consignments", json=offer), 409, "identifier-taken")
    assert ambleford.delete(first, headers={"If-Match": '"1"'}).status_code == 204
    assert found(ambleford, scheme="acc", value="1") == []
    assert ambleford.post("/v1/consignments", json=offer).status_code == 201


def test_the_owners_names_are_read_by_whoever_sees_the_thing_and_a_receivers_are_its_own(clients) -> None:
    ambleford, kesselbrook, stranger, (_, other) = clients
    private = a_consignment(ambleford, "a", **call(("acc", "1")))
    offered = a_consignment(ambleford, "b", offered_to=[str(other.id)], **call(("acc", "2")))
    assert found(kesselbrook, scheme="acc", value="1") == []
    assert found(kesselbrook, scheme="acc", value="2") == [(offered, None)]
    assert_problem(give(kesselbrook, f"{private}/identifiers", call(("in", "9"))), 404, "not-found")
    assert give(kesselbrook, f"{offered}/identifiers", call(("in", "9"))).status_code == 200
    assert found(kesselbrook, scheme="in", value="9") == [(offered, None)]
    assert found(ambleford, scheme="in", value="9") == found(stranger, scheme="in", value="9") == []
    assert [name["scheme"] for name in ambleford.get(offered).get_json()["identifiers"]] == ["acc"]


def test_names_are_given_on_what_was_read_and_one_clerk_does_not_undo_another(clients) -> None:
    ambleford, kesselbrook, _, (_, other) = clients
    address = a_consignment(ambleford, "a", offered_to=[str(other.id)]) + "/identifiers"
    read = ambleford.get(address)
    assert_problem(ambleford.put(address, json=call(("acc", "1"))), 428, "condition-missing")
    first = ambleford.put(address, json=call(("acc", "1")), headers={"If-Match": read.headers["ETag"]})
    assert (first.status_code, first.headers["ETag"] != read.headers["ETag"]) == (200, True)
    late = ambleford.put(address, json=call(("acc", "2")), headers={"If-Match": read.headers["ETag"]})
    assert_problem(late, 412, "stale-version")
    assert [name["value"] for name in ambleford.get(address).get_json()["items"]] == ["1"]
    held = first.headers["ETag"]
    assert ambleford.get(address, headers={"If-None-Match": held}).status_code == 304
    # What the receiver calls it for itself is none of the sender's business, and changes nothing for it.
    assert give(kesselbrook, address, call(("in", "9"))).status_code == 200
    assert ambleford.get(address).headers["ETag"] == held
