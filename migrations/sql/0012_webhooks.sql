-- Who wants to be called when something happens, and what came of the calls. What is still to be sent are the events
-- behind `read_to`, and the few in webhook_retry: nothing is copied for a receiver that answers.

CREATE TABLE webhook (
    institution_id UUID NOT NULL,
    id UUID NOT NULL,
    url TEXT NOT NULL,
    description TEXT NOT NULL,
    types TEXT[] NOT NULL,
    enabled BOOLEAN NOT NULL,
    disabled_because TEXT,
    -- As it is, for it is what messages are signed with.
    secret TEXT NOT NULL,
    former_secret TEXT,
    former_until TIMESTAMP WITH TIME ZONE,
    version INTEGER NOT NULL DEFAULT 1,
    created_at TIMESTAMP WITH TIME ZONE NOT NULL DEFAULT now(),
    updated_at TIMESTAMP WITH TIME ZONE NOT NULL DEFAULT now(),
    CONSTRAINT webhook_pkey PRIMARY KEY (institution_id, id),
    CONSTRAINT webhook_institution FOREIGN KEY (institution_id) REFERENCES institution (id),
    CONSTRAINT webhook_url_form CHECK (length(url) BETWEEN 1 AND 2000),
    CONSTRAINT webhook_description_form CHECK (length(description) <= 1000),
    CONSTRAINT webhook_disabled_form CHECK (
        disabled_because IN ('gone', 'failing') AND NOT enabled OR disabled_because IS NULL
    ),
    CONSTRAINT webhook_secret_form CHECK (
        secret LIKE 'whsec_%' AND (former_secret IS NULL) = (former_until IS NULL)
    )
);
CREATE INDEX webhook_by_age ON webhook (institution_id, created_at, id);

CREATE TABLE webhook_progress (
    institution_id UUID NOT NULL,
    webhook_id UUID NOT NULL,
    read_to BIGINT NOT NULL,
    failures INTEGER NOT NULL DEFAULT 0,
    failing_since TIMESTAMP WITH TIME ZONE,
    resting_until TIMESTAMP WITH TIME ZONE,
    is_slow BOOLEAN NOT NULL DEFAULT false,
    last_delivered_at TIMESTAMP WITH TIME ZONE,
    wake_at TIMESTAMP WITH TIME ZONE,
    CONSTRAINT webhook_progress_pkey PRIMARY KEY (institution_id, webhook_id),
    CONSTRAINT webhook_progress_webhook FOREIGN KEY (institution_id, webhook_id)
        REFERENCES webhook (institution_id, id) ON DELETE CASCADE,
    CONSTRAINT webhook_progress_counts_form CHECK (read_to >= 0 AND failures >= 0)
);

CREATE TABLE webhook_retry (
    institution_id UUID NOT NULL,
    webhook_id UUID NOT NULL,
    event_id UUID NOT NULL,
    attempts INTEGER NOT NULL,
    due_at TIMESTAMP WITH TIME ZONE NOT NULL,
    CONSTRAINT webhook_retry_pkey PRIMARY KEY (institution_id, webhook_id, event_id),
    CONSTRAINT webhook_retry_webhook FOREIGN KEY (institution_id, webhook_id)
        REFERENCES webhook (institution_id, id) ON DELETE CASCADE,
    CONSTRAINT webhook_retry_event FOREIGN KEY (institution_id, event_id) REFERENCES event (institution_id, id),
    CONSTRAINT webhook_retry_attempts_form CHECK (attempts >= 0)
);
CREATE INDEX webhook_retry_by_due ON webhook_retry (institution_id, webhook_id, due_at);

CREATE TABLE webhook_attempt (
    institution_id UUID NOT NULL,
    id UUID NOT NULL,
    webhook_id UUID NOT NULL,
    event_id UUID NOT NULL,
    event_type TEXT COLLATE "C" NOT NULL,
    number INTEGER NOT NULL,
    outcome TEXT NOT NULL,
    status INTEGER,
    problem TEXT,
    took_ms INTEGER NOT NULL,
    next_at TIMESTAMP WITH TIME ZONE,
    created_at TIMESTAMP WITH TIME ZONE NOT NULL,
    CONSTRAINT webhook_attempt_pkey PRIMARY KEY (institution_id, id),
    CONSTRAINT webhook_attempt_webhook FOREIGN KEY (institution_id, webhook_id)
        REFERENCES webhook (institution_id, id) ON DELETE CASCADE,
    CONSTRAINT webhook_attempt_outcome_known CHECK (outcome IN ('delivered', 'failed', 'given_up')),
    CONSTRAINT webhook_attempt_told CHECK (number >= 1 AND took_ms >= 0 AND num_nonnulls(status, problem) = 1)
);
CREATE INDEX webhook_attempt_by_age ON webhook_attempt (institution_id, webhook_id, created_at, id);
CREATE INDEX webhook_attempt_of_event ON webhook_attempt (institution_id, event_id, webhook_id);

DO $$
DECLARE
    own text;
    is_mine CONSTANT text := '(institution_id = current_institution_id())';
BEGIN
    FOREACH own IN ARRAY ARRAY['webhook', 'webhook_progress', 'webhook_retry', 'webhook_attempt'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', own);
        EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', own);
        EXECUTE format('CREATE POLICY %I ON %I FOR SELECT USING %s', own || '_read', own, is_mine);
        EXECUTE format('CREATE POLICY %I ON %I FOR INSERT WITH CHECK %s', own || '_make', own, is_mine);
        EXECUTE format('GRANT SELECT, INSERT ON %I TO traybridge_app', own);
    END LOOP;
    FOREACH own IN ARRAY ARRAY['webhook', 'webhook_progress', 'webhook_retry'] LOOP
        EXECUTE format('CREATE POLICY %I ON %I FOR UPDATE USING %s', own || '_change', own, is_mine);
    END LOOP;
    FOREACH own IN ARRAY ARRAY['webhook', 'webhook_retry'] LOOP
        EXECUTE format('CREATE POLICY %I ON %I FOR DELETE USING %s', own || '_remove', own, is_mine);
    END LOOP;
END
$$;
-- The log of attempts may be thrown away when it is old, and never before.
CREATE POLICY webhook_attempt_remove ON webhook_attempt FOR DELETE USING (
    institution_id = current_institution_id() AND created_at < now() - interval '90 days'
);
GRANT DELETE, UPDATE (
    url, description, types, enabled, disabled_because, secret, former_secret, former_until, version, updated_at
) ON webhook TO traybridge_app;
GRANT UPDATE (read_to, failures, failing_since, resting_until, is_slow, last_delivered_at, wake_at)
    ON webhook_progress TO traybridge_app;
GRANT DELETE, UPDATE (attempts, due_at) ON webhook_retry TO traybridge_app;
GRANT DELETE ON webhook_attempt TO traybridge_app;

CREATE TRIGGER webhook_told AFTER UPDATE ON webhook
    FOR EACH ROW WHEN (NEW.disabled_because IS NOT NULL AND OLD.disabled_because IS NULL)
    EXECUTE FUNCTION tell_owner('webhook.disabled');
