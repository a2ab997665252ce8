"""What can go wrong with a request, in the words of the house. Each error carries what an answer needs to say."""

from dataclasses import dataclass


class TraybridgeError(Exception):
    """Something that a person asked for cannot be done; ``message`` is a sentence for that person."""

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


class NotFound(TraybridgeError):
    """There is no such thing, or the asker may not know of it: the two are told apart for nobody."""

    def __init__(self, what: str, key: object = None) -> None:
        super().__init__(f"There is no {what} {key}." if key is not None else f"There is no such {what}.")
        self.what = what
        self.key = key


class NotAllowed(TraybridgeError):
    """The asker sees the thing, and may not do this to it."""


class Invalid(TraybridgeError):
    """One value cannot be taken. ``field`` is its name in the request, with dots between levels."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a request. ``pointer`` leads to it (a JSON pointer into the body, RFC 6901)."""

    pointer: str
    detail: str


class Faults(TraybridgeError):
    """Several values cannot be taken, or cannot stand together; all of them at once."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__(" ".join(fault.detail for fault in faults))
        self.faults = faults


class Conflict(TraybridgeError):
    """The request is sound and contradicts what is already there. ``kind`` is a stable word for programs, and so are
    the names of ``members``, which say more of it.
    """

    def __init__(self, kind: str, message: str, **members: object) -> None:
        super().__init__(message)
        self.kind = kind
        self.members = members


class StaleVersion(TraybridgeError):
    """Somebody else changed the thing since the asker read it."""

    def __init__(self, what: str, sent: int, current: int) -> None:
        super().__init__(
            f"This {what} has been changed since you read it: it is at version {current}, and you sent {sent}."
            " Read it again, and make your change to what it says now."
        )
        self.what = what
        self.sent = sent
        self.current = current


class Busy(TraybridgeError):
    """Others held what was needed for too long; the same request may well succeed in a moment."""


class TooManyAtOnce(TraybridgeError):
    """The asker has as much under way as it may; in ``retry_after_s`` seconds there may be room."""

    def __init__(self, message: str, retry_after_s: int) -> None:
        super().__init__(message)
        self.retry_after_s = retry_after_s
