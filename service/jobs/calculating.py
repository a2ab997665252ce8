"""The child process that makes one plan: a line of JSON in, lines of JSON out.

It holds itself to its limits before it loads anything, and ends when its standard input does: a worker that is
killed leaves nobody calculating behind.

    in:   {"request": …, "how_hard": "usual", "memory_bytes": …, "cpu_s": …}, later perhaps "stop"; or, for an
          arrangement, {"inventory": …, "asked": …, "mark": …, "lifted": …} in place of request and how_hard
    out:  {"progress": {…}}, in the end one of {"plan": …}, {"cannot": "sentence"}, {"memory": true}
"""

import json
import os
import resource
import sys
import threading
from typing import Any

#: What the numeric libraries are told: one thread of theirs, since workers are as many as there are processors.
SINGLE_THREADED = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}


def main() -> None:
    asked = json.loads(sys.stdin.readline())
    _hold_to(asked["memory_bytes"], asked["cpu_s"])
    stop = threading.Event()
    threading.Thread(target=_listen, args=(stop,), daemon=True).start()
    try:
        _say(_arranged(asked) if "inventory" in asked else _answer(asked, stop))
    except MemoryError:
        _say({"memory": True})


def _hold_to(memory_bytes: int, cpu_s: int) -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (cpu_s, cpu_s + 5))
    # What is written to, not what is merely reserved: the numeric libraries reserve more than they ever use.
    resource.setrlimit(resource.RLIMIT_DATA, (memory_bytes, memory_bytes))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _listen(stop: threading.Event) -> None:
    for _ in sys.stdin:
        stop.set()
    os._exit(1)


def _answer(asked: dict[str, Any], stop: threading.Event) -> dict[str, Any]:
    from service.core.housing.effort import Watch
    from service.core.housing.how_hard import HowHard
    from service.core.housing.plan import CannotBeHoused, HousingRequest
    from service.core.housing.planning import plan_housing
    from service.store import codec

    watch = Watch(stop.is_set, lambda progress: _say({"progress": codec.to_json(progress)}))
    request = codec.from_json(HousingRequest, asked["request"])
    try:
        plan = plan_housing(request, HowHard(asked["how_hard"]).effort, watch)
    except CannotBeHoused as error:
        return {"cannot": str(error)}
    return {"plan": codec.to_json(plan)}


def _arranged(asked: dict[str, Any]) -> dict[str, Any]:
    from service.core.arrangement.inventory import Inventory
    from service.core.arrangement.plan import CannotBeArranged, CannotBeWalked, Spot
    from service.core.arrangement.walked_plan import plan_and_walk
    from service.store import codec
    from service.store.arrangement_plans import question_from_json

    _say({"progress": {"stage": "planning"}})
    question = question_from_json(asked["asked"])
    lifted = {tray: codec.from_json(Spot, spot) for tray, spot in asked["lifted"].items()}
    inventory = codec.from_json(Inventory, asked["inventory"])
    try:
        plan = plan_and_walk(inventory, question.question, question.wishes, asked["mark"], lifted)
    except CannotBeArranged as error:
        return {"cannot": str(error)}
    except CannotBeWalked as error:
        return {"cannot": str(error), "why": "cannot-be-walked"}
    return {"plan": codec.to_json(plan)}


def _say(what: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(what) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
