"""An operation that goes says so: in the contract, and in the headers of whatever it answers."""

from datetime import UTC, date, datetime
from email.utils import parsedate_to_datetime
from typing import Any

import pytest
from flask import Flask
from shelf import KEYS

from service.web.kit.going import Going
from service.web.kit.install import Contract, Hooks, install
from service.web.kit.openapi import Api
from service.web.kit.operation import Blueprint

ALL = {"Authorization": "Bearer key-all"}
GOING = Going(date(2023, 7, 1), date(2024, 1, 31), "count_drawers")


@pytest.fixture
def leaving() -> tuple[Flask, Api]:
    cases = Blueprint("cases", __name__, url_prefix="/v1/cases", description="Cases, as they were called.")

    @cases.operation("POST", "", scope="write", going=GOING)
    def count_cases() -> None:
        """Count the cases.

        Those on the shelf.
        """

    @cases.operation("POST", "/some", scope="write", going=Going(date(2023, 7, 1)))
    def count_some() -> None:
        """Count some."""

    @cases.operation("POST", "/drawers", scope="write")
    def count_drawers() -> None:
        """Count the drawers."""

    app = Flask("leaving")
    api = install(app, Hooks(KEYS.get, lambda: None), Contract("Leaving", "1.0.0", "What goes."))
    api.register_blueprint(cases)
    return app, api


def asked(leaving: tuple[Flask, Api], path: str, **sent: Any) -> Any:
    return leaving[0].test_client().post(path, **sent)


def test_every_answer_says_since_when_and_until_when(leaving: tuple[Flask, Api]) -> None:
    # RFC 9745, section 2.1: "Deprecation: @1688169599" is the last second of June 2023.
    answered = asked(leaving, "/v1/cases", headers=ALL)
    assert answered.status_code == 204
    assert answered.headers["Deprecation"] == f"@{1688169599 + 1}"
    # RFC 8594, section 3, writes the date as HTTP does (IMF-fixdate).
    assert answered.headers["Sunset"] == "Wed, 31 Jan 2024 00:00:00 GMT"
    assert parsedate_to_datetime(answered.headers["Sunset"]) == datetime(2024, 1, 31, tzinfo=UTC)
    assert 'rel="deprecation"' in answered.headers["Link"]


def test_a_refusal_says_so_too(leaving: tuple[Flask, Api]) -> None:
    refused = asked(leaving, "/v1/cases")
    assert refused.status_code == 401
    assert refused.headers["Deprecation"] == "@1688169600"
    assert "Sunset" in refused.headers
    wrong = asked(leaving, "/v1/cases?colour=red", headers=ALL)
    assert (wrong.status_code, wrong.headers["Deprecation"]) == (422, "@1688169600")


def test_what_has_no_last_day_yet_names_none_and_what_stays_says_nothing(leaving: tuple[Flask, Api]) -> None:
    some = asked(leaving, "/v1/cases/some", headers=ALL).headers
    assert "Deprecation" in some
    assert "Sunset" not in some
    assert not {"Deprecation", "Sunset"} & set(asked(leaving, "/v1/cases/drawers", headers=ALL).headers.keys())


def test_the_contract_says_it_in_words_in_marks_and_among_the_headers(leaving: tuple[Flask, Api]) -> None:
    document = leaving[1].document()
    goes = document["paths"]["/v1/cases"]["post"]
    assert goes["deprecated"] is True
    assert goes["x-sunset"] == "2024-01-31"
    assert goes["description"].startswith("Those on the shelf.\n\nDeprecated since 2023-07-01")
    assert "count_drawers" in goes["description"]
    for answer in goes["responses"].values():
        assert {"Deprecation", "Sunset"} <= answer["headers"].keys()
    assert document["components"]["headers"].keys() >= {"Deprecation", "Sunset"}
    stays = document["paths"]["/v1/cases/drawers"]["post"]
    assert not stays.keys() & {"deprecated", "x-sunset"}


def test_nothing_goes_before_anybody_was_told() -> None:
    # RFC 9745, section 4: the sunset must not be before the deprecation.
    with pytest.raises(ValueError, match="deprecated first"):
        Going(date(2026, 2, 1), date(2026, 1, 1))
