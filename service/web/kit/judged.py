"""A list whose items are judged one by one, so that a bad one does not spoil the others."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from marshmallow import ValidationError

from service.web.kit.fields import List


@dataclass(frozen=True, slots=True)
class Judged:
    """One item as it was read, or what is wrong with it: marshmallow's tree of messages."""

    value: Any = None
    messages: object = None

    @property
    def is_good(self) -> bool:
        return self.messages is None


class JudgedList(List):
    """Describes itself as the list of its items; what is read is a ``Judged`` for each."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:  # noqa: ARG002
        if not isinstance(value, list):
            raise self.make_error("invalid")
        if not self.min_items <= len(value) <= self.max_items:
            raise ValidationError(f"This has {len(value)} items; {self.min_items} to {self.max_items} are taken.")
        return tuple(self._judged(each) for each in value)

    def _judged(self, item: Any) -> Judged:
        try:
            return Judged(self.inner.deserialize(item))
        except ValidationError as error:
            return Judged(messages=error.messages)
