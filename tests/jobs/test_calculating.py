"""The child process that calculates: what it says, how it stops, and what it may not take."""

from decimal import Decimal
from typing import Any

from live_worker import is_alive

from service.core.housing.how_hard import HowHard
from service.core.housing.plan import DrawerType, HousingPlan, HousingRequest, TraySize
from service.core.housing.planning import plan_housing
from service.jobs.child import Child
from service.jobs.limits import Limits
from service.jobs.operating import LOADED_WITHIN_S
from service.store import codec

MM = 1_000_000
MOTHS = HousingRequest(
    (TraySize("moths", 110 * MM, 60 * MM, 1440),), (DrawerType("own", 450 * MM, 388 * MM),), Decimal(20), MM // 2
)
#: Eighty sizes, no two alike, whose plan takes a thorough look minutes.
SIZES = tuple((41 + 53 * at % 113, 43 + 71 * at % 97, 4) for at in range(80))
MANY = HousingRequest(
    tuple(TraySize(f"{at}", width * MM, depth * MM, count) for at, (width, depth, count) in enumerate(SIZES)),
    MOTHS.drawers,
    Decimal(20),
    MM // 2,
)


def task(request: HousingRequest, how_hard: HowHard) -> dict[str, Any]:
    return {"request": codec.to_json(request), "how_hard": how_hard.value}


def last_word(child: Child) -> dict[str, Any]:
    while True:
        said = child.hear(LOADED_WITHIN_S)
        assert said is not None
        if "progress" not in said:
            return dict(said)


def test_a_child_makes_the_plan_that_is_made_here() -> None:
    with Child(task(MOTHS, HowHard.USUAL), Limits()) as child:
        said = last_word(child)
    assert codec.from_json(HousingPlan, said["plan"]) == plan_housing(MOTHS, HowHard.USUAL.effort)


def test_a_child_that_is_asked_to_stop_has_a_plan_all_the_same() -> None:
    with Child(task(MANY, HowHard.THOROUGH), Limits()) as child:
        child.ask_to_stop()
        plan = codec.from_json(HousingPlan, last_word(child)["plan"])
    assert plan.stopped_early
    assert sum(layout.drawers * len(layout.placed) for layout in plan.layouts) == sum(count for *_, count in SIZES)


def test_a_child_says_what_no_drawer_can_house() -> None:
    too_large = HousingRequest((TraySize("t", 460 * MM, 60 * MM, 1),), MOTHS.drawers)
    with Child(task(too_large, HowHard.USUAL), Limits()) as child:
        assert "fits into none of the drawers" in last_word(child)["cannot"]


def test_a_child_is_not_let_have_more_memory_than_it_may() -> None:
    """24 MiB hold no numeric library. It says so or is gone; it does not go on."""
    with Child(task(MANY, HowHard.USUAL), Limits(memory_mib=24)) as child:
        assert last_word(child) in ({"memory": True}, {"gone": True})


def test_a_child_ends_with_its_time_on_the_processor() -> None:
    with Child(task(MANY, HowHard.THOROUGH), Limits(seconds=1, grace_s=1)) as child:
        assert last_word(child) == {"gone": True}


def test_nobody_calculates_behind_the_end_of_the_block() -> None:
    with Child(task(MANY, HowHard.THOROUGH), Limits()) as child:
        assert child.hear(LOADED_WITHIN_S) is not None
        number = child._process.pid
        assert is_alive(number)
    assert not is_alive(number)


def test_a_child_whose_worker_is_gone_ends_by_itself() -> None:
    with Child(task(MANY, HowHard.THOROUGH), Limits()) as child:
        assert child.hear(LOADED_WITHIN_S) is not None
        assert child._process.stdin is not None
        child._process.stdin.close()
        assert last_word(child) == {"gone": True}
