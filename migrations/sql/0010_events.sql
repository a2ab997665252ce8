-- What happened, as each institution is told of it: written by triggers, in the transaction of the fact itself, so that
-- neither can be there without the other, whoever writes the fact.
--
-- An event has no place in its feed when it is written. The places are given afterwards, to what is committed, by one
-- hand at a time (service/store/events.py): writers never wait for each other, and no reader passes by a place that is
-- filled later.

CREATE TABLE event (
    institution_id UUID NOT NULL,
    id UUID NOT NULL,
    position BIGINT,
    type TEXT COLLATE "C" NOT NULL,
    subject_id UUID NOT NULL,
    number INTEGER,
    made_by UUID NOT NULL,
    recorded_at TIMESTAMP WITH TIME ZONE NOT NULL DEFAULT clock_timestamp(),
    CONSTRAINT event_pkey PRIMARY KEY (institution_id, id),
    CONSTRAINT event_type_form CHECK (type ~ '^[a-z_]+[.][a-z_]+$'),
    CONSTRAINT event_position_form CHECK (position >= 1)
);
CREATE UNIQUE INDEX event_in_order ON event (institution_id, position);
CREATE INDEX event_without_place ON event (institution_id, recorded_at, id) WHERE position IS NULL;

-- That an institution has something to look at, from a moment on, and not what: workers, who see through no wall
-- either, learn from here whom to look after.
CREATE TABLE news (
    institution_id UUID NOT NULL,
    due_at TIMESTAMP WITH TIME ZONE NOT NULL DEFAULT now()
);
CREATE INDEX news_by_due ON news (due_at);

ALTER TABLE event ENABLE ROW LEVEL SECURITY;
ALTER TABLE event FORCE ROW LEVEL SECURITY;
CREATE POLICY event_read ON event FOR SELECT USING (institution_id = current_institution_id());
-- Into another's feed goes only what that one is a party of.
CREATE POLICY event_make ON event FOR INSERT WITH CHECK (
    made_by = current_institution_id() AND (
        institution_id = made_by
        OR EXISTS (
            SELECT FROM transfer t
            WHERE t.id = event.subject_id AND event.institution_id IN (t.lender_id, t.borrower_id)
        )
        OR EXISTS (
            SELECT FROM consignment c
            WHERE c.id = event.subject_id AND c.institution_id = event.made_by
              AND event.institution_id = ANY (c.offered_to)
        )
    )
);
CREATE POLICY event_place ON event FOR UPDATE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, UPDATE (position) ON event TO traybridge_app;

ALTER TABLE news ENABLE ROW LEVEL SECURITY;
ALTER TABLE news FORCE ROW LEVEL SECURITY;
CREATE POLICY news_read ON news FOR SELECT USING (true);
CREATE POLICY news_make ON news FOR INSERT WITH CHECK (true);
CREATE POLICY news_lock ON news FOR UPDATE USING (true);
CREATE POLICY news_remove ON news FOR DELETE USING (true);
GRANT SELECT, INSERT, DELETE, UPDATE (due_at) ON news TO traybridge_app;

CREATE FUNCTION keep_event() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'event % is kept', OLD.id
        USING ERRCODE = 'restrict_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = 'event_kept';
END
$$;
CREATE TRIGGER event_kept BEFORE UPDATE ON event
    FOR EACH ROW WHEN (OLD.position IS NOT NULL) EXECUTE FUNCTION keep_event();
CREATE TRIGGER event_not_removed BEFORE DELETE ON event FOR EACH ROW EXECUTE FUNCTION keep_event();
CREATE TRIGGER event_not_truncated BEFORE TRUNCATE ON event
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_truncate();

CREATE FUNCTION note_news() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO news (institution_id) SELECT DISTINCT institution_id FROM new_events;
    RETURN NULL;
END
$$;
CREATE TRIGGER event_noted AFTER INSERT ON event
    REFERENCING NEW TABLE AS new_events FOR EACH STATEMENT EXECUTE FUNCTION note_news();

-- One event, the same for everybody who is told. Institutions that are named and do not exist are told nothing.
CREATE FUNCTION tell(whom uuid[], what text, about uuid, which integer DEFAULT NULL) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    own_id CONSTANT uuid := gen_random_uuid();
BEGIN
    INSERT INTO event (institution_id, id, type, subject_id, number, made_by)
    SELECT i.id, own_id, what, about, which, coalesce(current_institution_id(), whom[1])
    FROM institution i WHERE i.id = ANY (whom);
END
$$;

CREATE FUNCTION tell_of_transfer_fact() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM tell(ARRAY[NEW.lender_id, NEW.borrower_id], 'transfer.' || NEW.step, NEW.transfer_id, NEW.seq);
    RETURN NULL;
END
$$;
CREATE TRIGGER transfer_fact_told AFTER INSERT ON transfer_fact
    FOR EACH ROW EXECUTE FUNCTION tell_of_transfer_fact();

CREATE FUNCTION tell_of_consignment() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    newly uuid[];
BEGIN
    -- Told before it is gone: who may be told is looked up in the row itself.
    IF TG_OP = 'DELETE' THEN
        PERFORM tell(OLD.institution_id || OLD.offered_to, 'consignment.removed', OLD.id);
        RETURN OLD;
    END IF;
    newly := NEW.offered_to;
    IF TG_OP = 'INSERT' THEN
        PERFORM tell(ARRAY[NEW.institution_id], 'consignment.written', NEW.id);
    ELSE
        newly := ARRAY(SELECT unnest(NEW.offered_to) EXCEPT SELECT unnest(OLD.offered_to));
        PERFORM tell(NEW.institution_id || ARRAY(SELECT unnest(NEW.offered_to) EXCEPT SELECT unnest(newly)),
                     'consignment.changed', NEW.id);
    END IF;
    IF cardinality(array_remove(newly, NEW.institution_id)) > 0 THEN
        PERFORM tell(array_remove(newly, NEW.institution_id), 'consignment.offered', NEW.id);
    END IF;
    RETURN NULL;
END
$$;
CREATE TRIGGER consignment_told AFTER INSERT OR UPDATE ON consignment
    FOR EACH ROW EXECUTE FUNCTION tell_of_consignment();
CREATE TRIGGER consignment_removal_told BEFORE DELETE ON consignment
    FOR EACH ROW EXECUTE FUNCTION tell_of_consignment();

-- What an institution has made of its own.
CREATE FUNCTION tell_owner() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM tell(ARRAY[NEW.institution_id], TG_ARGV[0], NEW.id);
    RETURN NULL;
END
$$;
CREATE TRIGGER fit_check_told AFTER INSERT ON fit_check FOR EACH ROW EXECUTE FUNCTION tell_owner('fit_check.made');
CREATE TRIGGER housing_plan_told AFTER INSERT ON housing_plan
    FOR EACH ROW EXECUTE FUNCTION tell_owner('housing_plan.made');
CREATE TRIGGER operation_told AFTER UPDATE ON operation
    FOR EACH ROW WHEN (NEW.state = 'failed') EXECUTE FUNCTION tell_owner('operation.failed');

CREATE FUNCTION tell_of_revision() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM tell(ARRAY[NEW.institution_id], 'storage_system.published', NEW.system_id, NEW.number);
    RETURN NULL;
END
$$;
CREATE TRIGGER storage_system_revision_told AFTER UPDATE ON storage_system_revision
    FOR EACH ROW WHEN (NEW.state = 'published' AND OLD.state = 'draft') EXECUTE FUNCTION tell_of_revision();
