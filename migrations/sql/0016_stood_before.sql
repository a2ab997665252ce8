-- What stood before changes were noted is noted as it stands, under the number of this transaction, which is past every
-- place that somebody may have read to. What has been noted since stays as it is. One institution after the other, as
-- the policies want it: they bind the owner of the tables too.
DO $$
DECLARE
    me uuid;
BEGIN
    FOR me IN SELECT id FROM institution ORDER BY id LOOP
        PERFORM set_config('app.institution_id', me::text, true);
        INSERT INTO thing_change (viewer_id, kind, thing_id, institution_id, changed_in, changed_at, removed)
        SELECT DISTINCT v, kind, id, me, pg_current_xact_id()::text::bigint, updated_at, false
        FROM (
            SELECT 'institution', id, updated_at, ARRAY['00000000-0000-0000-0000-000000000000'::uuid]
            FROM institution WHERE id = me
            UNION ALL
            SELECT 'storage_system', id, updated_at, viewers_of_system(s) FROM storage_system s
            WHERE institution_id = me
            UNION ALL
            SELECT 'consignment', id, updated_at, institution_id || offered_to FROM consignment
            WHERE institution_id = me
            UNION ALL
            SELECT 'transfer', id, updated_at, ARRAY[lender_id, borrower_id] FROM transfer
            WHERE coalesce(lender_id, borrower_id) = me
        ) AS stands (kind, id, updated_at, viewers), unnest(viewers) v
        WHERE v IS NOT NULL
        ON CONFLICT (viewer_id, kind, thing_id) DO NOTHING;
    END LOOP;
    PERFORM set_config('app.institution_id', '', true);
END
$$;
