"""Transfers: their text, the ledger of their facts, what follows from the facts, and what stands beside them.

A transfer is shared by two institutions and held together by its own id, under which all its rows lie: it can be
moved to another server whole. Every row names both sides, so that row-level security and the lists of either side
need no second look. A side without an institution of this service is a private person, and ``NULL``.

The application writes the text (``transfer``, ``transfer_line``) and the facts (``transfer_fact``: the hashed text
alone). Everything else of the ledger is written by the triggers that read the fact.
"""

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    ForeignKeyConstraint,
    Index,
    Integer,
    PrimaryKeyConstraint,
    Table,
    Text,
    TextClause,
    UniqueConstraint,
    Uuid,
    text,
)
from sqlalchemy.dialects.postgresql import JSONB

from service.store.tables.parts import (
    CODE,
    CODE_FORM,
    SHA256_FORM,
    changes,
    created_at,
    metadata,
    moment,
    settled_once,
)

ACCOUNTS = (
    "collection", "packed", "transit_out", "borrower", "transit_back", "returned", "retained", "passed_on",
    "consumed", "lost",
)  # fmt: skip
_KNOWN_ACCOUNT = f"account IN ({', '.join(repr(account) for account in ACCOUNTS)})"
STEP_AND_SIDE = (
    "written:lender", "written:borrower", "signed:lender", "signed:borrower", "withdrawn:lender",
    "withdrawn:borrower", "packed:lender", "unpacked:lender", "dispatched:lender", "received:borrower",
    "acknowledged:borrower", "difference_reported:lender", "difference_reported:borrower",
    "difference_settled:lender", "extension_asked:borrower", "extension_granted:lender", "extension_refused:lender",
    "recalled:lender", "retained:lender", "passed_on:lender", "consumed:lender", "consumed:borrower", "lost:lender",
    "lost:borrower", "found:lender", "found:borrower", "sent_back:borrower", "received_back:lender",
    "ownership_changed:borrower", "reconciled:lender", "closed:lender",
)  # fmt: skip
WITH_REASON = ("withdrawn", "difference_settled", "extension_refused", "consumed", "lost")
WITH_UNTIL = ("extension_asked", "extension_granted", "recalled")
WITH_AGREEMENT = ("written", "signed")


def among(words: tuple[str, ...]) -> str:
    return ", ".join(f"'{word}'" for word in words)


def _both_sides() -> tuple[Column[object], Column[object]]:
    return Column("lender_id", Uuid), Column("borrower_id", Uuid)


def _totals() -> list[Column[object]]:
    return [Column(account, Integer, nullable=False, server_default=text("0")) for account in ACCOUNTS]


def _no() -> TextClause:
    return text("false")


transfer = Table(
    "transfer",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("made_by", Uuid, nullable=False),
    Column("code", CODE, nullable=False),
    *_both_sides(),
    Column("kind", Text, nullable=False),
    Column("ending", Text, nullable=False),
    Column("exchange_id", Uuid),
    Column("content", JSONB, nullable=False),
    created_at(),
    moment("updated_at", nullable=False),
    PrimaryKeyConstraint("id", name="transfer_pkey"),
    UniqueConstraint("made_by", "code", name="transfer_code_unique"),
    ForeignKeyConstraint(["made_by"], ["institution.id"], name="transfer_maker"),
    ForeignKeyConstraint(["lender_id"], ["institution.id"], name="transfer_lender"),
    ForeignKeyConstraint(["borrower_id"], ["institution.id"], name="transfer_borrower"),
    CheckConstraint(f"code ~ {CODE_FORM}", name="transfer_code_form"),
    CheckConstraint(
        "lender_id IS DISTINCT FROM borrower_id"
        " AND (coalesce(made_by = lender_id, false) OR coalesce(made_by = borrower_id, false))",
        name="transfer_parties_form",
    ),
    CheckConstraint(
        "(kind, ending) IN (('loan', 'comes_back'), ('gift', 'stays'), ('exchange', 'stays'),"
        " ('empty_trays', 'comes_back'), ('empty_trays', 'stays'))",
        name="transfer_kind_and_ending_known",
    ),
    CheckConstraint("(kind = 'exchange') = (exchange_id IS NOT NULL)", name="transfer_exchange_form"),
    CheckConstraint("jsonb_typeof(content) = 'object'", name="transfer_content_form"),
    Index("transfer_of_lender", "lender_id", "created_at", "id"),
    Index("transfer_of_borrower", "borrower_id", "created_at", "id"),
    Index("transfer_of_exchange", "exchange_id"),
)

transfer_line = Table(
    "transfer_line",
    metadata,
    Column("transfer_id", Uuid, nullable=False),
    Column("key", CODE, nullable=False),
    Column("position", Integer, nullable=False),
    *_both_sides(),
    Column("taxon", CODE, nullable=False, server_default=text("''")),
    Column("count", Integer, nullable=False),
    Column("type_status", Text),
    Column("content", JSONB, nullable=False),
    PrimaryKeyConstraint("transfer_id", "key", name="transfer_line_pkey"),
    ForeignKeyConstraint(["transfer_id"], ["transfer.id"], name="transfer_line_transfer"),
    CheckConstraint(f"key ~ {CODE_FORM}", name="transfer_line_key_form"),
    CheckConstraint("position >= 1", name="transfer_line_position_form"),
    CheckConstraint("count >= 1", name="transfer_line_count_form"),
    CheckConstraint("jsonb_typeof(content) = 'object'", name="transfer_line_content_form"),
    Index("transfer_line_in_order", "transfer_id", "position", unique=True),
)

transfer_fact = Table(
    "transfer_fact",
    metadata,
    Column("transfer_id", Uuid, nullable=False),
    Column("seq", Integer, nullable=False),
    *_both_sides(),
    Column("previous", CODE, nullable=False),
    Column("digest", CODE, nullable=False),
    Column("step", Text, nullable=False),
    Column("side", Text, nullable=False),
    Column("by_name", Text, nullable=False),
    Column("on_day", Date, nullable=False),
    Column("until_day", Date),
    Column("reason", Text, nullable=False),
    Column("third_party", Text),
    Column("agreement", CODE),
    Column("written_by", Text),
    moment("recorded_at", nullable=False),
    Column("body", Text, nullable=False),
    PrimaryKeyConstraint("transfer_id", "seq", name="transfer_fact_pkey"),
    UniqueConstraint("transfer_id", "previous", name="transfer_fact_no_fork"),
    ForeignKeyConstraint(["transfer_id"], ["transfer.id"], name="transfer_fact_transfer"),
    CheckConstraint("digest = encode(sha256(convert_to(body, 'UTF8')), 'hex')", name="transfer_fact_digest_of_body"),
    CheckConstraint(f"((step || ':') || side) IN ({among(STEP_AND_SIDE)})", name="transfer_fact_step_of_side"),
    CheckConstraint(f"step NOT IN ({among(WITH_REASON)}) OR btrim(reason) <> ''", name="transfer_fact_reason_told"),
    CheckConstraint(f"step NOT IN ({among(WITH_UNTIL)}) OR until_day IS NOT NULL", name="transfer_fact_until_told"),
    CheckConstraint(
        f"step NOT IN ({among(WITH_AGREEMENT)}) OR agreement ~ {SHA256_FORM}", name="transfer_fact_agreement_told"
    ),
    CheckConstraint(
        "step <> 'passed_on' OR btrim(third_party) <> '' AND third_party IS NOT NULL",
        name="transfer_fact_third_party_told",
    ),
    CheckConstraint("btrim(by_name) <> ''", name="transfer_fact_person_named"),
    CheckConstraint("until_day >= on_day", name="transfer_fact_until_later"),
)

custody_posting = Table(
    "custody_posting",
    metadata,
    Column("transfer_id", Uuid, nullable=False),
    Column("seq", Integer, nullable=False),
    Column("line", CODE, nullable=False),
    Column("account", Text, nullable=False),
    Column("change", Integer, nullable=False),
    Column("on_day", Date, nullable=False),
    *_both_sides(),
    PrimaryKeyConstraint("transfer_id", "seq", "line", "account", name="custody_posting_pkey"),
    ForeignKeyConstraint(
        ["transfer_id", "seq"], ["transfer_fact.transfer_id", "transfer_fact.seq"], name="custody_posting_fact"
    ),
    CheckConstraint(_KNOWN_ACCOUNT, name="custody_posting_account_known"),
    CheckConstraint("change <> 0", name="custody_posting_changes_something"),
    Index(
        "custody_posting_of_line",
        "transfer_id",
        "line",
        "account",
        "on_day",
        postgresql_include=["change"],
    ),
)

custody_movement = Table(
    "custody_movement",
    metadata,
    Column("transfer_id", Uuid, nullable=False),
    Column("seq", Integer, nullable=False),
    Column("account", Text, nullable=False),
    Column("change", BigInteger, nullable=False),
    Column("on_day", Date, nullable=False),
    *_both_sides(),
    PrimaryKeyConstraint("transfer_id", "seq", "account", name="custody_movement_pkey"),
    ForeignKeyConstraint(
        ["transfer_id", "seq"], ["transfer_fact.transfer_id", "transfer_fact.seq"], name="custody_movement_fact"
    ),
    Index("custody_movement_of_lender", "lender_id", "borrower_id", "on_day"),
    Index("custody_movement_of_borrower", "borrower_id", "lender_id", "on_day"),
)

custody_balance = Table(
    "custody_balance",
    metadata,
    Column("transfer_id", Uuid, nullable=False),
    Column("line", CODE, nullable=False),
    Column("account", Text, nullable=False),
    Column("quantity", Integer, nullable=False),
    Column("taxon", CODE, nullable=False),
    *_both_sides(),
    PrimaryKeyConstraint("transfer_id", "line", "account", name="custody_balance_pkey"),
    ForeignKeyConstraint(["transfer_id"], ["transfer.id"], name="custody_balance_transfer"),
    CheckConstraint(_KNOWN_ACCOUNT, name="custody_balance_account_known"),
    CheckConstraint("account = 'collection' OR quantity >= 0", name="custody_balance_never_below_zero"),
    *(
        Index(
            f"custody_balance_{when}_of_{side}",
            f"{side}_id", "taxon", "transfer_id", "line", "account",
            postgresql_where=text(where),
        )
        for when, where in (("now", "quantity > 0"), ("ever", "account <> 'collection'"))
        for side in ("lender", "borrower")
    ),
)  # fmt: skip

transfer_standing = Table(
    "transfer_standing",
    metadata,
    Column("transfer_id", Uuid, nullable=False),
    *_both_sides(),
    Column("seq", Integer, nullable=False, server_default=text("0")),
    Column("head", CODE, nullable=False),
    Column("agreement", CODE),
    Column("lender_signed", Boolean, nullable=False, server_default=_no()),
    Column("borrower_signed", Boolean, nullable=False, server_default=_no()),
    Column("acknowledged", Boolean, nullable=False, server_default=_no()),
    Column("differing", Integer, nullable=False, server_default=text("0")),
    *(Column(name, Date) for name in (
        "moved_on", "dispatched_on", "received_on", "sent_back_on", "reconciled_on", "closed_on", "withdrawn_on",
    )),
    *_totals(),
    PrimaryKeyConstraint("transfer_id", name="transfer_standing_pkey"),
    ForeignKeyConstraint(["transfer_id"], ["transfer.id"], name="transfer_standing_transfer"),
    Index(
        "transfer_standing_on_way_out", "borrower_id", "dispatched_on", "transfer_id",
        postgresql_where=text("transit_out > 0"),
    ),
    Index(
        "transfer_standing_on_way_back", "lender_id", "sent_back_on", "transfer_id",
        postgresql_where=text("transit_back > 0"),
    ),
    *(
        Index(
            f"transfer_standing_unsigned_by_{side}", f"{side}_id", "transfer_id",
            postgresql_where=text(f"agreement IS NOT NULL AND NOT {side}_signed AND withdrawn_on IS NULL"),
        )
        for side in ("lender", "borrower")
    ),
    Index("transfer_standing_of_lender", "lender_id", "borrower_id"),
    Index("transfer_standing_of_borrower", "borrower_id", "lender_id"),
)  # fmt: skip

line_standing = Table(
    "line_standing",
    metadata,
    Column("transfer_id", Uuid, nullable=False),
    Column("line", CODE, nullable=False),
    *_both_sides(),
    Column("outstanding", Integer, nullable=False),
    Column("differs", Boolean, nullable=False),
    Column("due_on", Date),
    PrimaryKeyConstraint("transfer_id", "line", name="line_standing_pkey"),
    ForeignKeyConstraint(["transfer_id"], ["transfer.id"], name="line_standing_transfer"),
    *(
        Index(
            f"line_standing_due_of_{side}", f"{side}_id", "due_on", "transfer_id", "line",
            postgresql_where=text("outstanding > 0"),
        )
        for side in ("lender", "borrower")
    ),
    *(
        Index(
            f"line_standing_differing_of_{side}", f"{side}_id", "transfer_id", "line",
            postgresql_where=text("differs"),
        )
        for side in ("lender", "borrower")
    ),
)  # fmt: skip

transfer_permit = Table(
    "transfer_permit",
    metadata,
    Column("transfer_id", Uuid, nullable=False),
    Column("id", Uuid, nullable=False),
    *_both_sides(),
    Column("recorded_by", Uuid, nullable=False),
    Column("status", Text, nullable=False),
    Column("valid_until", Date),
    Column("content", JSONB, nullable=False),
    *changes(),
    PrimaryKeyConstraint("transfer_id", "id", name="transfer_permit_pkey"),
    ForeignKeyConstraint(["transfer_id"], ["transfer.id"], name="transfer_permit_transfer"),
    ForeignKeyConstraint(["recorded_by"], ["institution.id"], name="transfer_permit_recorder"),
    CheckConstraint("jsonb_typeof(content) = 'object'", name="transfer_permit_content_form"),
    *(
        Index(
            f"transfer_permit_ending_of_{side}", f"{side}_id", "valid_until", "transfer_id", "id",
            postgresql_where=text("status = 'Permit available' AND valid_until IS NOT NULL"),
        )
        for side in ("lender", "borrower")
    ),
)  # fmt: skip

loan_rules = settled_once("loan_rules")

kept_answer = Table(
    "kept_answer",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("operation", CODE, nullable=False),
    Column("key", CODE, nullable=False),
    Column("fingerprint", CODE, nullable=False),
    Column("status", Integer, nullable=False),
    Column("headers", JSONB, nullable=False),
    Column("body", Text, nullable=False),
    created_at(),
    PrimaryKeyConstraint("institution_id", "operation", "key", name="kept_answer_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="kept_answer_institution"),
    CheckConstraint(f"fingerprint ~ {SHA256_FORM}", name="kept_answer_fingerprint_form"),
    CheckConstraint("jsonb_typeof(headers) = 'object'", name="kept_answer_headers_form"),
    Index("kept_answer_by_age", "institution_id", "created_at"),
)
