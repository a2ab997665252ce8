"""Logs: one line of JSON for each event, with the id of the request it belongs to.

Keys, bodies and query strings never go in.
"""

import logging
import sys
from typing import Any

import structlog

_SHARED: list[Any] = [
    structlog.contextvars.merge_contextvars,
    structlog.processors.add_log_level,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
]
#: Without local variables: a frame of the kit may hold a key.
_TRACEBACK = structlog.tracebacks.ExceptionDictTransformer(show_locals=False)


def configure(*, as_json: bool, level: int = logging.INFO) -> None:
    """Send every log of the process, the libraries' included, to standard error, as JSON or for a person."""
    last: list[Any] = [structlog.dev.ConsoleRenderer(colors=sys.stderr.isatty())]
    if as_json:
        last = [structlog.processors.ExceptionRenderer(_TRACEBACK), structlog.processors.JSONRenderer()]
    handler = logging.StreamHandler()
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=_SHARED,
            processors=[structlog.stdlib.ProcessorFormatter.remove_processors_meta, *last],
        )
    )
    logging.basicConfig(handlers=[handler], level=level, force=True)
    structlog.configure(
        processors=[*_SHARED, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
        logger_factory=structlog.stdlib.LoggerFactory(),
        cache_logger_on_first_use=True,
    )
