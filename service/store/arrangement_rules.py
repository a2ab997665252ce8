"""What each institution has settled about the order that it keeps. Who has settled nothing has the usual rules."""

from service.core.arrangement.rules import ArrangementRules
from service.store.settled import Settling
from service.store.tables import arrangement_rules

_SETTLING = Settling("set of arrangement rules", arrangement_rules, ArrangementRules)
of, settle = _SETTLING.of, _SETTLING.settle
