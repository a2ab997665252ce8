"""A housing plan as an institution asks for it: over real HTTP, on a real PostgreSQL, by workers that are killed.

Figures are worked out by hand in the comments beside them. The certificate is added up by the few lines of
``served_certificate``, which know nothing of the service.
"""

import signal
import time
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import combinations, count
from typing import Any

import pytest
import requests
from live_service import live_service
from live_worker import child_of, is_alive, live_worker
from members import Member, enter
from served_certificate import bound_from, bound_in_whole_trays_from

from service.store.session import app_engine

WITHIN_S = 120
#: So that no two tests know each other's institutions.
NUMBERS = count(1)
#: Eighty sizes of tray, no two alike, in mm: 22 drawers are found at once, and whether 21 do is minutes of work.
SIZES = tuple((41 + 53 * at % 113, 43 + 71 * at % 97, 4) for at in range(80))
LONG = {
    "trays": [
        {"code": f"size {at}", "count": count, "width_mm": width, "depth_mm": depth}
        for at, (width, depth, count) in enumerate(SIZES)
    ],
    "drawers": [{"code": "own", "width_mm": 450, "depth_mm": 388}],
    "growth_reserve_percent": 20,
    "play_mm": 0.5,
    "effort": "thorough",
}
#: A worker's because it is asked for thoroughly, and done in a moment.
SHORT = {
    "trays": [{"code": "t", "count": 40, "width_mm": 110, "depth_mm": 60}],
    "drawers": [{"code": "own", "width_mm": 450, "depth_mm": 388}],
    "growth_reserve_percent": 20,
    "effort": "thorough",
}


class At:
    """One institution at its terminal."""

    def __init__(self, address: str, member: Member) -> None:
        self.address, self.member = address, member
        self.begun: list[str] = []

    def call(self, method: str, path: str, expect: int, **more: Any) -> requests.Response:
        headers = self.member.headers | more.pop("headers", {})
        response = requests.request(method, self.address + path, headers=headers, timeout=30, **more)
        assert response.status_code == expect, response.text
        return response

    def get(self, path: str) -> Any:
        return self.call("GET", path, 200).json()

    def begin(self, question: dict[str, Any]) -> str:
        """Hand something to the workers; where to ask how far it is."""
        begun = self.call("POST", "/v1/housing-plans", 202, json=question)
        self.begun.append(begun.headers["Location"])
        assert int(begun.headers["Retry-After"]) >= 1
        assert begun.json()["state"] == "pending"
        return begun.headers["Location"]

    def end_all(self) -> None:
        """Cancel what is still to be done."""
        for operation in self.begun:
            if self.get(operation)["state"] in ("pending", "running"):
                self.call("POST", f"{operation}/cancellation", 200)

    def wait(self, operation: str, until: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        give_up = time.monotonic() + WITHIN_S
        while time.monotonic() < give_up:
            if until(found := self.get(operation)):
                return dict(found)
            time.sleep(0.1)
        raise AssertionError(f"After {WITHIN_S} s the operation is {found}.")

    def wait_for(self, operation: str, *states: str) -> dict[str, Any]:
        return self.wait(operation, lambda found: found["state"] in states)


def placed_in(at: At, plan: dict[str, Any]) -> Counter[str]:
    """Every tray of the plan, looked at in its drawer: inside, clear of the reserve and of the others."""
    housed: Counter[str] = Counter()
    for layout in plan["layouts"]:
        drawer = at.get(f"/v1/housing-plans/{plan['id']}/drawers/{layout['first']}")
        places = [placed["place"] for placed in drawer["placed"]]
        boxes = [(p["x_mm"], p["y_mm"], p["x_mm"] + p["width_mm"], p["y_mm"] + p["depth_mm"]) for p in places]
        reserve = drawer["reserve"]
        assert reserve["width_mm"] * reserve["depth_mm"] >= 0.2 * drawer["inner_width_mm"] * drawer["inner_depth_mm"]
        boxes.append((reserve["x_mm"], reserve["y_mm"], reserve["x_mm"] + reserve["width_mm"],
                      reserve["y_mm"] + reserve["depth_mm"]))  # fmt: skip
        for left, front, right, back in boxes:
            assert 0 <= left < right <= drawer["inner_width_mm"]
            assert 0 <= front < back <= drawer["inner_depth_mm"]
        for a, b in combinations(boxes, 2):
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        for placed in drawer["placed"]:
            housed[placed["tray"]] += layout["last"] - layout["first"] + 1
    return housed


@pytest.fixture(scope="module")
def address(module_database: str) -> Iterator[str]:
    """The service, started once: every test has institutions of its own and leaves nothing for a worker to do."""
    with live_service(module_database) as address:
        yield address


@pytest.fixture
def institutions(module_database: str, address: str) -> Iterator[list[At]]:
    engine, number = app_engine(module_database), next(NUMBERS)
    members = [enter(engine, f"{code}-{number}", code.title()) for code in ("ambleford", "kesselbrook")]
    engine.dispose()
    everybody = [At(address, member) for member in members]
    yield everybody
    for each in everybody:
        each.end_all()


def test_a_small_plan_is_answered_within_the_request_and_says_why_no_fewer_drawers_do(institutions: list[At]) -> None:
    ambleford, kesselbrook = institutions
    question = {
        "trays": [{"code": "moths", "count": 1440, "width_mm": 110, "depth_mm": 60, "height_mm": 43}],
        "drawers": [{"code": "own", "width_mm": 450, "depth_mm": 388, "height_mm": 60.8}],
        "growth_reserve_percent": 20,
        "play_mm": 0.5,
    }
    made = ambleford.call("POST", "/v1/housing-plans", 201, json=question)
    plan = made.json()
    # A fifth of 388 mm at the back leaves 310.4 mm: 310.4 / 60.5 is 5 deep, 450 / 110.5 is 4 across, 20 in a drawer.
    # A fifth of 450 mm at the side leaves 360 mm: 3 across and 388 / 60.5 = 6 deep, 18. So 1,440 / 20 = 72 drawers.
    assert (plan["drawer_count"], plan["proof"], plan["bound"]["at_least"]) == (72, "proved", 72)
    assert plan["bound"]["proved_for"] == "any_layout"
    assert placed_in(ambleford, plan) == {"moths": 1440}
    address = made.headers["Location"]
    assert bound_from(ambleford.get(f"{address}/certificate")) == 72
    assert ambleford.get(address) == plan
    assert "72" in ambleford.call("GET", address, 200, headers={"Accept": "text/plain"}).text
    for drawing in ("drawers/72/drawing", "contact-sheets/1"):
        assert ambleford.call("GET", f"{address}/{drawing}", 200).text.lstrip().startswith("<")
    ambleford.call("GET", f"{address}/drawers/73", 404)
    kesselbrook.call("GET", address, 404)
    assert [each["id"] for each in ambleford.get("/v1/housing-plans")["items"]] == [plan["id"]]


def test_a_bound_that_counts_trays_whole_can_be_checked_from_what_is_served(institutions: list[At]) -> None:
    ambleford, _ = institutions
    sizes = [(122, 255, 81), (223, 125, 75), (212, 221, 69), (195, 154, 84)]
    question = {
        "trays": [
            {"code": f"{width} x {depth}", "count": count, "width_mm": width, "depth_mm": depth}
            for width, depth, count in sizes
        ],
        "drawers": [{"code": "own", "width_mm": 430, "depth_mm": 405}],
        "growth_reserve_percent": 0,
    }
    made = ambleford.call("POST", "/v1/housing-plans", 201, json=question)
    plan = made.json()
    certificate = ambleford.get(f"{made.headers['Location']}/certificate")
    assert (plan["proof"], plan["bound"]["rests_on_search"]) == ("proved", True)
    assert bound_from(certificate) < plan["drawer_count"], "parts of trays would do with fewer drawers"
    assert any(room["never"] for room in certificate["whole_trays"]["rooms"]), "and so would sets that never lie"
    assert bound_in_whole_trays_from(certificate) == plan["drawer_count"] == plan["bound"]["at_least"]


def test_taxa_get_trays_by_the_receivers_own_density(institutions: list[At]) -> None:
    ambleford, _ = institutions
    question = {
        "taxa": [{"taxon": "Noctua pronuba", "specimens": 65}, {"taxon": "Xestia c-nigrum", "specimens": 12}],
        "tray_choices": [
            {"code": "half", "holds": 30, "width_mm": 99.5, "depth_mm": 96.5},
            {"code": "quarter", "holds": 12, "width_mm": 50, "depth_mm": 96.5},
        ],
        "drawers": [{"code": "own", "width_mm": 450, "depth_mm": 388}],
        "growth_reserve_percent": 20,
        "play_mm": 0.5,
    }
    plan = ambleford.call("POST", "/v1/housing-plans", 201, json=question).json()
    # 65 specimens: two half trays hold 60 and a quarter tray the other 5, on 249 mm of width; one half tray and three
    # quarter trays would take 249.5, three half trays 298.5. 12 specimens: one quarter tray.
    (layout,) = plan["layouts"]
    assert sorted(each["count"] for each in layout["trays"]) == [1, 1, 2]
    assert plan["drawer_count"] == 1


def test_the_operation_of_a_killed_worker_is_taken_up_by_another(
    module_database: str, institutions: list[At]
) -> None:
    ambleford, _ = institutions
    operation = ambleford.begin(LONG)
    with live_worker(module_database) as first:
        running = ambleford.wait(operation, lambda found: found["progress"].get("at_least", 0) > 0)
        assert running["state"] == "running"
        assert running["progress"]["at_least"] <= running["progress"]["best"]
        calculating = child_of(first)
        first.send_signal(signal.SIGKILL)
        first.wait()
        assert ambleford.get(operation)["state"] == "running", "nobody knows yet"

    # The next one has three seconds, and then takes the best that it has.
    with live_worker(module_database, seconds=3):
        done = ambleford.wait_for(operation, "succeeded", "failed")
    assert (done["state"], done["attempt"]) == ("succeeded", 2)
    assert not is_alive(calculating), "a killed worker leaves nobody calculating behind"
    plan = ambleford.get(done["result"]["href"])
    assert placed_in(ambleford, plan) == {each["code"]: each["count"] for each in LONG["trays"]}
    assert bound_from(ambleford.get(f"/v1/housing-plans/{plan['id']}/certificate")) <= plan["bound"]["at_least"]
    assert len(ambleford.get("/v1/housing-plans")["items"]) == 1


def test_a_worker_that_is_told_to_stop_gives_its_operation_back(module_database: str, institutions: list[At]) -> None:
    ambleford, _ = institutions
    operation = ambleford.begin(LONG)
    with live_worker(module_database, stop_within=0) as worker:
        ambleford.wait_for(operation, "running")
        worker.terminate()
        assert worker.wait() == 0
        assert ambleford.get(operation)["state"] == "pending"
    with live_worker(module_database, seconds=1):
        assert ambleford.wait_for(operation, "succeeded", "failed")["state"] == "succeeded"


def test_an_operation_can_be_ended_whether_it_waits_or_runs(module_database: str, institutions: list[At]) -> None:
    ambleford, kesselbrook = institutions
    waiting, operation = ambleford.begin(LONG), ambleford.begin(LONG)
    kesselbrook.call("POST", f"{waiting}/cancellation", 404)
    assert ambleford.call("POST", f"{waiting}/cancellation", 200).json()["state"] == "cancelled"
    with live_worker(module_database) as worker:
        ambleford.wait_for(operation, "running")
        calculating = child_of(worker)
        assert ambleford.call("POST", f"{operation}/cancellation", 200).json()["cancelling"] is True
        ambleford.wait_for(operation, "cancelled")
        assert not is_alive(calculating)
        # The worker is free again at once.
        assert ambleford.wait_for(ambleford.begin(SHORT), "succeeded", "failed")["state"] == "succeeded"
    refused = ambleford.call("POST", f"{operation}/cancellation", 409).json()
    assert refused["type"] == "/problems/operation-is-over"
    assert len(ambleford.get("/v1/housing-plans")["items"]) == 1, "only the short one came to anything"


def test_whoever_asks_for_much_waits_behind_whoever_asks_for_little(
    module_database: str, institutions: list[At]
) -> None:
    ambleford, kesselbrook = institutions
    many = [ambleford.begin(SHORT) for _ in range(20)]
    refused = ambleford.call("POST", "/v1/housing-plans", 429, json=SHORT)
    assert int(refused.headers["Retry-After"]) >= 1
    one = kesselbrook.begin(SHORT)
    with live_worker(module_database):
        at = kesselbrook.wait_for(one, "succeeded")["finished_at"]
    ended = [each for each in map(ambleford.get, many) if each["state"] == "succeeded" and each["finished_at"] < at]
    # Ambleford's first was before Kesselbrook's only one; its second has to wait for a minute's turn.
    assert len(ended) <= 1


def test_a_plan_that_cannot_be_is_said_so_at_once_and_by_a_worker(
    module_database: str, institutions: list[At]
) -> None:
    ambleford, _ = institutions
    too_large = SHORT | {"trays": [{"code": "t", "count": 1, "width_mm": 460, "depth_mm": 60}]}
    operation = ambleford.begin(too_large)
    with live_worker(module_database):
        failed = ambleford.wait_for(operation, "succeeded", "failed")
    assert failed["problem"]["type"] == "/problems/cannot-be-housed"
    at_once = ambleford.call("POST", "/v1/housing-plans", 409, json=too_large | {"effort": "usual"}).json()
    assert at_once["detail"] == failed["problem"]["detail"]
