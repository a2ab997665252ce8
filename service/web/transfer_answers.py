"""How a stored transfer becomes what an answer shows."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any
from uuid import UUID

from service.actions.transfers import View
from service.core.transfers.ledger import Account
from service.core.transfers.parties import Party, PartyKind, Side
from service.core.transfers.reconciliation import tally
from service.core.transfers.states import state_of
from service.core.transfers.transfer import TransferKind
from service.store.ledger import Recorded
from service.store.permits import KeptPermit
from service.store.transfers import Kept


def summary(kept: Kept, me: UUID | None) -> dict[str, Any]:
    return {
        "id": kept.id,
        "code": kept.code,
        "kind": kept.transfer.kind,
        "ending": kept.transfer.ending,
        "your_side": kept.side_of(me),
        "lender": _party(kept.transfer.lender, kept.lender_id),
        "borrower": _party(kept.transfer.borrower, kept.borrower_id),
        "state": state_of(kept.standing),
        "totals": _totals(kept.standing.totals or {}),
        "exchange_id": kept.exchange_id if kept.transfer.kind is TransferKind.EXCHANGE else None,
        "fact_count": kept.head.seq,
        "head": kept.head.digest,
        "created_at": kept.created_at,
        "updated_at": kept.updated_at,
    }


def whole(view: View, me: UUID | None) -> dict[str, Any]:
    kept = view.kept
    return summary(kept, me) | {
        "answerable": kept.transfer.answerable,
        "user": kept.transfer.user,
        "purpose": kept.transfer.purpose,
        "terms": kept.transfer.terms,
        "line_count": view.line_count,
        "identifiers": view.identifiers,
        "agreement": kept.standing.agreement,
        "signed_by": [side for side in Side if side in kept.standing.signed],
        "open_steps": view.open_steps,
        "handling": view.handling,
    }


def _party(party: Party, institution_id: UUID | None) -> dict[str, Any]:
    own = institution_id if party.kind is PartyKind.INSTITUTION else None
    return {
        "institution_id": own,
        "name": party.name,
        "kind": party.kind,
        "country": party.country,
        "cites_code": party.cites_code,
    }


def _totals(accounts: Mapping[Account, int]) -> dict[str, int]:
    return {"packed": accounts.get(Account.PACKED, 0)} | asdict(tally(accounts))


def fact(recorded: Recorded) -> dict[str, Any]:
    """A fact; what it does not say is left out."""
    said = recorded.fact
    shown: dict[str, Any] = {
        name: value
        for name in (
            "step", "side", "by", "on", "moves", "seen", "recounts", "lines", "until", "reason", "third_party",
            "agreement", "override", "written_by",
        )
        if (value := getattr(said, name)) not in (None, (), "")
    }  # fmt: skip
    place = {"seq": recorded.seq, "recorded_at": recorded.recorded_at}
    return shown | place | {"digest": recorded.digest, "body": recorded.body}


def permit(kept: KeptPermit) -> dict[str, Any]:
    said = {name: getattr(kept.permit, name) for name in kept.permit.__dataclass_fields__}
    about = ("id", "recorded_by", "version", "created_at", "updated_at")
    return said | {name: getattr(kept, name) for name in about}


def counts(found: Mapping[Account, int]) -> dict[str, int]:
    return {account.value: count for account, count in found.items()}
