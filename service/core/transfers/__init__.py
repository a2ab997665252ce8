"""Transfers between institutions and the custody ledger: what was agreed, what happened, who holds what."""
