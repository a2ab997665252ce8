-- What joins other databases: their names for things, what changed for whom, and the lots that they sent.

CREATE TABLE external_identifier (
    institution_id UUID NOT NULL,
    kind TEXT COLLATE "C" NOT NULL,
    scheme TEXT COLLATE "C" NOT NULL,
    value TEXT COLLATE "C" NOT NULL,
    thing_id UUID NOT NULL,
    line TEXT COLLATE "C" DEFAULT '' NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT external_identifier_pkey PRIMARY KEY (institution_id, kind, scheme, value, thing_id, line),
    CONSTRAINT external_identifier_giver FOREIGN KEY(institution_id) REFERENCES institution (id),
    CONSTRAINT external_identifier_kind_known CHECK (kind IN ('institution', 'storage_system', 'consignment',
        'consignment_line', 'transfer')),
    CONSTRAINT external_identifier_scheme_form CHECK (scheme ~ '^[a-z][a-z0-9._-]{0,49}$'),
    CONSTRAINT external_identifier_value_form CHECK (value <> '' AND length(value) <= 500),
    CONSTRAINT external_identifier_of_oneself CHECK (kind <> 'institution' OR thing_id = institution_id)
);
CREATE UNIQUE INDEX external_identifier_names_one ON external_identifier (institution_id, kind, scheme, value)
    WHERE line = '';
CREATE UNIQUE INDEX external_identifier_of_one_institution ON external_identifier (scheme, value)
    WHERE kind = 'institution';
CREATE INDEX external_identifier_by_value ON external_identifier (value, scheme);
CREATE INDEX external_identifier_of_thing ON external_identifier (thing_id, institution_id, line);

CREATE TABLE thing_change (
    viewer_id UUID NOT NULL,
    kind TEXT COLLATE "C" NOT NULL,
    thing_id UUID NOT NULL,
    institution_id UUID NOT NULL,
    changed_in BIGINT NOT NULL,
    changed_at TIMESTAMP WITH TIME ZONE NOT NULL,
    removed BOOLEAN NOT NULL,
    CONSTRAINT thing_change_pkey PRIMARY KEY (viewer_id, kind, thing_id),
    CONSTRAINT thing_change_kind_known CHECK (kind IN ('institution', 'storage_system', 'consignment', 'transfer'))
);
CREATE INDEX thing_change_in_order ON thing_change (viewer_id, changed_in, kind, thing_id);
CREATE INDEX thing_change_of_thing ON thing_change (thing_id);

CREATE TABLE consignment_lot (
    institution_id UUID NOT NULL,
    consignment_id UUID NOT NULL,
    position INTEGER NOT NULL,
    record TEXT COLLATE "C" NOT NULL,
    content JSONB NOT NULL,
    count INTEGER NOT NULL,
    taxon TEXT NOT NULL,
    CONSTRAINT consignment_lot_pkey PRIMARY KEY (institution_id, consignment_id, position),
    CONSTRAINT consignment_lot_consignment FOREIGN KEY(institution_id, consignment_id)
        REFERENCES consignment (institution_id, id) ON DELETE CASCADE,
    CONSTRAINT consignment_lot_position_form CHECK (position >= 1),
    CONSTRAINT consignment_lot_content_form CHECK (jsonb_typeof(content) = 'object'),
    CONSTRAINT consignment_lot_count_form CHECK (count >= 1)
);
CREATE INDEX consignment_lot_by_record ON consignment_lot (record) WHERE record <> '';

-- Names are read by whoever gave them, and by whoever sees a thing that its owner, or a side of it, has named.
ALTER TABLE external_identifier ENABLE ROW LEVEL SECURITY;
ALTER TABLE external_identifier FORCE ROW LEVEL SECURITY;
CREATE POLICY external_identifier_read ON external_identifier FOR SELECT USING (
    institution_id = current_institution_id()
    OR CASE kind
        WHEN 'institution' THEN true
        WHEN 'storage_system' THEN EXISTS (
            SELECT FROM storage_system s
            WHERE s.id = external_identifier.thing_id AND s.institution_id = external_identifier.institution_id)
        WHEN 'transfer' THEN EXISTS (
            SELECT FROM transfer t WHERE t.id = external_identifier.thing_id)
        ELSE EXISTS (
            SELECT FROM consignment c
            WHERE c.id = external_identifier.thing_id AND c.institution_id = external_identifier.institution_id)
    END
);
CREATE POLICY external_identifier_give ON external_identifier
    FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY external_identifier_remove ON external_identifier
    FOR DELETE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, DELETE ON external_identifier TO traybridge_app;

-- A change is noted for each who sees the thing, by whoever makes the change; both sides of a transfer make changes.
ALTER TABLE thing_change ENABLE ROW LEVEL SECURITY;
ALTER TABLE thing_change FORCE ROW LEVEL SECURITY;
CREATE FUNCTION is_noted_here(viewer_id uuid, institution_id uuid, kind text, thing_id uuid) RETURNS boolean
LANGUAGE plpgsql STABLE COST 1 AS $$
DECLARE
    me CONSTANT uuid := NULLIF(current_setting('app.institution_id', true), '')::uuid;
BEGIN
    RETURN viewer_id = '00000000-0000-0000-0000-000000000000' OR me IS NOT NULL AND (
        viewer_id = me OR institution_id = me OR viewer_id = '00000000-0000-0000-0000-000000000001'
        OR kind = 'transfer' AND EXISTS (SELECT FROM transfer t WHERE t.id = thing_id));
END
$$;
CREATE POLICY thing_change_read ON thing_change
    FOR SELECT USING (is_noted_here(viewer_id, institution_id, kind, thing_id));
CREATE POLICY thing_change_note ON thing_change FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY thing_change_note_again ON thing_change FOR UPDATE
    USING (is_noted_here(viewer_id, institution_id, kind, thing_id))
    WITH CHECK (institution_id = current_institution_id());
GRANT SELECT, INSERT, UPDATE (institution_id, changed_in, changed_at, removed) ON thing_change TO traybridge_app;

ALTER TABLE consignment_lot ENABLE ROW LEVEL SECURITY;
ALTER TABLE consignment_lot FORCE ROW LEVEL SECURITY;
CREATE POLICY consignment_lot_read ON consignment_lot FOR SELECT USING (
    institution_id = current_institution_id()
    OR EXISTS (
        SELECT FROM consignment c
        WHERE c.institution_id = consignment_lot.institution_id AND c.id = consignment_lot.consignment_id
    )
);
CREATE POLICY consignment_lot_make ON consignment_lot
    FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY consignment_lot_remove ON consignment_lot
    FOR DELETE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, DELETE ON consignment_lot TO traybridge_app;

-- The number of the transaction and not the time: transactions end in another order than they begin, and only of the
-- numbers below the oldest one still running is it known that nothing more will come.
CREATE FUNCTION note_change(by uuid, of_kind text, thing uuid, viewers uuid[]) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO thing_change (viewer_id, kind, thing_id, institution_id, changed_in, changed_at, removed)
    SELECT v, of_kind, thing, by, pg_current_xact_id()::text::bigint, now(), false
    FROM (SELECT DISTINCT v FROM unnest(viewers) v WHERE v IS NOT NULL ORDER BY v) each
    ON CONFLICT (viewer_id, kind, thing_id) DO UPDATE SET institution_id = EXCLUDED.institution_id,
        changed_in = EXCLUDED.changed_in, changed_at = EXCLUDED.changed_at, removed = false;
END
$$;

CREATE FUNCTION note_removal(by uuid, of_kind text, thing uuid, still_seen_by uuid[]) RETURNS void
LANGUAGE plpgsql AS $$
BEGIN
    UPDATE thing_change SET institution_id = by, changed_in = pg_current_xact_id()::text::bigint, changed_at = now(),
        removed = true
    WHERE kind = of_kind AND thing_id = thing AND NOT removed AND viewer_id <> ALL (still_seen_by);
END
$$;

CREATE FUNCTION viewers_of_system(s storage_system) RETURNS uuid[] LANGUAGE sql IMMUTABLE
RETURN ARRAY[(s).institution_id] || CASE
    WHEN (s).published_since IS NULL OR (s).visibility = 'owner' THEN ARRAY[]::uuid[]
    WHEN (s).visibility = 'members' THEN ARRAY['00000000-0000-0000-0000-000000000001'::uuid]
    ELSE ARRAY['00000000-0000-0000-0000-000000000000'::uuid] END;

CREATE FUNCTION note_institution() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM note_change(NEW.id, 'institution', NEW.id, ARRAY['00000000-0000-0000-0000-000000000000'::uuid]);
    RETURN NULL;
END
$$;
CREATE TRIGGER institution_noted AFTER INSERT OR UPDATE ON institution
    FOR EACH ROW EXECUTE FUNCTION note_institution();

CREATE FUNCTION note_system() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        DELETE FROM external_identifier WHERE kind = 'storage_system' AND thing_id = OLD.id;
        PERFORM note_removal(OLD.institution_id, 'storage_system', OLD.id, ARRAY[]::uuid[]);
    ELSE
        PERFORM note_change(NEW.institution_id, 'storage_system', NEW.id, viewers_of_system(NEW));
        PERFORM note_removal(NEW.institution_id, 'storage_system', NEW.id, viewers_of_system(NEW));
    END IF;
    RETURN NULL;
END
$$;
CREATE TRIGGER storage_system_noted AFTER INSERT OR UPDATE OR DELETE ON storage_system
    FOR EACH ROW EXECUTE FUNCTION note_system();

-- A draft is its owner's business; what was published, everybody's who sees the system.
CREATE FUNCTION note_revision() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    revision storage_system_revision := coalesce(NEW, OLD);
    s storage_system;
BEGIN
    SELECT * INTO s FROM storage_system
    WHERE institution_id = revision.institution_id AND id = revision.system_id;
    IF FOUND THEN
        PERFORM note_change(s.institution_id, 'storage_system', s.id,
            CASE revision.state WHEN 'draft' THEN ARRAY[s.institution_id] ELSE viewers_of_system(s) END);
    END IF;
    RETURN NULL;
END
$$;
CREATE TRIGGER storage_system_revision_noted AFTER INSERT OR UPDATE OR DELETE ON storage_system_revision
    FOR EACH ROW EXECUTE FUNCTION note_revision();

CREATE FUNCTION note_consignment() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        DELETE FROM external_identifier WHERE kind IN ('consignment', 'consignment_line') AND thing_id = OLD.id;
        PERFORM note_removal(OLD.institution_id, 'consignment', OLD.id, ARRAY[]::uuid[]);
    ELSE
        PERFORM note_change(NEW.institution_id, 'consignment', NEW.id, NEW.institution_id || NEW.offered_to);
        PERFORM note_removal(NEW.institution_id, 'consignment', NEW.id, NEW.institution_id || NEW.offered_to);
    END IF;
    RETURN NULL;
END
$$;
CREATE TRIGGER consignment_noted AFTER INSERT OR UPDATE OR DELETE ON consignment
    FOR EACH ROW EXECUTE FUNCTION note_consignment();

-- Every change of a transfer is a fact; a permit stands beside it.
CREATE FUNCTION note_transfer() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM note_change(coalesce(current_institution_id(), NEW.lender_id, NEW.borrower_id), 'transfer',
        NEW.transfer_id, ARRAY[NEW.lender_id, NEW.borrower_id]);
    RETURN NULL;
END
$$;
CREATE TRIGGER transfer_fact_noted AFTER INSERT ON transfer_fact FOR EACH ROW EXECUTE FUNCTION note_transfer();
CREATE TRIGGER transfer_permit_noted AFTER INSERT OR UPDATE ON transfer_permit
    FOR EACH ROW EXECUTE FUNCTION note_transfer();

-- A new name for a thing is news to whoever gave it, and an institution's own name to everybody.
CREATE FUNCTION note_identifier() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    given external_identifier := coalesce(NEW, OLD);
BEGIN
    UPDATE thing_change SET institution_id = given.institution_id, changed_at = now(),
        changed_in = pg_current_xact_id()::text::bigint
    WHERE thing_id = given.thing_id AND NOT removed AND viewer_id = CASE given.kind
        WHEN 'institution' THEN '00000000-0000-0000-0000-000000000000' ELSE given.institution_id END;
    RETURN NULL;
END
$$;
CREATE TRIGGER external_identifier_noted AFTER INSERT OR DELETE ON external_identifier
    FOR EACH ROW EXECUTE FUNCTION note_identifier();
