"""Identifiers: made here and not by the database, so that no two servers need to agree on a sequence."""

import secrets
import time
from uuid import UUID

_RANDOM_BITS = 74


def new_id() -> UUID:
    """A UUID of version 7 (RFC 9562, section 5.7): it begins with the millisecond, so that new rows lie together."""
    milliseconds = time.time_ns() // 1_000_000
    random = secrets.randbits(_RANDOM_BITS)
    high, low = random >> 62, random & ((1 << 62) - 1)
    return UUID(int=milliseconds << 80 | 0x7 << 76 | high << 64 | 0b10 << 62 | low)
