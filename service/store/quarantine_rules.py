"""The quarantine rules that each institution publishes. Who has published none works by the handbook's."""

from service.core.care.regimes import QuarantineRules
from service.store.settled import Settling
from service.store.tables import quarantine_rules

_SETTLING = Settling("set of quarantine rules", quarantine_rules, QuarantineRules)
of, publish = _SETTLING.of, _SETTLING.settle
