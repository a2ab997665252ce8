-- Quarantines and arrangement plans, as what happens to them is told. What is only worked out on reading (that a
-- quarantine is over, that a plan is overtaken) happens in no transaction, and no event can be written with it.

-- The same for everybody who is told: also the moment, which each row took for itself before.
CREATE OR REPLACE FUNCTION tell(whom uuid[], what text, about uuid, which integer DEFAULT NULL)
RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    own_id CONSTANT uuid := gen_random_uuid();
    told_at CONSTANT timestamptz := clock_timestamp();
BEGIN
    INSERT INTO event (institution_id, id, type, subject_id, number, made_by, recorded_at)
    SELECT i.id, own_id, what, about, which, coalesce(current_institution_id(), whom[1]), told_at
    FROM institution i WHERE i.id = ANY (whom);
END
$$;

-- Whoever may read a quarantine is told of it: its owner, and both sides of the transfer that it belongs to.
CREATE POLICY event_make_of_quarantine ON event FOR INSERT WITH CHECK (
    made_by = current_institution_id() AND EXISTS (
        SELECT FROM quarantine q JOIN transfer t ON t.id = q.transfer_id
        WHERE q.id = event.subject_id AND q.institution_id = event.made_by
          AND event.institution_id IN (t.lender_id, t.borrower_id)
    )
);

CREATE FUNCTION tell_of_quarantine(q quarantine, what text) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    PERFORM tell(
        ARRAY[q.institution_id] || ARRAY(
            SELECT side FROM transfer t, unnest(ARRAY[t.lender_id, t.borrower_id]) AS side
            WHERE t.id = q.transfer_id
        ),
        what, q.id
    );
END
$$;

CREATE FUNCTION tell_of_quarantine_text() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM tell_of_quarantine(NEW, TG_ARGV[0]);
    RETURN NULL;
END
$$;
CREATE TRIGGER quarantine_told AFTER INSERT ON quarantine
    FOR EACH ROW EXECUTE FUNCTION tell_of_quarantine_text('quarantine.begun');
-- Its version rises with whatever is added beside the text, too; that is told as what it is.
CREATE TRIGGER quarantine_change_told AFTER UPDATE ON quarantine
    FOR EACH ROW WHEN (NEW.content IS DISTINCT FROM OLD.content)
    EXECUTE FUNCTION tell_of_quarantine_text('quarantine.changed');

CREATE FUNCTION tell_of_quarantine_addition() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    about quarantine;
BEGIN
    SELECT * INTO STRICT about FROM quarantine
    WHERE institution_id = NEW.institution_id AND id = NEW.quarantine_id;
    PERFORM tell_of_quarantine(about, TG_ARGV[0]);
    RETURN NULL;
END
$$;
CREATE TRIGGER quarantine_log_told AFTER INSERT ON quarantine_log
    FOR EACH ROW EXECUTE FUNCTION tell_of_quarantine_addition('quarantine.log_added');
CREATE TRIGGER quarantine_inspection_told AFTER INSERT ON quarantine_entry
    FOR EACH ROW WHEN (NEW.kind = 'inspection')
    EXECUTE FUNCTION tell_of_quarantine_addition('quarantine.inspected');
CREATE TRIGGER quarantine_release_told AFTER INSERT ON quarantine_entry
    FOR EACH ROW WHEN (NEW.kind = 'release')
    EXECUTE FUNCTION tell_of_quarantine_addition('quarantine.released');

-- However many steps are written down at once, they are told once, by the last of them.
CREATE FUNCTION tell_of_arrangement_plan() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    before arrangement_plan; -- nothing, when the plan is new
BEGIN
    IF TG_OP = 'INSERT' THEN
        PERFORM tell(ARRAY[NEW.institution_id], 'arrangement_plan.made', NEW.id);
    ELSE
        before := OLD;
    END IF;
    IF NEW.done_count > coalesce(before.done_count, 0) THEN
        PERFORM tell(ARRAY[NEW.institution_id], 'arrangement_plan.steps_done', NEW.id, NEW.done_count);
    END IF;
    IF NEW.carried_out_at IS NOT NULL AND before.carried_out_at IS NULL THEN
        PERFORM tell(ARRAY[NEW.institution_id], 'arrangement_plan.carried_out', NEW.id);
    END IF;
    IF NEW.replaced_by IS NOT NULL AND before.replaced_by IS NULL THEN
        PERFORM tell(ARRAY[NEW.institution_id], 'arrangement_plan.replaced', NEW.id);
    END IF;
    RETURN NULL;
END
$$;
CREATE TRIGGER arrangement_plan_told AFTER INSERT OR UPDATE ON arrangement_plan
    FOR EACH ROW EXECUTE FUNCTION tell_of_arrangement_plan();
