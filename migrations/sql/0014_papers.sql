-- What an institution packs with, plans of parcels, and the papers that were printed.

CREATE TABLE packing_bench (
    institution_id UUID NOT NULL,
    content JSONB NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    updated_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT packing_bench_pkey PRIMARY KEY (institution_id),
    CONSTRAINT packing_bench_institution FOREIGN KEY(institution_id) REFERENCES institution (id),
    CONSTRAINT packing_bench_content_form CHECK (jsonb_typeof(content) = 'object')
);

CREATE TABLE parcel_plan (
    transfer_id UUID NOT NULL,
    id UUID NOT NULL,
    lender_id UUID,
    borrower_id UUID,
    made_by UUID NOT NULL,
    revision INTEGER NOT NULL,
    asked JSONB NOT NULL,
    plan JSONB NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT parcel_plan_pkey PRIMARY KEY (transfer_id, id),
    CONSTRAINT parcel_plan_transfer FOREIGN KEY(transfer_id) REFERENCES transfer (id),
    CONSTRAINT parcel_plan_maker FOREIGN KEY(made_by) REFERENCES institution (id),
    CONSTRAINT parcel_plan_revision_form CHECK (revision >= 1),
    CONSTRAINT parcel_plan_asked_form CHECK (jsonb_typeof(asked) = 'object'),
    CONSTRAINT parcel_plan_plan_form CHECK (jsonb_typeof(plan) = 'object')
);
CREATE INDEX parcel_plan_by_age ON parcel_plan (transfer_id, created_at, id);

CREATE TABLE paper (
    transfer_id UUID NOT NULL,
    id UUID NOT NULL,
    lender_id UUID,
    borrower_id UUID,
    made_by UUID NOT NULL,
    kind TEXT NOT NULL,
    check_code TEXT COLLATE "C" NOT NULL,
    revision INTEGER NOT NULL,
    page_size TEXT NOT NULL,
    printed_by TEXT NOT NULL,
    printed_on DATE NOT NULL,
    address TEXT NOT NULL,
    parcel_plan_id UUID,
    content JSONB NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT paper_pkey PRIMARY KEY (transfer_id, id),
    CONSTRAINT paper_transfer FOREIGN KEY(transfer_id) REFERENCES transfer (id),
    CONSTRAINT paper_maker FOREIGN KEY(made_by) REFERENCES institution (id),
    CONSTRAINT paper_parcel_plan FOREIGN KEY(transfer_id, parcel_plan_id) REFERENCES parcel_plan (transfer_id, id),
    CONSTRAINT paper_kind_known CHECK (kind IN ('agreement', 'specimen_list', 'receipt', 'return_note',
        'parcel_text', 'cites_label', 'labels')),
    CONSTRAINT paper_check_code_form CHECK (check_code ~ '^([0-9A-HJKMNP-TV-Z]{4}-){4}[0-9A-HJKMNP-TV-Z]$'),
    CONSTRAINT paper_revision_form CHECK (revision >= 1),
    CONSTRAINT paper_page_size_known CHECK (page_size IN ('A4', 'Letter')),
    CONSTRAINT paper_printed_by_form CHECK (btrim(printed_by) <> ''),
    CONSTRAINT paper_content_form CHECK (jsonb_typeof(content) = 'object')
);
CREATE INDEX paper_by_age ON paper (transfer_id, created_at, id);
CREATE INDEX paper_by_code ON paper (check_code);

ALTER TABLE packing_bench ENABLE ROW LEVEL SECURITY;
ALTER TABLE packing_bench FORCE ROW LEVEL SECURITY;
-- Whoever sends a parcel writes to the receiver's address, so every institution reads it; strangers do not.
CREATE POLICY packing_bench_read ON packing_bench FOR SELECT USING (current_institution_id() IS NOT NULL);
CREATE POLICY packing_bench_make ON packing_bench FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY packing_bench_change ON packing_bench FOR UPDATE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, UPDATE (content, version, updated_at) ON packing_bench TO traybridge_app;

-- What was printed stays as it was printed: there is no way to change it or to take it away.
DO $$
DECLARE
    shared text;
BEGIN
    FOREACH shared IN ARRAY ARRAY['parcel_plan', 'paper'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', shared);
        EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', shared);
        EXECUTE format(
            'CREATE POLICY %I ON %I FOR SELECT USING (is_side(lender_id, borrower_id))', shared || '_read', shared
        );
        EXECUTE format(
            'CREATE POLICY %I ON %I FOR INSERT WITH CHECK'
            ' (is_side(lender_id, borrower_id) AND made_by = current_institution_id())', shared || '_make', shared
        );
        EXECUTE format('GRANT SELECT, INSERT ON %I TO traybridge_app', shared);
    END LOOP;
END
$$;
