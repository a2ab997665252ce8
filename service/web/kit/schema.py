"""The two kinds of schema: ``Strict`` for bodies and answers, ``Parameters`` for query strings."""

from collections.abc import Callable
from typing import Any, ClassVar, TypeVar, cast

import marshmallow
from marshmallow import ValidationError, missing
from werkzeug.datastructures import MultiDict

from service.web.kit.fields import Field, List


class Strict(marshmallow.Schema):
    """Refuses what it does not know, and leaves out of answers what is not known.

    ``makes`` may name the dataclass to build from what was read. A field is ``null`` in an answer only when it was
    declared with ``allow_none=True``.
    """

    makes: ClassVar[Callable[..., Any] | None] = None
    error_messages = {  # noqa: RUF012
        "type": "Write an object, in curly brackets.",
        "unknown": "There is no such field here.",
    }

    class Meta:
        unknown = marshmallow.RAISE

    @marshmallow.post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Any:
        data = {name: value for name, value in data.items() if not isinstance(self.fields.get(name), Ignored)}
        maker = type(self).makes
        return data if maker is None else maker(**data)

    @marshmallow.post_dump
    def _leave_out_what_is_not_known(self, data: dict[str, Any], **_: Any) -> dict[str, Any]:
        may_be_null = {field.data_key or name for name, field in self.dump_fields.items() if field.allow_none}
        return {key: value for key, value in data.items() if value is not None or key in may_be_null}


class Ignored(Field):
    """A field of an answer that may come back with a change, and changes nothing."""

    def read(self, value: Any) -> Any:  # noqa: ARG002
        return missing

    def shape(self) -> dict[str, Any]:
        return {"readOnly": True, "description": "as it was answered; changes nothing"}


Schema = TypeVar("Schema", bound=type[Strict])


def takes_back(answer: type[Strict]) -> Callable[[Schema], Schema]:
    """Let a change be sent in the form of the answer: read it, change one figure, send it back."""

    def widened(change: Schema) -> Schema:
        names = answer._declared_fields.keys() - change._declared_fields.keys()
        ignored: dict[str, Any] = {name: Ignored(allow_none=True, load_only=True) for name in sorted(names)}
        facts = {"__doc__": change.__doc__, "__module__": change.__module__, **ignored}
        return cast("Schema", type(change.__name__, (change,), facts))

    return widened


class Parameters(Strict):
    """What a query string may say. A parameter that takes a list may be repeated; the others may not."""

    error_messages = {"unknown": "There is no such query parameter here."}  # noqa: RUF012

    def load_query(self, query: MultiDict[str, str]) -> Any:
        """The values behind a query string.

        :raises ValidationError: with the faults of all parameters.
        """
        by_key = {field.data_key or name: field for name, field in self.load_fields.items()}
        twice = {
            key: ["Give this parameter once."]
            for key, texts in query.lists()
            if len(texts) > 1 and not isinstance(by_key.get(key), List)
        }
        try:
            loaded = self.load({key: _from_texts(by_key.get(key), texts) for key, texts in query.lists()})
        except ValidationError as error:
            raise ValidationError(twice | error.messages_dict) from error
        if twice:
            raise ValidationError(twice)
        return loaded


def _from_texts(field: object, texts: list[str]) -> object:
    if isinstance(field, List):
        return [_from_text(field.inner, text) for text in texts]
    return _from_text(field, texts[0])


def _from_text(field: object, text: str) -> object:
    return field.from_text(text) if isinstance(field, Field) else text
