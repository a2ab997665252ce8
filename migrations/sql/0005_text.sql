-- The text of transfers, their permits, the lenders' rules, and answers kept for retries.

CREATE TABLE transfer (
    id UUID NOT NULL,
    made_by UUID NOT NULL,
    code TEXT COLLATE "C" NOT NULL,
    lender_id UUID,
    borrower_id UUID,
    kind TEXT NOT NULL,
    ending TEXT NOT NULL,
    exchange_id UUID,
    content JSONB NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
    CONSTRAINT transfer_pkey PRIMARY KEY (id),
    CONSTRAINT transfer_code_unique UNIQUE (made_by, code),
    CONSTRAINT transfer_maker FOREIGN KEY(made_by) REFERENCES institution (id),
    CONSTRAINT transfer_lender FOREIGN KEY(lender_id) REFERENCES institution (id),
    CONSTRAINT transfer_borrower FOREIGN KEY(borrower_id) REFERENCES institution (id),
    CONSTRAINT transfer_code_form CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'),
    CONSTRAINT transfer_parties_form CHECK (lender_id IS DISTINCT FROM borrower_id AND (coalesce(made_by =
        lender_id, false) OR coalesce(made_by = borrower_id, false))),
    CONSTRAINT transfer_kind_and_ending_known CHECK ((kind, ending) IN (('loan', 'comes_back'), ('gift',
        'stays'), ('exchange', 'stays'), ('empty_trays', 'comes_back'), ('empty_trays', 'stays'))),
    CONSTRAINT transfer_exchange_form CHECK ((kind = 'exchange') = (exchange_id IS NOT NULL)),
    CONSTRAINT transfer_content_form CHECK (jsonb_typeof(content) = 'object')
);
CREATE INDEX transfer_of_borrower ON transfer (borrower_id, created_at, id);
CREATE INDEX transfer_of_exchange ON transfer (exchange_id);
CREATE INDEX transfer_of_lender ON transfer (lender_id, created_at, id);

CREATE TABLE transfer_line (
    transfer_id UUID NOT NULL,
    key TEXT COLLATE "C" NOT NULL,
    position INTEGER NOT NULL,
    lender_id UUID,
    borrower_id UUID,
    taxon TEXT COLLATE "C" DEFAULT '' NOT NULL,
    count INTEGER NOT NULL,
    type_status TEXT,
    content JSONB NOT NULL,
    CONSTRAINT transfer_line_pkey PRIMARY KEY (transfer_id, key),
    CONSTRAINT transfer_line_transfer FOREIGN KEY(transfer_id) REFERENCES transfer (id),
    CONSTRAINT transfer_line_key_form CHECK (key ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'),
    CONSTRAINT transfer_line_position_form CHECK (position >= 1),
    CONSTRAINT transfer_line_count_form CHECK (count >= 1),
    CONSTRAINT transfer_line_content_form CHECK (jsonb_typeof(content) = 'object')
);
CREATE UNIQUE INDEX transfer_line_in_order ON transfer_line (transfer_id, position);

CREATE TABLE transfer_permit (
    transfer_id UUID NOT NULL,
    id UUID NOT NULL,
    lender_id UUID,
    borrower_id UUID,
    recorded_by UUID NOT NULL,
    status TEXT NOT NULL,
    valid_until DATE,
    content JSONB NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    updated_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT transfer_permit_pkey PRIMARY KEY (transfer_id, id),
    CONSTRAINT transfer_permit_transfer FOREIGN KEY(transfer_id) REFERENCES transfer (id),
    CONSTRAINT transfer_permit_recorder FOREIGN KEY(recorded_by) REFERENCES institution (id),
    CONSTRAINT transfer_permit_content_form CHECK (jsonb_typeof(content) = 'object')
);
CREATE INDEX transfer_permit_ending_of_borrower ON transfer_permit (borrower_id, valid_until, transfer_id, id)
    WHERE status = 'Permit available' AND valid_until IS NOT NULL;
CREATE INDEX transfer_permit_ending_of_lender ON transfer_permit (lender_id, valid_until, transfer_id, id) WHERE
    status = 'Permit available' AND valid_until IS NOT NULL;

CREATE TABLE loan_rules (
    institution_id UUID NOT NULL,
    content JSONB NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    updated_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT loan_rules_pkey PRIMARY KEY (institution_id),
    CONSTRAINT loan_rules_institution FOREIGN KEY(institution_id) REFERENCES institution (id),
    CONSTRAINT loan_rules_content_form CHECK (jsonb_typeof(content) = 'object')
);

CREATE TABLE kept_answer (
    institution_id UUID NOT NULL,
    operation TEXT COLLATE "C" NOT NULL,
    key TEXT COLLATE "C" NOT NULL,
    fingerprint TEXT COLLATE "C" NOT NULL,
    status INTEGER NOT NULL,
    headers JSONB NOT NULL,
    body TEXT NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT kept_answer_pkey PRIMARY KEY (institution_id, operation, key),
    CONSTRAINT kept_answer_institution FOREIGN KEY(institution_id) REFERENCES institution (id),
    CONSTRAINT kept_answer_fingerprint_form CHECK (fingerprint ~ '^[0-9a-f]{64}$'),
    CONSTRAINT kept_answer_headers_form CHECK (jsonb_typeof(headers) = 'object')
);
CREATE INDEX kept_answer_by_age ON kept_answer (institution_id, created_at);
