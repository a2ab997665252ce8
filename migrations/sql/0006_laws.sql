-- The laws of the ledger, as the database keeps them whoever writes. The pure module service/core/transfers keeps
-- the same and more; what stands in both is compared by a test. Every function works with the rights of whoever
-- calls it: both sides of a transfer see all of its rows, so that no sum is taken over half of them.

CREATE FUNCTION transfer_paths() RETURNS text[] LANGUAGE sql IMMUTABLE PARALLEL SAFE RETURN ARRAY[
    'packed:collection:packed', 'unpacked:packed:collection', 'dispatched:packed:transit_out',
    'received:transit_out:borrower', 'difference_settled:transit_out:collection',
    'difference_settled:transit_out:borrower', 'difference_settled:transit_out:returned',
    'difference_settled:transit_out:lost', 'difference_settled:collection:borrower',
    'difference_settled:transit_back:borrower', 'difference_settled:transit_back:lost',
    'difference_settled:borrower:returned', 'retained:borrower:retained', 'passed_on:borrower:passed_on',
    'consumed:borrower:consumed', 'lost:transit_out:lost', 'lost:borrower:lost', 'lost:transit_back:lost',
    'found:lost:borrower', 'found:lost:returned', 'sent_back:borrower:transit_back',
    'received_back:transit_back:returned', 'ownership_changed:borrower:retained'
];
CREATE FUNCTION transfer_primary_types() RETURNS text[] LANGUAGE sql IMMUTABLE PARALLEL SAFE RETURN ARRAY[
    'holotype', 'lectotype', 'neotype', 'syntype'
];

CREATE FUNCTION refuse_step(law text, sentence text) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '%', sentence
        USING ERRCODE = 'integrity_constraint_violation', TABLE = 'transfer_fact', CONSTRAINT = law;
END
$$;

-- What stands before the first link: the hash of ["custody chain",1,"<the transfer>"].
CREATE FUNCTION custody_chain_root(transfer_id uuid) RETURNS text LANGUAGE sql IMMUTABLE PARALLEL SAFE
RETURN encode(sha256(convert_to('["custody chain",1,"' || transfer_id || '"]', 'UTF8')), 'hex');

CREATE FUNCTION begin_transfer() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO transfer_standing (transfer_id, lender_id, borrower_id, head)
    VALUES (NEW.id, NEW.lender_id, NEW.borrower_id, custody_chain_root(NEW.id));
    RETURN NULL;
END
$$;
CREATE TRIGGER transfer_begun AFTER INSERT ON transfer FOR EACH ROW EXECUTE FUNCTION begin_transfer();

-- The text stands while anything is packed or sent, and a changed text takes both signatures back.
CREATE FUNCTION change_transfer_text(of_transfer uuid) RETURNS transfer_standing LANGUAGE plpgsql AS $$
DECLARE
    now_is transfer_standing;
BEGIN
    SELECT * INTO now_is FROM transfer_standing s WHERE s.transfer_id = of_transfer FOR UPDATE;
    IF now_is.collection <> 0 OR now_is.closed_on IS NOT NULL OR now_is.withdrawn_on IS NOT NULL THEN
        RAISE EXCEPTION 'the text of transfer % stands', of_transfer
            USING ERRCODE = 'restrict_violation', TABLE = 'transfer', CONSTRAINT = 'transfer_text_stands';
    END IF;
    IF now_is.agreement IS NOT NULL THEN
        UPDATE transfer_standing s SET agreement = NULL, lender_signed = false, borrower_signed = false
        WHERE s.transfer_id = of_transfer;
    END IF;
    RETURN now_is;
END
$$;
CREATE FUNCTION keep_transfer_text() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM change_transfer_text(NEW.id);
    RETURN NEW;
END
$$;
CREATE TRIGGER transfer_text_kept BEFORE UPDATE ON transfer FOR EACH ROW EXECUTE FUNCTION keep_transfer_text();
CREATE FUNCTION keep_transfer_line() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    now_is transfer_standing;
BEGIN
    IF TG_OP = 'DELETE' THEN
        PERFORM change_transfer_text(OLD.transfer_id);
        RETURN OLD;
    END IF;
    now_is := change_transfer_text(NEW.transfer_id);
    NEW.lender_id := now_is.lender_id;
    NEW.borrower_id := now_is.borrower_id;
    RETURN NEW;
END
$$;
CREATE TRIGGER transfer_line_kept BEFORE INSERT OR UPDATE OR DELETE ON transfer_line
    FOR EACH ROW EXECUTE FUNCTION keep_transfer_line();

CREATE FUNCTION read_transfer_fact() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    said CONSTANT jsonb := NEW.body::jsonb;
    fact CONSTANT jsonb := said -> 'fact';
    now_is transfer_standing;
BEGIN
    SELECT * INTO now_is FROM transfer_standing s WHERE s.transfer_id = NEW.transfer_id FOR UPDATE;
    NEW.lender_id := now_is.lender_id;
    NEW.borrower_id := now_is.borrower_id;
    NEW.digest := encode(sha256(convert_to(NEW.body, 'UTF8')), 'hex');
    NEW.seq := said ->> 'seq';
    NEW.previous := said ->> 'previous';
    NEW.recorded_at := said ->> 'recorded';
    NEW.step := fact ->> 'step';
    NEW.side := fact ->> 'side';
    NEW.by_name := coalesce(fact ->> 'by', '');
    NEW.on_day := fact ->> 'on';
    NEW.until_day := fact ->> 'until';
    NEW.reason := coalesce(fact ->> 'reason', '');
    NEW.third_party := fact ->> 'third_party';
    NEW.agreement := fact ->> 'agreement';
    NEW.written_by := fact ->> 'written_by';
    PERFORM check_transfer_fact(NEW, now_is, said ->> 'transfer');
    RETURN NEW;
END
$$;

CREATE FUNCTION check_transfer_fact(fact transfer_fact, now_is transfer_standing, named text) RETURNS void
LANGUAGE plpgsql AS $$
DECLARE
    me CONSTANT uuid := current_institution_id();
    writer CONSTANT text := coalesce(fact.written_by, fact.side);
    writers CONSTANT uuid := CASE writer WHEN 'lender' THEN fact.lender_id ELSE fact.borrower_id END;
    doers CONSTANT uuid := CASE fact.side WHEN 'lender' THEN fact.lender_id ELSE fact.borrower_id END;
BEGIN
    IF (named, fact.seq, fact.previous) IS DISTINCT FROM (fact.transfer_id::text, now_is.seq + 1, now_is.head) THEN
        PERFORM refuse_step('transfer_fact_follows_the_last', 'the fact does not follow the last one');
    END IF;
    IF now_is.closed_on IS NOT NULL OR now_is.withdrawn_on IS NOT NULL THEN
        PERFORM refuse_step('transfer_fact_while_open', 'the transfer is over');
    END IF;
    IF me IS NULL OR me IS DISTINCT FROM writers OR writer <> fact.side AND doers IS NOT NULL THEN
        PERFORM refuse_step('transfer_fact_own_hand', 'each institution writes for itself');
    END IF;
    IF fact.step IN ('written', 'withdrawn') AND now_is.collection <> 0 THEN
        PERFORM refuse_step('transfer_fact_text_stands', 'something is packed or sent');
    ELSIF fact.step = 'signed' AND fact.agreement IS DISTINCT FROM now_is.agreement THEN
        PERFORM refuse_step('transfer_fact_signs_the_text', 'the signature names another text');
    ELSIF fact.step IN ('packed', 'dispatched') AND NOT (now_is.lender_signed AND now_is.borrower_signed) THEN
        PERFORM refuse_step('transfer_fact_after_signatures', 'both sides have to sign first');
    ELSIF fact.step = 'reconciled' AND NOT (
        now_is.packed = 0 AND now_is.differing = 0 AND now_is.collection + now_is.packed < 0
        AND now_is.transit_out + now_is.borrower + now_is.transit_back = 0
    ) THEN
        PERFORM refuse_step('transfer_fact_adds_up', 'it does not add up yet');
    ELSIF fact.step = 'closed' AND now_is.reconciled_on IS NULL THEN
        PERFORM refuse_step('transfer_fact_after_reconciling', 'it is not reconciled');
    END IF;
END
$$;
CREATE TRIGGER transfer_fact_read BEFORE INSERT ON transfer_fact FOR EACH ROW EXECUTE FUNCTION read_transfer_fact();

-- Each move becomes two postings; the balances follow, and both are held to the laws.
CREATE FUNCTION post_transfer_fact() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    fact CONSTANT jsonb := NEW.body::jsonb -> 'fact';
    before transfer_standing;
BEGIN
    SELECT * INTO before FROM transfer_standing s WHERE s.transfer_id = NEW.transfer_id;
    IF fact ? 'moves' THEN
        PERFORM post_moves(NEW, fact -> 'moves');
        PERFORM check_balances(NEW, before.moved_on);
    END IF;
    PERFORM note_differences(NEW, fact);
    PERFORM note_standing(NEW, fact ? 'moves');
    RETURN NULL;
END
$$;
CREATE TRIGGER transfer_fact_posted AFTER INSERT ON transfer_fact
    FOR EACH ROW EXECUTE FUNCTION post_transfer_fact();

CREATE FUNCTION post_moves(fact transfer_fact, moves jsonb) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (
        SELECT FROM jsonb_array_elements(moves) m
        WHERE (m ->> 3)::int < 1
           OR NOT fact.step || ':' || (m ->> 1) || ':' || (m ->> 2) = ANY (transfer_paths())
    ) THEN
        PERFORM refuse_step('transfer_fact_moves_its_ways', 'the step makes no such move');
    END IF;
    -- Here and below rows are looked up one by one under their keys, written so that no plan can do it otherwise:
    -- joined as sets, the first large loan of a young database is planned as if it were small.
    IF EXISTS (
        SELECT FROM jsonb_array_elements(moves) m
        WHERE (SELECT true FROM transfer_line l WHERE l.transfer_id = fact.transfer_id AND l.key = m ->> 0) IS NULL
    ) THEN
        PERFORM refuse_step('transfer_fact_moves_its_lines', 'the transfer has no such line');
    END IF;
    INSERT INTO custody_posting (transfer_id, seq, line, account, change, on_day, lender_id, borrower_id)
    SELECT fact.transfer_id, fact.seq, m ->> 0, half.account, sum(half.change), fact.on_day,
           fact.lender_id, fact.borrower_id
    FROM jsonb_array_elements(moves) m
    CROSS JOIN LATERAL (VALUES (m ->> 1, -(m ->> 3)::int), (m ->> 2, (m ->> 3)::int)) AS half (account, change)
    GROUP BY m ->> 0, half.account HAVING sum(half.change) <> 0;
    -- What is offered for insertion is the new balance itself: it is held to its checks before it meets the old row.
    INSERT INTO custody_balance (transfer_id, line, account, quantity, taxon, lender_id, borrower_id)
    SELECT p.transfer_id, p.line, p.account, p.change + coalesce((
               SELECT b.quantity FROM custody_balance b
               WHERE b.transfer_id = p.transfer_id AND b.line = p.line AND b.account = p.account), 0),
           (SELECT l.taxon FROM transfer_line l WHERE l.transfer_id = p.transfer_id AND l.key = p.line),
           p.lender_id, p.borrower_id
    FROM custody_posting p WHERE p.transfer_id = fact.transfer_id AND p.seq = fact.seq
    ON CONFLICT (transfer_id, line, account) DO UPDATE SET quantity = EXCLUDED.quantity, taxon = EXCLUDED.taxon;
    INSERT INTO line_standing (transfer_id, line, lender_id, borrower_id, outstanding, differs)
    SELECT fact.transfer_id, p.line, fact.lender_id, fact.borrower_id,
           coalesce(sum(p.change) FILTER (WHERE p.account IN ('transit_out', 'borrower', 'transit_back')), 0)
               + coalesce((SELECT s.outstanding FROM line_standing s
                           WHERE s.transfer_id = fact.transfer_id AND s.line = p.line), 0),
           false
    FROM custody_posting p WHERE p.transfer_id = fact.transfer_id AND p.seq = fact.seq
    GROUP BY p.line
    ON CONFLICT (transfer_id, line) DO UPDATE SET outstanding = EXCLUDED.outstanding;
END
$$;

CREATE FUNCTION check_balances(fact transfer_fact, last_moved_on date) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    IF fact.step = 'packed' AND EXISTS (
        SELECT FROM custody_posting p
        WHERE p.transfer_id = fact.transfer_id AND p.seq = fact.seq AND p.account = 'collection'
          AND -(SELECT b.quantity FROM custody_balance b
                WHERE b.transfer_id = p.transfer_id AND b.line = p.line AND b.account = p.account)
              > (SELECT l.count FROM transfer_line l WHERE l.transfer_id = p.transfer_id AND l.key = p.line)
    ) THEN
        PERFORM refuse_step('transfer_fact_as_agreed', 'more would be packed than was agreed on');
    END IF;
    IF fact.step = 'retained' AND EXISTS (
        SELECT FROM custody_posting p
        WHERE p.transfer_id = fact.transfer_id AND p.seq = fact.seq AND p.account = 'retained'
          AND (SELECT l.type_status = ANY (transfer_primary_types())
                      OR t.content #> '{terms,must_return}' @> to_jsonb(l.type_status)
               FROM transfer_line l, transfer t
               WHERE l.transfer_id = p.transfer_id AND l.key = p.line AND t.id = p.transfer_id)
    ) THEN
        PERFORM refuse_step('transfer_fact_returns_types', 'such types go back');
    END IF;
    -- Written down late: every day since has to bear it. In order of days it is the balance that says so.
    IF fact.on_day < last_moved_on AND EXISTS (
        SELECT FROM (
            SELECT sum(p.change) OVER (PARTITION BY p.line, p.account ORDER BY p.on_day, p.seq) AS held
            FROM custody_posting p
            WHERE p.transfer_id = fact.transfer_id AND p.account <> 'collection' AND (p.line, p.account) IN (
                SELECT q.line, q.account FROM custody_posting q
                WHERE q.transfer_id = fact.transfer_id AND q.seq = fact.seq)
        ) AS day WHERE day.held < 0
    ) THEN
        PERFORM refuse_step('transfer_fact_bears_every_day', 'an account would have been below zero');
    END IF;
END
$$;

CREATE FUNCTION note_differences(fact transfer_fact, said jsonb) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    IF fact.step = 'difference_reported' THEN
        INSERT INTO line_standing (transfer_id, line, lender_id, borrower_id, outstanding, differs)
        SELECT DISTINCT fact.transfer_id, r ->> 'line', fact.lender_id, fact.borrower_id, 0, true
        FROM jsonb_array_elements(said -> 'recounts') r
        ON CONFLICT (transfer_id, line) DO UPDATE SET differs = true;
    ELSIF fact.step = 'difference_settled' THEN
        UPDATE line_standing s SET differs = false
        WHERE s.transfer_id = fact.transfer_id AND s.differs
          AND (NOT said ? 'lines' OR said -> 'lines' ? s.line);
    END IF;
END
$$;

CREATE FUNCTION note_standing(fact transfer_fact, moves boolean) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    by_account jsonb := '{}';
    outward boolean;
BEGIN
    IF moves THEN
        SELECT jsonb_object_agg(p.account, p.change) INTO by_account
        FROM (
            SELECT q.account, sum(q.change) AS change FROM custody_posting q
            WHERE q.transfer_id = fact.transfer_id AND q.seq = fact.seq GROUP BY q.account
        ) p;
    END IF;
    outward := by_account ? 'transit_out';
    UPDATE transfer_standing s SET
        seq = fact.seq,
        head = fact.digest,
        agreement = CASE fact.step WHEN 'written' THEN fact.agreement ELSE s.agreement END,
        lender_signed = fact.step <> 'written' AND (s.lender_signed OR fact.step = 'signed' AND fact.side = 'lender'),
        borrower_signed =
            fact.step <> 'written' AND (s.borrower_signed OR fact.step = 'signed' AND fact.side = 'borrower'),
        acknowledged = fact.step = 'acknowledged' OR s.acknowledged AND NOT outward,
        differing = CASE
            WHEN fact.step IN ('difference_reported', 'difference_settled') THEN (
                SELECT count(*) FROM line_standing l WHERE l.transfer_id = fact.transfer_id AND l.differs)
            ELSE s.differing END,
        moved_on = CASE WHEN moves THEN greatest(s.moved_on, fact.on_day) ELSE s.moved_on END,
        dispatched_on = CASE fact.step WHEN 'dispatched' THEN greatest(s.dispatched_on, fact.on_day)
                        ELSE s.dispatched_on END,
        received_on = CASE fact.step WHEN 'received' THEN least(s.received_on, fact.on_day) ELSE s.received_on END,
        sent_back_on = CASE fact.step WHEN 'sent_back' THEN greatest(s.sent_back_on, fact.on_day)
                       ELSE s.sent_back_on END,
        reconciled_on = CASE
            WHEN fact.step = 'reconciled' THEN fact.on_day
            WHEN moves OR fact.step = 'difference_reported' THEN NULL
            ELSE s.reconciled_on END,
        closed_on = CASE fact.step WHEN 'closed' THEN fact.on_day ELSE s.closed_on END,
        withdrawn_on = CASE fact.step WHEN 'withdrawn' THEN fact.on_day ELSE s.withdrawn_on END,
        collection = s.collection + coalesce((by_account ->> 'collection')::int, 0),
        packed = s.packed + coalesce((by_account ->> 'packed')::int, 0),
        transit_out = s.transit_out + coalesce((by_account ->> 'transit_out')::int, 0),
        borrower = s.borrower + coalesce((by_account ->> 'borrower')::int, 0),
        transit_back = s.transit_back + coalesce((by_account ->> 'transit_back')::int, 0),
        returned = s.returned + coalesce((by_account ->> 'returned')::int, 0),
        retained = s.retained + coalesce((by_account ->> 'retained')::int, 0),
        passed_on = s.passed_on + coalesce((by_account ->> 'passed_on')::int, 0),
        consumed = s.consumed + coalesce((by_account ->> 'consumed')::int, 0),
        lost = s.lost + coalesce((by_account ->> 'lost')::int, 0)
    WHERE s.transfer_id = fact.transfer_id;
END
$$;

-- The sums balance, whoever wrote the postings.
CREATE FUNCTION check_postings_balance() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT FROM new_postings GROUP BY transfer_id, seq, line HAVING sum(change) <> 0) THEN
        RAISE EXCEPTION 'the postings of a movement do not sum to zero'
            USING ERRCODE = 'integrity_constraint_violation', TABLE = TG_TABLE_NAME,
                  CONSTRAINT = 'custody_posting_balanced';
    END IF;
    RETURN NULL;
END
$$;
CREATE TRIGGER custody_posting_balanced AFTER INSERT ON custody_posting
    REFERENCING NEW TABLE AS new_postings FOR EACH STATEMENT EXECUTE FUNCTION check_postings_balance();

-- What follows from the facts is written by the triggers above, and by nobody's hand.
CREATE FUNCTION refuse_other_hands() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF pg_trigger_depth() < 2 THEN
        RAISE EXCEPTION '% follows from the facts', TG_TABLE_NAME
            USING ERRCODE = 'restrict_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = 'custody_follows_from_facts';
    END IF;
    RETURN NULL;
END
$$;
CREATE TRIGGER custody_posting_by_facts BEFORE INSERT ON custody_posting
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_other_hands();
CREATE TRIGGER custody_balance_by_facts BEFORE INSERT OR UPDATE OR DELETE ON custody_balance
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_other_hands();
CREATE TRIGGER transfer_standing_by_facts BEFORE INSERT OR UPDATE OR DELETE ON transfer_standing
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_other_hands();
CREATE TRIGGER line_standing_by_facts BEFORE INSERT OR DELETE ON line_standing
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_other_hands();
-- A due date is reckoned by the calendar of the pure module, and written down by the application.
CREATE TRIGGER line_standing_counted_by_facts BEFORE UPDATE OF transfer_id, line, lender_id, borrower_id,
    outstanding, differs ON line_standing FOR EACH STATEMENT EXECUTE FUNCTION refuse_other_hands();

CREATE FUNCTION keep_ledger() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is kept', TG_TABLE_NAME
        USING ERRCODE = 'restrict_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = 'custody_ledger_kept';
END
$$;
CREATE TRIGGER transfer_fact_kept BEFORE UPDATE OR DELETE ON transfer_fact
    FOR EACH STATEMENT EXECUTE FUNCTION keep_ledger();
CREATE TRIGGER custody_posting_kept BEFORE UPDATE OR DELETE ON custody_posting
    FOR EACH STATEMENT EXECUTE FUNCTION keep_ledger();
DO $$
DECLARE
    kept text;
BEGIN
    FOREACH kept IN ARRAY ARRAY[
        'transfer_fact', 'custody_posting', 'custody_balance', 'transfer_standing', 'line_standing'
    ] LOOP
        EXECUTE format('CREATE TRIGGER %I BEFORE TRUNCATE ON %I FOR EACH STATEMENT EXECUTE FUNCTION refuse_truncate()',
                       kept || '_not_truncated', kept);
    END LOOP;
END
$$;
