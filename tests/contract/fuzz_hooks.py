"""What the outside fuzzer cannot write by itself: an archive is made of whatever bytes it invents."""

from typing import Any

import schemathesis


@schemathesis.serializer("application/zip")
def as_bytes(_context: Any, value: Any) -> bytes:
    return value if isinstance(value, bytes) else str(value).encode()
