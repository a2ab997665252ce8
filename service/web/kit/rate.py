"""A limit on questions that anybody may ask without a key, so that nobody asks them all day on others' time.

Each address has a bucket that fills steadily up to a minute's worth; a question takes one out. The buckets are this
process's own: with more processes the limit is as many times higher, which is well for a shield this coarse.
"""

import math
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field

import flask
from flask import Flask

from service.web.kit.problems import Refusal

USUAL_PER_MINUTE = 60
#: Addresses that are remembered; beyond it the one that asked longest ago is forgotten, which can only favour it.
MOST_ADDRESSES = 10_000
_EXTENSION = "kit.rate"


@dataclass(slots=True)
class Buckets:
    """What each address may still ask."""

    per_minute: int
    clock: Callable[[], float] = time.monotonic
    _left: "OrderedDict[str, tuple[float, float]]" = field(default_factory=OrderedDict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def take(self, address: str) -> float:
        """Take one question out of an address's bucket; the seconds to wait where it is empty, and else nought."""
        now = self.clock()
        with self._lock:
            left, since = self._left.pop(address, (float(self.per_minute), now))
            left = min(self.per_minute, left + (now - since) * self.per_minute / 60)
            wait_s = 0.0 if left >= 1 else (1 - left) * 60 / self.per_minute
            self._left[address] = (left if wait_s else left - 1, now)
            if len(self._left) > MOST_ADDRESSES:
                self._left.popitem(last=False)
        return wait_s


def install(app: Flask, per_minute: int = USUAL_PER_MINUTE) -> None:
    """Let each address ask so many limited questions a minute of this app."""
    app.extensions[_EXTENSION] = Buckets(per_minute)


def ask_no_more_than_others() -> None:
    """Count one limited question against the address that asks it.

    :raises Refusal: 429 with Retry-After, when it has asked too many.
    """
    buckets: Buckets = flask.current_app.extensions[_EXTENSION]
    wait_s = math.ceil(buckets.take(flask.request.remote_addr or ""))
    if wait_s:
        raise Refusal(
            "too-many-requests",
            f"Up to {buckets.per_minute} questions a minute are answered; ask again in {wait_s} s.",
            headers={"Retry-After": str(wait_s)},
        )
