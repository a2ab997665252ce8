"""Looking after institutions that have news: their events get their places, and their webhooks a job each."""

from datetime import UTC, datetime, timedelta
from typing import Final

import structlog
from sqlalchemy import Engine

from service.actions import webhooks
from service.store import news
from service.store.session import ANONYMOUS, open_session

AT_ONCE: Final = 200
#: What went wrong with one institution is tried again then, and keeps no other waiting.
TRY_AGAIN: Final = timedelta(seconds=30)
_log = structlog.get_logger("traybridge.worker")


def dispatch(engine: Engine) -> bool:
    """Look after some institutions; whether there may be more at once.

    What was taken is gone when all of it has been looked after: if this worker dies meanwhile, another does it again,
    and finds that some of it is done.
    """
    with open_session(engine, ANONYMOUS) as taking:
        taken, institutions = news.take(taking, AT_ONCE)
        for institution_id in institutions:
            try:
                with open_session(engine, institution_id) as session:
                    webhooks.call_on(session, institution_id)
                    session.commit()
            except Exception:
                _log.exception("dispatch_failed", institution_id=institution_id)
                news.note(taking, institution_id, datetime.now(UTC) + TRY_AGAIN)
        taking.commit()
    return taken == AT_ONCE
