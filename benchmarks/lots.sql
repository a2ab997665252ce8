-- A service with :lots lots in transfers of 20, six in ten of them home again. Loaded past the triggers and without
-- indexes, because what is measured is reading; run by the owner. :institutions take part, and the first of them lends
-- a tenth of everything.
CREATE TEMP TABLE t AS
SELECT i, md5('t' || i)::uuid AS id,
       md5('i' || CASE WHEN i % 10 = 0 THEN 0 ELSE 1 + i % (:institutions - 1) END)::uuid AS lender_id,
       md5('i' || (1 + (i * 7 + CASE WHEN 1 + (i * 7) % (:institutions - 1) = 1 + i % (:institutions - 1)
                                     THEN 1 ELSE 0 END) % (:institutions - 1)))::uuid AS borrower_id,
       DATE '2026-11-25' - (i * 31 % 900) AS sent,
       CASE WHEN i * 31 % 900 > 360 THEN 'returned' WHEN i % 10 = 9 THEN 'transit_out' ELSE 'borrower' END AS place
FROM generate_series(1, :lots / 20) i;
DELETE FROM t WHERE lender_id = borrower_id;
INSERT INTO institution (id, code, name) SELECT md5('i' || i)::uuid, 'inst-' || i, 'Institution ' || i
FROM generate_series(0, :institutions - 1) i;
INSERT INTO transfer (id, made_by, code, lender_id, borrower_id, kind, ending, content, updated_at)
SELECT id, lender_id, 'L-' || i, lender_id, borrower_id, 'loan', 'comes_back', '{}', now() FROM t;
CREATE TEMP TABLE l AS
SELECT t.*, n AS line, 'Taxon ' || lpad((t.i * 20 + n) * 7919::bigint % 4000 || '', 4, '0') AS taxon, 1 + n % 30 AS count
FROM t, generate_series(1, 20) n;
INSERT INTO transfer_line (transfer_id, key, position, lender_id, borrower_id, taxon, count, content)
SELECT id, line::text, line, lender_id, borrower_id, taxon, count, '{}' FROM l;
CREATE TEMP TABLE m AS
SELECT l.*, 4 AS seq, 'collection' AS source, 'packed' AS target, sent AS on_day FROM l
UNION ALL SELECT l.*, 5, 'packed', 'transit_out', sent FROM l
UNION ALL SELECT l.*, 6, 'transit_out', 'borrower', sent + 9 FROM l WHERE place <> 'transit_out'
UNION ALL SELECT l.*, 7, 'borrower', 'returned', sent + 300 FROM l WHERE place = 'returned';
INSERT INTO custody_posting (transfer_id, seq, line, account, change, on_day, lender_id, borrower_id)
SELECT id, seq, line::text, source, -count, on_day, lender_id, borrower_id FROM m
UNION ALL SELECT id, seq, line::text, target, count, on_day, lender_id, borrower_id FROM m;
INSERT INTO custody_balance (transfer_id, line, account, quantity, taxon, lender_id, borrower_id)
SELECT p.transfer_id, p.line, p.account, sum(p.change), min(l.taxon), p.lender_id, p.borrower_id
FROM custody_posting p JOIN transfer_line l ON l.transfer_id = p.transfer_id AND l.key = p.line
GROUP BY p.transfer_id, p.line, p.account, p.lender_id, p.borrower_id;
INSERT INTO custody_movement (transfer_id, seq, account, change, on_day, lender_id, borrower_id)
SELECT transfer_id, seq, account, sum(change), on_day, lender_id, borrower_id FROM custody_posting
GROUP BY transfer_id, seq, account, on_day, lender_id, borrower_id;
INSERT INTO transfer_standing (transfer_id, lender_id, borrower_id, seq, head, agreement, lender_signed,
                               borrower_signed, moved_on, dispatched_on, collection, transit_out, borrower, returned)
SELECT id, min(lender_id::text)::uuid, min(borrower_id::text)::uuid, 7, '', 'a', i % 97 <> 0, true, min(sent), min(sent),
       -sum(count), coalesce(sum(count) FILTER (WHERE place = 'transit_out'), 0),
       coalesce(sum(count) FILTER (WHERE place = 'borrower'), 0), coalesce(sum(count) FILTER (WHERE place = 'returned'), 0)
FROM l GROUP BY id, i;
INSERT INTO line_standing (transfer_id, line, lender_id, borrower_id, outstanding, differs, due_on)
SELECT id, line::text, lender_id, borrower_id, CASE place WHEN 'returned' THEN 0 ELSE count END, (i * 20 + line) % 211 = 0,
       sent + 340
FROM l;
INSERT INTO transfer_permit (transfer_id, id, lender_id, borrower_id, recorded_by, status, valid_until, content)
SELECT id, md5('p' || i)::uuid, lender_id, borrower_id, lender_id, 'Permit available', sent + 400,
       '{"kind": "Export Permit"}'
FROM t WHERE i % 5 = 0;
