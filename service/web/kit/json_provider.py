"""JSON by orjson: strict when reading (no NaN, no half surrogates), quick when writing."""

from typing import Any

import orjson
from flask import Response
from flask.json.provider import JSONProvider


class OrjsonProvider(JSONProvider):
    """Flask's JSON, read and written by orjson."""

    def dumps(self, obj: Any, **_: Any) -> str:
        return orjson.dumps(obj).decode()

    def loads(self, s: str | bytes, **_: Any) -> Any:
        return orjson.loads(s)

    def response(self, *args: Any, **kwargs: Any) -> Response:
        obj = self._prepare_response_obj(args, kwargs)
        return Response(orjson.dumps(obj), mimetype="application/json")
