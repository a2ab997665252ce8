"""What each institution packs with. Who has written down none has a bench on which nothing is stated."""

from service.core.parcels.stock import PackingBench
from service.store.settled import Settling
from service.store.tables import packing_bench

_SETTLING = Settling("packing bench", packing_bench, PackingBench)
of, write = _SETTLING.of, _SETTLING.settle
