-- Each fact's postings summed over its lines: who held how many with whom on a past day is asked by fact, and a fact of
-- five thousand lines is two rows here.

CREATE TABLE custody_movement (
    transfer_id UUID NOT NULL,
    seq INTEGER NOT NULL,
    account TEXT NOT NULL,
    change BIGINT NOT NULL,
    on_day DATE NOT NULL,
    lender_id UUID,
    borrower_id UUID,
    CONSTRAINT custody_movement_pkey PRIMARY KEY (transfer_id, seq, account),
    CONSTRAINT custody_movement_fact FOREIGN KEY(transfer_id, seq) REFERENCES transfer_fact (transfer_id, seq)
);
CREATE INDEX custody_movement_of_lender ON custody_movement (lender_id, borrower_id, on_day);
CREATE INDEX custody_movement_of_borrower ON custody_movement (borrower_id, lender_id, on_day);

ALTER TABLE custody_movement ENABLE ROW LEVEL SECURITY;
ALTER TABLE custody_movement FORCE ROW LEVEL SECURITY;
CREATE POLICY custody_movement_read ON custody_movement FOR SELECT USING (is_side(lender_id, borrower_id));
CREATE POLICY custody_movement_make ON custody_movement FOR INSERT WITH CHECK (is_side(lender_id, borrower_id));
GRANT SELECT, INSERT ON custody_movement TO traybridge_app;

CREATE FUNCTION sum_postings() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO custody_movement (transfer_id, seq, account, change, on_day, lender_id, borrower_id)
    SELECT transfer_id, seq, account, sum(change), on_day, lender_id, borrower_id FROM new_postings
    GROUP BY transfer_id, seq, account, on_day, lender_id, borrower_id HAVING sum(change) <> 0;
    RETURN NULL;
END
$$;
CREATE TRIGGER custody_posting_summed AFTER INSERT ON custody_posting
    REFERENCING NEW TABLE AS new_postings FOR EACH STATEMENT EXECUTE FUNCTION sum_postings();
CREATE TRIGGER custody_movement_by_facts BEFORE INSERT ON custody_movement
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_other_hands();
CREATE TRIGGER custody_movement_kept BEFORE UPDATE OR DELETE ON custody_movement
    FOR EACH STATEMENT EXECUTE FUNCTION keep_ledger();
CREATE TRIGGER custody_movement_not_truncated BEFORE TRUNCATE ON custody_movement
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_truncate();

-- What was posted before. The owner is bound by the walls as everybody, and stands outside them for this alone.
ALTER TABLE custody_posting NO FORCE ROW LEVEL SECURITY;
ALTER TABLE custody_movement NO FORCE ROW LEVEL SECURITY;
ALTER TABLE custody_movement DISABLE TRIGGER custody_movement_by_facts;
INSERT INTO custody_movement (transfer_id, seq, account, change, on_day, lender_id, borrower_id)
SELECT transfer_id, seq, account, sum(change), on_day, lender_id, borrower_id FROM custody_posting
GROUP BY transfer_id, seq, account, on_day, lender_id, borrower_id HAVING sum(change) <> 0;
ALTER TABLE custody_movement ENABLE TRIGGER custody_movement_by_facts;
ALTER TABLE custody_movement FORCE ROW LEVEL SECURITY;
ALTER TABLE custody_posting FORCE ROW LEVEL SECURITY;
-- Only what is asked by lot is still asked of the postings.
DROP INDEX custody_posting_of_lender, custody_posting_of_borrower;
