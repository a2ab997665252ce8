"""Signatures after the Standard Webhooks specification (v1: HMAC-SHA256 under a shared secret).

What is signed is the message's id, the time of this attempt and the body, byte for byte as it is sent. During a
rotation a message carries one signature for each secret that is still good, and the receiver may know either.
"""

import base64
import binascii
import hmac
import secrets
from collections.abc import Sequence
from hashlib import sha256

SECRET_PREFIX = "whsec_"  # noqa: S105  # how every secret begins, and no secret
#: From the specification: between 24 and 64 bytes of randomness.
LEAST_KEY_BYTES = 24
MOST_KEY_BYTES = 64
_NEW_KEY_BYTES = 32


class NotASecret(ValueError):
    """What was given is no signing secret. The message never repeats it."""


def new_secret() -> str:
    """A secret nobody has seen before, as it is shown to its owner, once."""
    return SECRET_PREFIX + base64.b64encode(secrets.token_bytes(_NEW_KEY_BYTES)).decode()


def key_of(secret: str) -> bytes:
    """The bytes that a written secret stands for.

    :raises NotASecret: unless it is ``whsec_`` and then 24 to 64 bytes in base64.
    """
    try:
        key = base64.b64decode(secret.removeprefix(SECRET_PREFIX), validate=True)
    except (binascii.Error, ValueError):
        key = b""
    if not secret.startswith(SECRET_PREFIX) or not LEAST_KEY_BYTES <= len(key) <= MOST_KEY_BYTES:
        raise NotASecret(
            f"A signing secret is {SECRET_PREFIX} and then {LEAST_KEY_BYTES} to {MOST_KEY_BYTES} bytes in base64."
        )
    return key


def signature(secret: str, message_id: str, sent_at: int, body: bytes) -> str:
    """One signature, as it stands in the header. ``sent_at`` is in whole seconds since 1970 (UTC)."""
    signed = b".".join((message_id.encode(), str(sent_at).encode(), body))
    return "v1," + base64.b64encode(hmac.new(key_of(secret), signed, sha256).digest()).decode()


def signed_headers(good: Sequence[str], message_id: str, sent_at: int, body: bytes) -> dict[str, str]:
    """The three headers of one attempt, signed with every secret that is good at the moment, the newest first.

    ``message_id`` stays the same over all attempts, so that a receiver knows what it has already seen.

    :raises ValueError: without a secret, or for an id with a point, which would let one message pass as another.
    """
    if not good or "." in message_id:
        raise ValueError("A message is signed with at least one secret, and its id holds no point.")
    return {
        "webhook-id": message_id,
        "webhook-timestamp": str(sent_at),
        "webhook-signature": " ".join(signature(secret, message_id, sent_at, body) for secret in good),
    }
