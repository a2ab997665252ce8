"""An institution at its terminal: what a person with curl and a key does, in the words of a test."""

from typing import Any
from uuid import uuid4

import requests
from members import Member


class At:
    """One institution that calls a running service. Every call says what it expects to be answered."""

    def __init__(self, address: str, member: Member) -> None:
        self.address, self.member = address, member

    def call(self, method: str, path: str, expect: int, **more: Any) -> requests.Response:
        headers = self.member.headers | more.pop("headers", {})
        response = requests.request(method, self.address + path, headers=headers, timeout=60, **more)
        assert response.status_code == expect, response.text
        return response

    def get(self, path: str) -> Any:
        return self.call("GET", path, 200).json()

    def publish(self, code: str, visibility: str, content: dict[str, Any]) -> str:
        """Publish a storage system from its first draft; its id."""
        cover = {"code": code, "name": code, "visibility": visibility}
        system = self.call("POST", "/v1/storage-systems", 201, json=cover).headers["Location"]
        draft = self.call("POST", f"{system}/revisions", 201, json={"content": content})
        version = {"If-Match": draft.headers["ETag"]}
        self.call("POST", f"{draft.headers['Location']}/publication", 200, headers=version)
        return system.rsplit("/", 1)[1]

    def step(self, transfer: str, step: str, expect: int = 201, **said: Any) -> Any:
        """Add the next fact of a transfer, under a key of its own."""
        headers = {"Idempotency-Key": uuid4().hex}
        body = {"step": step, "by": f"Registrar of {self.member.code}"} | said
        return self.call("POST", f"{transfer}/facts", expect, json=body, headers=headers).json()
