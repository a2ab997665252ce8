-- Who reads and writes what. Both sides of a transfer see all of it; each command has a policy of its own.

-- One call, so that the planner takes it for one condition. Written out, it would be multiplied into the estimate of
-- every list that names its side as well, and a list of thousands would be planned as if it had ten rows.
CREATE FUNCTION is_side(lender_id uuid, borrower_id uuid) RETURNS boolean LANGUAGE plpgsql STABLE PARALLEL SAFE COST 1
AS $$
DECLARE
    me CONSTANT uuid := NULLIF(current_setting('app.institution_id', true), '')::uuid;
BEGIN
    RETURN me = lender_id OR me = borrower_id;
END
$$;

DO $$
DECLARE
    shared text;
    is_party CONSTANT text := '(is_side(lender_id, borrower_id))';
BEGIN
    FOREACH shared IN ARRAY ARRAY[
        'transfer', 'transfer_line', 'transfer_permit', 'transfer_fact', 'custody_posting', 'custody_balance',
        'transfer_standing', 'line_standing'
    ] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', shared);
        EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', shared);
        EXECUTE format('CREATE POLICY %I ON %I FOR SELECT USING %s', shared || '_read', shared, is_party);
        EXECUTE format('CREATE POLICY %I ON %I FOR INSERT WITH CHECK %s', shared || '_make', shared, is_party);
        EXECUTE format('GRANT SELECT ON %I TO traybridge_app', shared);
    END LOOP;
    FOREACH shared IN ARRAY ARRAY[
        'transfer', 'custody_balance', 'transfer_standing', 'line_standing'
    ] LOOP
        EXECUTE format('CREATE POLICY %I ON %I FOR UPDATE USING %s', shared || '_change', shared, is_party);
    END LOOP;
    EXECUTE 'CREATE POLICY transfer_line_remove ON transfer_line FOR DELETE USING ' || is_party;
END
$$;

-- A permit is changed by the side that recorded it.
CREATE POLICY transfer_permit_change ON transfer_permit FOR UPDATE USING (recorded_by = current_institution_id());

GRANT INSERT, UPDATE (content, updated_at) ON transfer TO traybridge_app;
GRANT INSERT (transfer_id, key, position, taxon, count, type_status, content), DELETE
    ON transfer_line TO traybridge_app;
GRANT INSERT, UPDATE (status, valid_until, content, version, updated_at) ON transfer_permit TO traybridge_app;
-- Of a fact the application gives its text alone; all else is read from the text.
GRANT INSERT (transfer_id, body) ON transfer_fact TO traybridge_app;
-- Written by the triggers of transfer_fact, which work with the application's rights; guards refuse all others.
GRANT INSERT ON custody_posting TO traybridge_app;
GRANT INSERT, UPDATE ON custody_balance, transfer_standing, line_standing TO traybridge_app;

ALTER TABLE loan_rules ENABLE ROW LEVEL SECURITY;
ALTER TABLE loan_rules FORCE ROW LEVEL SECURITY;
CREATE POLICY loan_rules_read ON loan_rules FOR SELECT USING (true);
CREATE POLICY loan_rules_make ON loan_rules FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY loan_rules_change ON loan_rules FOR UPDATE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, UPDATE (content, version, updated_at) ON loan_rules TO traybridge_app;

-- An answer kept for retries may be thrown away when it is old, and never before.
ALTER TABLE kept_answer ENABLE ROW LEVEL SECURITY;
ALTER TABLE kept_answer FORCE ROW LEVEL SECURITY;
CREATE POLICY kept_answer_read ON kept_answer FOR SELECT USING (institution_id = current_institution_id());
CREATE POLICY kept_answer_make ON kept_answer FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY kept_answer_remove ON kept_answer FOR DELETE USING (
    institution_id = current_institution_id() AND created_at < now() - interval '30 days'
);
GRANT SELECT, INSERT, DELETE ON kept_answer TO traybridge_app;
