"""The loan rules that each institution publishes. Who has published none has rules in which nothing is stated."""

from service.core.transfers.rules import LoanRules
from service.store.settled import Settling
from service.store.tables import loan_rules

_SETTLING = Settling("set of loan rules", loan_rules, LoanRules)
of, publish = _SETTLING.of, _SETTLING.settle
