"""What goes one day: an operation says so in the contract, and in two headers of each of its answers.

``Deprecation`` (RFC 9745) tells since when nothing new should be built on it, ``Sunset`` (RFC 8594) from when on it
may be gone. Until then it answers as ever.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from email.utils import format_datetime

from werkzeug.datastructures import Headers


@dataclass(frozen=True, slots=True)
class Going:
    """Since when an operation is deprecated, from when on it may be gone, and what takes its place.

    :raises ValueError: when it would be gone before anybody was told (RFC 9745, section 4).
    """

    deprecated_on: date
    sunset_on: date | None = None
    instead: str | None = None

    def __post_init__(self) -> None:
        if self.sunset_on is not None and self.sunset_on < self.deprecated_on:
            raise ValueError("An operation is deprecated first and goes later.")

    @property
    def deprecation(self) -> str:
        """The header's value: a date as structured fields write it (RFC 9651), in seconds since 1970."""
        return f"@{int(_midnight(self.deprecated_on).timestamp())}"

    @property
    def sunset(self) -> str | None:
        """The header's value: a date as HTTP writes it."""
        return None if self.sunset_on is None else format_datetime(_midnight(self.sunset_on), usegmt=True)

    def in_words(self) -> str:
        """The sentences for the contract."""
        words = f"Deprecated since {self.deprecated_on}: build nothing new on it."
        words += f" It may be gone from {self.sunset_on} on." if self.sunset_on else ""
        return words + (f" Use `{self.instead}` instead." if self.instead else "")

    def tell(self, headers: Headers) -> None:
        """Write it into the headers of an answer, with where the words stand."""
        headers["Deprecation"] = self.deprecation
        headers.add("Link", '</>; rel="deprecation"; type="text/html"')
        if self.sunset is not None:
            headers["Sunset"] = self.sunset


def _midnight(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=UTC)
