"""Who asks."""

from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID

from service.core.errors import NotAllowed


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

    def own_institution(self) -> UUID:
        """The institution that this actor works for; only a key that carries one may come this far."""
        if self.institution_id is None:
            raise NotAllowed("This needs the key of an institution.")
        return self.institution_id

    def may(self, scope: str) -> bool:
        return scope in self.scopes


ANYBODY = Actor()
