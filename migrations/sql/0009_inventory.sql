-- What stands where, the order that is kept, and the plans to get there. All of it is its institution's own.

-- A range of one cabinet only lets a cabinet stand beside ranges of positions in one index that excludes overlaps,
-- without an extension, which neither the embedded server nor a plain login has.
CREATE TYPE cabinet_range AS RANGE (subtype = uuid);

CREATE TABLE room (
    id UUID NOT NULL,
    institution_id UUID NOT NULL,
    code TEXT COLLATE "C" NOT NULL,
    name TEXT NOT NULL,
    walk_order INTEGER DEFAULT 0 NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    updated_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT room_pkey PRIMARY KEY (institution_id, id),
    CONSTRAINT room_institution FOREIGN KEY(institution_id) REFERENCES institution (id),
    CONSTRAINT room_code_unique UNIQUE (institution_id, code),
    CONSTRAINT room_code_form CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'),
    CONSTRAINT room_name_form CHECK (btrim(name) <> '' AND length(name) <= 200)
);

CREATE TABLE cabinet (
    id UUID NOT NULL,
    institution_id UUID NOT NULL,
    room_id UUID NOT NULL,
    code TEXT COLLATE "C" NOT NULL,
    name TEXT NOT NULL,
    walk_order INTEGER DEFAULT 0 NOT NULL,
    column_count SMALLINT NOT NULL,
    positions_per_column SMALLINT NOT NULL,
    takes TEXT[] COLLATE "C" DEFAULT '{}' NOT NULL,
    opening_width_nm BIGINT,
    pitch_nm BIGINT,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    updated_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT cabinet_pkey PRIMARY KEY (institution_id, id),
    CONSTRAINT cabinet_room FOREIGN KEY(institution_id, room_id) REFERENCES room (institution_id, id),
    CONSTRAINT cabinet_code_unique UNIQUE (institution_id, code),
    CONSTRAINT cabinet_code_form CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'),
    CONSTRAINT cabinet_name_form CHECK (btrim(name) <> '' AND length(name) <= 200),
    CONSTRAINT cabinet_positions_form
        CHECK (column_count BETWEEN 1 AND 20 AND positions_per_column BETWEEN 1 AND 500),
    CONSTRAINT cabinet_takes_form CHECK (cardinality(takes) <= 50 AND array_position(takes, NULL) IS NULL),
    CONSTRAINT cabinet_lengths_form
        CHECK (opening_width_nm BETWEEN 1 AND 100000000000 AND pitch_nm BETWEEN 1 AND 100000000000)
);
CREATE INDEX cabinet_of_room ON cabinet (institution_id, room_id);

CREATE TABLE cabinet_position (
    institution_id UUID NOT NULL,
    cabinet_id UUID NOT NULL,
    number SMALLINT NOT NULL,
    CONSTRAINT cabinet_position_pkey PRIMARY KEY (institution_id, cabinet_id, number),
    CONSTRAINT cabinet_position_cabinet FOREIGN KEY(institution_id, cabinet_id)
        REFERENCES cabinet (institution_id, id) ON DELETE CASCADE,
    CONSTRAINT cabinet_position_number_form CHECK (number >= 1)
);

CREATE TABLE drawer (
    id UUID NOT NULL,
    institution_id UUID NOT NULL,
    code TEXT COLLATE "C" NOT NULL,
    label TEXT DEFAULT '' NOT NULL,
    style TEXT COLLATE "C" NOT NULL,
    inner_width_nm BIGINT NOT NULL,
    inner_depth_nm BIGINT NOT NULL,
    clear_height_nm BIGINT,
    reserve_percent NUMERIC(5, 2),
    cabinet_id UUID,
    position SMALLINT,
    positions SMALLINT DEFAULT 1 NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    updated_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT drawer_pkey PRIMARY KEY (institution_id, id),
    CONSTRAINT drawer_institution FOREIGN KEY(institution_id) REFERENCES institution (id),
    CONSTRAINT drawer_position_exists FOREIGN KEY(institution_id, cabinet_id, position)
        REFERENCES cabinet_position (institution_id, cabinet_id, number),
    CONSTRAINT drawer_code_unique UNIQUE (institution_id, code),
    CONSTRAINT drawer_alone_in_position EXCLUDE USING gist (
        cabinet_range(cabinet_id, cabinet_id, '[]') WITH =, int4range(position, position + positions) WITH &&
    ) WHERE (cabinet_id IS NOT NULL) DEFERRABLE,
    CONSTRAINT drawer_code_form CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'),
    CONSTRAINT drawer_label_form CHECK (length(label) <= 300),
    CONSTRAINT drawer_style_form CHECK (style ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'),
    CONSTRAINT drawer_size_form
        CHECK (inner_width_nm BETWEEN 1 AND 100000000000 AND inner_depth_nm BETWEEN 1 AND 100000000000),
    CONSTRAINT drawer_clear_height_form CHECK (clear_height_nm BETWEEN 1 AND 100000000000),
    CONSTRAINT drawer_reserve_form CHECK (reserve_percent BETWEEN 0 AND 90),
    CONSTRAINT drawer_position_form CHECK ((cabinet_id IS NULL) = (position IS NULL) AND positions BETWEEN 1 AND 50)
);

CREATE TABLE tray (
    id UUID NOT NULL,
    institution_id UUID NOT NULL,
    code TEXT COLLATE "C" NOT NULL,
    taxon TEXT DEFAULT '' NOT NULL,
    label TEXT DEFAULT '' NOT NULL,
    specimens INTEGER,
    curation_level SMALLINT,
    width_nm BIGINT NOT NULL,
    depth_nm BIGINT NOT NULL,
    height_nm BIGINT,
    drawer_id UUID,
    place INTEGER,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    updated_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT tray_pkey PRIMARY KEY (institution_id, id),
    CONSTRAINT tray_institution FOREIGN KEY(institution_id) REFERENCES institution (id),
    CONSTRAINT tray_drawer FOREIGN KEY(institution_id, drawer_id) REFERENCES drawer (institution_id, id),
    CONSTRAINT tray_code_unique UNIQUE (institution_id, code),
    CONSTRAINT tray_alone_in_place UNIQUE (institution_id, drawer_id, place) DEFERRABLE,
    CONSTRAINT tray_code_form CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'),
    CONSTRAINT tray_words_form CHECK (length(taxon) <= 200 AND length(label) <= 300),
    CONSTRAINT tray_specimens_form CHECK (specimens >= 0),
    CONSTRAINT tray_curation_level_form CHECK (curation_level BETWEEN 1 AND 8),
    CONSTRAINT tray_size_form
        CHECK (width_nm BETWEEN 1 AND 100000000000 AND depth_nm BETWEEN 1 AND 100000000000 AND height_nm BETWEEN 1 AND 100000000000),
    CONSTRAINT tray_place_form CHECK ((drawer_id IS NULL) = (place IS NULL) AND place >= 1)
);
CREATE INDEX tray_of_taxon ON tray (institution_id, taxon);
CREATE INDEX tray_unplaced ON tray (institution_id, code) WHERE drawer_id IS NULL;

CREATE TABLE tray_move (
    id UUID NOT NULL,
    institution_id UUID NOT NULL,
    tray TEXT COLLATE "C" NOT NULL,
    from_drawer TEXT COLLATE "C",
    from_place INTEGER,
    to_drawer TEXT COLLATE "C",
    to_place INTEGER,
    moved_by TEXT NOT NULL,
    plan_id UUID,
    step INTEGER,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT tray_move_pkey PRIMARY KEY (institution_id, id),
    CONSTRAINT tray_move_institution FOREIGN KEY(institution_id) REFERENCES institution (id),
    CONSTRAINT tray_move_person_named CHECK (btrim(moved_by) <> '' AND length(moved_by) <= 200),
    CONSTRAINT tray_move_step_form CHECK ((plan_id IS NULL) = (step IS NULL))
);
CREATE INDEX tray_move_by_age ON tray_move (institution_id, created_at, id);
CREATE INDEX tray_move_of_tray ON tray_move (institution_id, tray, created_at, id);

CREATE TABLE arrangement_rules (
    institution_id UUID NOT NULL,
    content JSONB NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    updated_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT arrangement_rules_pkey PRIMARY KEY (institution_id),
    CONSTRAINT arrangement_rules_institution FOREIGN KEY(institution_id) REFERENCES institution (id),
    CONSTRAINT arrangement_rules_content_form CHECK (jsonb_typeof(content) = 'object')
);

CREATE TABLE taxon_sequence (
    institution_id UUID NOT NULL,
    position INTEGER NOT NULL,
    family TEXT DEFAULT '' NOT NULL,
    genus TEXT DEFAULT '' NOT NULL,
    species TEXT DEFAULT '' NOT NULL,
    CONSTRAINT taxon_sequence_pkey PRIMARY KEY (institution_id, position),
    CONSTRAINT taxon_sequence_institution FOREIGN KEY(institution_id) REFERENCES institution (id),
    CONSTRAINT taxon_sequence_once UNIQUE (institution_id, family, genus, species),
    CONSTRAINT taxon_sequence_position_form CHECK (position >= 1),
    CONSTRAINT taxon_sequence_names_form
        CHECK (length(family) <= 100 AND length(genus) <= 100 AND length(species) <= 100 AND family || genus || species <> '')
);

CREATE TABLE arrangement_plan (
    id UUID NOT NULL,
    institution_id UUID NOT NULL,
    question JSONB NOT NULL,
    content JSONB NOT NULL,
    chosen SMALLINT DEFAULT 1 NOT NULL,
    alternatives SMALLINT NOT NULL,
    step_count INTEGER NOT NULL,
    done_count INTEGER DEFAULT 0 NOT NULL,
    replaced_by UUID,
    engine TEXT NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    updated_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT arrangement_plan_pkey PRIMARY KEY (institution_id, id),
    CONSTRAINT arrangement_plan_institution FOREIGN KEY(institution_id) REFERENCES institution (id),
    CONSTRAINT arrangement_plan_replaced_by FOREIGN KEY(institution_id, replaced_by)
        REFERENCES arrangement_plan (institution_id, id),
    CONSTRAINT arrangement_plan_question_form CHECK (jsonb_typeof(question) = 'object'),
    CONSTRAINT arrangement_plan_content_form CHECK (jsonb_typeof(content) = 'object'),
    CONSTRAINT arrangement_plan_choice_form CHECK (chosen BETWEEN 1 AND alternatives),
    CONSTRAINT arrangement_plan_done_form CHECK (done_count BETWEEN 0 AND step_count)
);
CREATE INDEX arrangement_plan_by_age ON arrangement_plan (institution_id, created_at, id);

CREATE TABLE arrangement_step (
    institution_id UUID NOT NULL,
    plan_id UUID NOT NULL,
    number INTEGER NOT NULL,
    done_by TEXT NOT NULL,
    done_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT arrangement_step_pkey PRIMARY KEY (institution_id, plan_id, number),
    CONSTRAINT arrangement_step_plan FOREIGN KEY(institution_id, plan_id)
        REFERENCES arrangement_plan (institution_id, id),
    CONSTRAINT arrangement_step_number_form CHECK (number >= 1),
    CONSTRAINT arrangement_step_person_named CHECK (btrim(done_by) <> '' AND length(done_by) <= 200)
);

-- All positions that a drawer takes up are there, one below the other in one column.
CREATE FUNCTION keep_drawer_in_column() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    last CONSTANT integer := NEW.position + NEW.positions - 1;
BEGIN
    IF EXISTS (
        SELECT FROM cabinet c WHERE c.institution_id = NEW.institution_id AND c.id = NEW.cabinet_id
           AND (last > c.column_count * c.positions_per_column
                OR (NEW.position - 1) / c.positions_per_column <> (last - 1) / c.positions_per_column)
    ) THEN
        RAISE EXCEPTION 'drawer % would stand out of its column', NEW.code
            USING ERRCODE = 'check_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = 'drawer_in_column';
    END IF;
    RETURN NEW;
END
$$;
CREATE TRIGGER drawer_in_column BEFORE INSERT OR UPDATE OF cabinet_id, position, positions ON drawer
    FOR EACH ROW WHEN (NEW.positions > 1 AND NEW.cabinet_id IS NOT NULL) EXECUTE FUNCTION keep_drawer_in_column();

-- The trays of a drawer are together no larger than its inside, and each goes in one way round or the other. Drawers
-- are held in their order, so that two who fill one drawer take turns.
CREATE FUNCTION keep_within_drawers(drawers uuid[]) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    PERFORM FROM drawer WHERE institution_id = current_institution_id() AND id = ANY (drawers)
      ORDER BY id FOR NO KEY UPDATE;
    IF EXISTS (
        SELECT FROM drawer d JOIN tray t ON t.institution_id = d.institution_id AND t.drawer_id = d.id
         WHERE d.institution_id = current_institution_id() AND d.id = ANY (drawers)
         GROUP BY d.id, d.inner_width_nm, d.inner_depth_nm
        HAVING sum(t.width_nm::numeric * t.depth_nm) > d.inner_width_nm::numeric * d.inner_depth_nm
            OR max(least(t.width_nm, t.depth_nm)) > least(d.inner_width_nm, d.inner_depth_nm)
            OR max(greatest(t.width_nm, t.depth_nm)) > greatest(d.inner_width_nm, d.inner_depth_nm)
    ) THEN
        RAISE EXCEPTION 'a drawer is smaller than what is in it'
            USING ERRCODE = 'check_violation', TABLE = 'tray', CONSTRAINT = 'drawer_holds_its_trays';
    END IF;
END
$$;
CREATE FUNCTION keep_trays_within() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM keep_within_drawers(array(SELECT DISTINCT drawer_id FROM touched WHERE drawer_id IS NOT NULL));
    RETURN NULL;
END
$$;
CREATE FUNCTION keep_drawers_large_enough() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM keep_within_drawers(array(
        SELECT t.id FROM touched t JOIN before b USING (institution_id, id)
         WHERE t.inner_width_nm < b.inner_width_nm OR t.inner_depth_nm < b.inner_depth_nm
    ));
    RETURN NULL;
END
$$;
CREATE TRIGGER tray_within_drawer_made AFTER INSERT ON tray
    REFERENCING NEW TABLE AS touched FOR EACH STATEMENT EXECUTE FUNCTION keep_trays_within();
CREATE TRIGGER tray_within_drawer_moved AFTER UPDATE ON tray
    REFERENCING NEW TABLE AS touched FOR EACH STATEMENT EXECUTE FUNCTION keep_trays_within();
CREATE TRIGGER drawer_large_enough AFTER UPDATE ON drawer
    REFERENCING OLD TABLE AS before NEW TABLE AS touched FOR EACH STATEMENT EXECUTE FUNCTION keep_drawers_large_enough();

-- What was planned and what was carried stays as it was.
CREATE FUNCTION keep_arrangement() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'what was planned and carried is kept'
        USING ERRCODE = 'restrict_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = 'arrangement_kept';
END
$$;
CREATE TRIGGER arrangement_kept BEFORE UPDATE OF question, content ON arrangement_plan
    FOR EACH STATEMENT EXECUTE FUNCTION keep_arrangement();
CREATE TRIGGER arrangement_step_kept BEFORE UPDATE OR DELETE ON arrangement_step
    FOR EACH STATEMENT EXECUTE FUNCTION keep_arrangement();
CREATE TRIGGER tray_move_kept BEFORE UPDATE OR DELETE ON tray_move
    FOR EACH STATEMENT EXECUTE FUNCTION keep_arrangement();

DO $$
DECLARE
    own text;
    is_own CONSTANT text := '(institution_id = current_institution_id())';
BEGIN
    FOREACH own IN ARRAY ARRAY[
        'room', 'cabinet', 'cabinet_position', 'drawer', 'tray', 'tray_move', 'arrangement_rules', 'taxon_sequence',
        'arrangement_plan', 'arrangement_step'
    ] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', own);
        EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', own);
        EXECUTE format('CREATE POLICY %I ON %I FOR SELECT USING %s', own || '_read', own, is_own);
        EXECUTE format('CREATE POLICY %I ON %I FOR INSERT WITH CHECK %s', own || '_make', own, is_own);
        EXECUTE format('GRANT SELECT, INSERT ON %I TO traybridge_app', own);
    END LOOP;
    FOREACH own IN ARRAY ARRAY['room', 'cabinet', 'drawer', 'tray', 'arrangement_rules', 'arrangement_plan'] LOOP
        EXECUTE format('CREATE POLICY %I ON %I FOR UPDATE USING %s', own || '_change', own, is_own);
    END LOOP;
    FOREACH own IN ARRAY ARRAY['room', 'cabinet', 'cabinet_position', 'drawer', 'tray', 'taxon_sequence'] LOOP
        EXECUTE format('CREATE POLICY %I ON %I FOR DELETE USING %s', own || '_remove', own, is_own);
        EXECUTE format('GRANT DELETE ON %I TO traybridge_app', own);
    END LOOP;
END
$$;
GRANT UPDATE (code, name, walk_order, version, updated_at) ON room TO traybridge_app;
GRANT UPDATE (
    code, name, room_id, walk_order, column_count, positions_per_column, takes, opening_width_nm, pitch_nm, version,
    updated_at
) ON cabinet TO traybridge_app;
GRANT UPDATE (
    code, label, style, inner_width_nm, inner_depth_nm, clear_height_nm, reserve_percent, cabinet_id, position,
    positions, version, updated_at
) ON drawer TO traybridge_app;
GRANT UPDATE (
    code, taxon, label, specimens, curation_level, width_nm, depth_nm, height_nm, drawer_id, place, version, updated_at
) ON tray TO traybridge_app;
GRANT UPDATE (content, version, updated_at) ON arrangement_rules TO traybridge_app;
GRANT UPDATE (chosen, step_count, done_count, replaced_by, version, updated_at) ON arrangement_plan TO traybridge_app;
