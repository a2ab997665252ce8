"""The headers of answers, as the contract describes them. Each stands once, and answers refer to it."""

from typing import Any

Json = dict[str, Any]

_ADDRESS: Json = {"type": "string", "format": "uri-reference", "maxLength": 2000}
_SECONDS: Json = {"type": "integer", "minimum": 1, "maximum": 3600}
_SHORT: Json = {"type": "string", "maxLength": 200}


def _described(description: str, schema: Json, example: object, *, required: bool = True) -> Json:
    return {"description": description, "required": required, "schema": schema, "example": example}


HEADERS: dict[str, Json] = {
    "XRequestId": _described(
        "The id of this request, which is in the log as well. Name it when you ask about an answer.",
        {"type": "string", "minLength": 8, "maxLength": 64},
        "0190f3a06b1e7c559a443f2f6d1f0c11",
    ),
    "CacheControl": _described("Who may keep the answer, and for how long.", _SHORT, "private, no-cache"),
    "ContentDisposition": _described("The name to save it under.", _SHORT, "attachment; filename=lots.zip"),
    "ETag": _described("The version of what is answered.", {"type": "string", "maxLength": 24}, '"7"'),
    "ETagIfThere": _described(
        "The version of what is answered, where it has one.",
        {"type": "string", "maxLength": 24},
        '"1"',
        required=False,
    ),
    "Location": _described(
        "The address of what was made.", _ADDRESS, "/v1/consignments/019ab000-0000-7000-8000-0000000000c1"
    ),
    "LocationOfProgress": _described(
        "The address of what tells how far it is.", _ADDRESS, "/v1/operations/019ab000-0000-7000-8000-0000000000f2"
    ),
    "RetryAfter": _described("Seconds after which to ask again.", _SECONDS, 5),
    "RetryAfterIfUnderWay": _described(
        "Seconds after which to ask again, while it is under way.", _SECONDS, 2, required=False
    ),
    "Link": _described(
        "The first and the next page (RFC 8288).",
        {"type": "string", "maxLength": 4000},
        '</v1/consignments>; rel="first", </v1/consignments?cursor=WzEsI>; rel="next"',
        required=False,
    ),
    "Vary": _described("The request headers that chose this form of the answer.", _SHORT, "Accept"),
    "IdempotencyReplayed": _described(
        "true when this is the answer of an earlier request under the same Idempotency-Key.",
        {"type": "string", "enum": ["true"]},
        "true",
        required=False,
    ),
    "WWWAuthenticate": _described("How to say who asks.", _SHORT, 'Bearer realm="traybridge"'),
    "AcceptPost": _described("The media type that is read here.", _SHORT, "application/json"),
    "Deprecation": _described(
        "Since when this operation is deprecated, in seconds since 1970 (RFC 9745).",
        {"type": "string", "pattern": "^@[0-9]+$", "maxLength": 20},
        "@1798761600",
    ),
    "Sunset": _described(
        "From when on this operation may be gone (RFC 8594).", _SHORT, "Thu, 01 Jul 2027 00:00:00 GMT"
    ),
}


def header(name: str) -> Json:
    """The reference to one of the headers."""
    if name not in HEADERS:
        raise KeyError(name)
    return {"$ref": f"#/components/headers/{name}"}
