-- The ledger of facts, and what follows from the facts.

CREATE TABLE transfer_fact (
    transfer_id UUID NOT NULL,
    seq INTEGER NOT NULL,
    lender_id UUID,
    borrower_id UUID,
    previous TEXT COLLATE "C" NOT NULL,
    digest TEXT COLLATE "C" NOT NULL,
    step TEXT NOT NULL,
    side TEXT NOT NULL,
    by_name TEXT NOT NULL,
    on_day DATE NOT NULL,
    until_day DATE,
    reason TEXT NOT NULL,
    third_party TEXT,
    agreement TEXT COLLATE "C",
    written_by TEXT,
    recorded_at TIMESTAMP WITH TIME ZONE NOT NULL,
    body TEXT NOT NULL,
    CONSTRAINT transfer_fact_pkey PRIMARY KEY (transfer_id, seq),
    CONSTRAINT transfer_fact_no_fork UNIQUE (transfer_id, previous),
    CONSTRAINT transfer_fact_transfer FOREIGN KEY(transfer_id) REFERENCES transfer (id),
    CONSTRAINT transfer_fact_digest_of_body CHECK (digest = encode(sha256(convert_to(body, 'UTF8')), 'hex')),
    CONSTRAINT transfer_fact_step_of_side CHECK (((step || ':') || side) IN ('written:lender',
        'written:borrower', 'signed:lender', 'signed:borrower', 'withdrawn:lender', 'withdrawn:borrower',
        'packed:lender', 'unpacked:lender', 'dispatched:lender', 'received:borrower',
        'acknowledged:borrower', 'difference_reported:lender', 'difference_reported:borrower',
        'difference_settled:lender', 'extension_asked:borrower', 'extension_granted:lender',
        'extension_refused:lender', 'recalled:lender', 'retained:lender', 'passed_on:lender',
        'consumed:lender', 'consumed:borrower', 'lost:lender', 'lost:borrower', 'found:lender',
        'found:borrower', 'sent_back:borrower', 'received_back:lender', 'ownership_changed:borrower',
        'reconciled:lender', 'closed:lender')),
    CONSTRAINT transfer_fact_reason_told CHECK (step NOT IN ('withdrawn', 'difference_settled',
        'extension_refused', 'consumed', 'lost') OR btrim(reason) <> ''),
    CONSTRAINT transfer_fact_until_told CHECK (step NOT IN ('extension_asked', 'extension_granted',
        'recalled') OR until_day IS NOT NULL),
    CONSTRAINT transfer_fact_agreement_told CHECK (step NOT IN ('written', 'signed') OR agreement ~
        '^[0-9a-f]{64}$'),
    CONSTRAINT transfer_fact_third_party_told CHECK (step <> 'passed_on' OR btrim(third_party) <> '' AND
        third_party IS NOT NULL),
    CONSTRAINT transfer_fact_person_named CHECK (btrim(by_name) <> ''),
    CONSTRAINT transfer_fact_until_later CHECK (until_day >= on_day)
);

CREATE TABLE custody_posting (
    transfer_id UUID NOT NULL,
    seq INTEGER NOT NULL,
    line TEXT COLLATE "C" NOT NULL,
    account TEXT NOT NULL,
    change INTEGER NOT NULL,
    on_day DATE NOT NULL,
    lender_id UUID,
    borrower_id UUID,
    CONSTRAINT custody_posting_pkey PRIMARY KEY (transfer_id, seq, line, account),
    CONSTRAINT custody_posting_fact FOREIGN KEY(transfer_id, seq) REFERENCES transfer_fact (transfer_id, seq),
    CONSTRAINT custody_posting_account_known CHECK (account IN ('collection', 'packed', 'transit_out',
        'borrower', 'transit_back', 'returned', 'retained', 'passed_on', 'consumed', 'lost')),
    CONSTRAINT custody_posting_changes_something CHECK (change <> 0)
);
CREATE INDEX custody_posting_of_borrower ON custody_posting (borrower_id, lender_id, account, on_day) INCLUDE
    (change);
CREATE INDEX custody_posting_of_lender ON custody_posting (lender_id, borrower_id, account, on_day) INCLUDE
    (change);
CREATE INDEX custody_posting_of_line ON custody_posting (transfer_id, line, account, on_day) INCLUDE (change);

CREATE TABLE custody_balance (
    transfer_id UUID NOT NULL,
    line TEXT COLLATE "C" NOT NULL,
    account TEXT NOT NULL,
    quantity INTEGER NOT NULL,
    taxon TEXT COLLATE "C" NOT NULL,
    lender_id UUID,
    borrower_id UUID,
    CONSTRAINT custody_balance_pkey PRIMARY KEY (transfer_id, line, account),
    CONSTRAINT custody_balance_transfer FOREIGN KEY(transfer_id) REFERENCES transfer (id),
    CONSTRAINT custody_balance_account_known CHECK (account IN ('collection', 'packed', 'transit_out',
        'borrower', 'transit_back', 'returned', 'retained', 'passed_on', 'consumed', 'lost')),
    CONSTRAINT custody_balance_never_below_zero CHECK (account = 'collection' OR quantity >= 0)
);
CREATE INDEX custody_balance_ever_of_borrower ON custody_balance (borrower_id, taxon, transfer_id, line,
    account) WHERE account <> 'collection';
CREATE INDEX custody_balance_ever_of_lender ON custody_balance (lender_id, taxon, transfer_id, line, account)
    WHERE account <> 'collection';
CREATE INDEX custody_balance_now_of_borrower ON custody_balance (borrower_id, taxon, transfer_id, line, account)
    WHERE quantity > 0;
CREATE INDEX custody_balance_now_of_lender ON custody_balance (lender_id, taxon, transfer_id, line, account)
    WHERE quantity > 0;

CREATE TABLE transfer_standing (
    transfer_id UUID NOT NULL,
    lender_id UUID,
    borrower_id UUID,
    seq INTEGER DEFAULT 0 NOT NULL,
    head TEXT COLLATE "C" NOT NULL,
    agreement TEXT COLLATE "C",
    lender_signed BOOLEAN DEFAULT false NOT NULL,
    borrower_signed BOOLEAN DEFAULT false NOT NULL,
    acknowledged BOOLEAN DEFAULT false NOT NULL,
    differing INTEGER DEFAULT 0 NOT NULL,
    moved_on DATE,
    dispatched_on DATE,
    received_on DATE,
    sent_back_on DATE,
    reconciled_on DATE,
    closed_on DATE,
    withdrawn_on DATE,
    collection INTEGER DEFAULT 0 NOT NULL,
    packed INTEGER DEFAULT 0 NOT NULL,
    transit_out INTEGER DEFAULT 0 NOT NULL,
    borrower INTEGER DEFAULT 0 NOT NULL,
    transit_back INTEGER DEFAULT 0 NOT NULL,
    returned INTEGER DEFAULT 0 NOT NULL,
    retained INTEGER DEFAULT 0 NOT NULL,
    passed_on INTEGER DEFAULT 0 NOT NULL,
    consumed INTEGER DEFAULT 0 NOT NULL,
    lost INTEGER DEFAULT 0 NOT NULL,
    CONSTRAINT transfer_standing_pkey PRIMARY KEY (transfer_id),
    CONSTRAINT transfer_standing_transfer FOREIGN KEY(transfer_id) REFERENCES transfer (id)
);
CREATE INDEX transfer_standing_of_borrower ON transfer_standing (borrower_id, lender_id);
CREATE INDEX transfer_standing_of_lender ON transfer_standing (lender_id, borrower_id);
CREATE INDEX transfer_standing_on_way_back ON transfer_standing (lender_id, sent_back_on, transfer_id) WHERE
    transit_back > 0;
CREATE INDEX transfer_standing_on_way_out ON transfer_standing (borrower_id, dispatched_on, transfer_id) WHERE
    transit_out > 0;
CREATE INDEX transfer_standing_unsigned_by_borrower ON transfer_standing (borrower_id, transfer_id) WHERE
    agreement IS NOT NULL AND NOT borrower_signed AND withdrawn_on IS NULL;
CREATE INDEX transfer_standing_unsigned_by_lender ON transfer_standing (lender_id, transfer_id) WHERE agreement
    IS NOT NULL AND NOT lender_signed AND withdrawn_on IS NULL;

CREATE TABLE line_standing (
    transfer_id UUID NOT NULL,
    line TEXT COLLATE "C" NOT NULL,
    lender_id UUID,
    borrower_id UUID,
    outstanding INTEGER NOT NULL,
    differs BOOLEAN NOT NULL,
    due_on DATE,
    CONSTRAINT line_standing_pkey PRIMARY KEY (transfer_id, line),
    CONSTRAINT line_standing_transfer FOREIGN KEY(transfer_id) REFERENCES transfer (id)
);
CREATE INDEX line_standing_differing_of_borrower ON line_standing (borrower_id, transfer_id, line) WHERE differs;
CREATE INDEX line_standing_differing_of_lender ON line_standing (lender_id, transfer_id, line) WHERE differs;
CREATE INDEX line_standing_due_of_borrower ON line_standing (borrower_id, due_on, transfer_id, line) WHERE
    outstanding > 0;
CREATE INDEX line_standing_due_of_lender ON line_standing (lender_id, due_on, transfer_id, line) WHERE
    outstanding > 0;
