"""Who asks."""

from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID


class Scope(StrEnum):
    """What a key allows. None of them includes another: a key that reads and writes carries both."""

    READ = "read"
    WRITE = "write"
    ADMIN = "admin"


@dataclass(frozen=True, slots=True)
class Actor:
    """The institution behind a request and what its key allows; without a key, nobody in particular."""

    institution_id: UUID | None = None
    institution_code: str | None = None
    scopes: frozenset[str] = frozenset()
    key_id: UUID | None = None

    @property
    def is_anonymous(self) -> bool:
        return self.key_id is None

    def may(self, scope: str) -> bool:
        return scope in self.scopes


ANYBODY = Actor()
