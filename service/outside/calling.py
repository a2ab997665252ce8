"""One careful call to somebody else's server.

Whoever registers a web address decides where this service connects to, so: encrypted unless the operator allows the
network; every address behind the name is judged, once, and the connection goes to one of those and nowhere else; no
redirect is followed; little of the answer is read; and the whole call has one deadline.
"""

import http.client
import io
import re
import socket
import ssl
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeAlias
from urllib.parse import urlsplit

from service.outside.addresses import Network, is_in, is_public

Resolver: TypeAlias = Callable[[str, int], Sequence[str]]
"""From a host's name and a port to all its addresses. It may raise ``OSError`` when there are none."""

#: The specification of Standard Webhooks asks for 15 to 30 seconds.
SECONDS = 20.0
MOST_BYTES_READ = 64 * 1024
LONGEST_URL = 2_000
_PLAIN = re.compile(r"[!-~]+", re.ASCII)
_HOST = re.compile(r"[a-z0-9_-]+(\.[a-z0-9_-]+)*", re.ASCII)


class Refused(ValueError):
    """This service does not call there; the message says why, for whoever registered the address."""


class NoAnswer(Exception):
    """The call was made and no answer came in time: nobody there, a broken certificate, silence."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back: at most ``MOST_BYTES_READ`` of the body. Show none of it to whoever registered the address."""

    status: int
    headers: Mapping[str, str]
    body: bytes
    cut: bool

    @property
    def is_success(self) -> bool:
        """2xx, and nothing else; a redirect is a failure."""
        return 200 <= self.status < 300


@dataclass(frozen=True, slots=True)
class Target:
    """A web address taken apart, with the addresses behind its name, all of them judged."""

    host: str
    port: int
    encrypted: bool
    path: str
    addresses: tuple[str, ...]


def resolve(host: str, port: int) -> Sequence[str]:
    """All addresses of a name as this machine's resolver has them. The resolver's own time limits apply."""
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    return list(dict.fromkeys(str(entry[4][0]) for entry in found))


@dataclass(frozen=True, slots=True)
class Caller:
    """How calls are made. ``allowed`` are networks of the operator's own, which may also be called unencrypted."""

    allowed: tuple[Network, ...] = ()
    seconds: float = SECONDS
    resolver: Resolver = resolve
    tls: ssl.SSLContext = field(default_factory=ssl.create_default_context)

    def target(self, url: str) -> Target:
        """Judge a web address, both when it is registered and before each call.

        :raises Refused: when its form, its scheme or any address behind its name is not to be called.
        """
        host, port, encrypted, path = _taken_apart(url)
        try:
            addresses = tuple(self.resolver(host, port))
        except (OSError, UnicodeError) as error:
            raise Refused(f"There is no address behind {host}.") from error
        if not addresses:
            raise Refused(f"There is no address behind {host}.")
        own = [is_in(address, self.allowed) for address in addresses]
        if not all(mine or is_public(address) for mine, address in zip(own, addresses, strict=True)):
            raise Refused(f"{host} leads into a private or special network, where this service calls nobody.")
        if not encrypted and not all(own):
            raise Refused("The address must begin with https://, so that nobody on the way can read or change it.")
        return Target(host, port, encrypted, path, addresses)

    def post(self, url: str, body: bytes, headers: Mapping[str, str]) -> Answer:
        """Send a body and take the answer, whatever it is. Redirects are answers like any other.

        :raises Refused: as ``target`` does.
        :raises NoAnswer: when none came within the seconds.
        """
        target = self.target(url)
        until = time.monotonic() + self.seconds
        connection = _Connection(target, self.tls, until)
        try:
            connection.request("POST", target.path, body, dict(headers))
            return _read(connection.getresponse())
        except ssl.SSLCertVerificationError as error:
            raise NoAnswer(f"The certificate of {target.host} does not hold: {error.verify_message}.") from error
        except (OSError, http.client.HTTPException) as error:
            raise NoAnswer(f"No answer from {target.host}: {type(error).__name__}.") from error
        finally:
            connection.hang_up()


def _read(response: http.client.HTTPResponse) -> Answer:
    body = response.read(MOST_BYTES_READ + 1)
    headers = {name.lower(): value for name, value in response.getheaders()}
    return Answer(response.status, headers, body[:MOST_BYTES_READ], len(body) > MOST_BYTES_READ)


def _taken_apart(url: str) -> tuple[str, int, bool, str]:
    if len(url) > LONGEST_URL or not _PLAIN.fullmatch(url):
        raise Refused(f"A web address here has at most {LONGEST_URL} characters, all of them plain ASCII.")
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError as error:
        raise Refused("This is no web address; write one such as https://collection.example/hook.") from error
    host = (parts.hostname or "").lower()
    if parts.scheme not in {"https", "http"} or not _is_host(host) or port == 0 or "\\" in url:
        raise Refused("This is no web address; write one such as https://collection.example/hook.")
    if "@" in parts.netloc or parts.fragment:
        raise Refused("The address must hold no name, password or part after “#”.")
    encrypted = parts.scheme == "https"
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    return host, port or (443 if encrypted else 80), encrypted, path


def _is_host(host: str) -> bool:
    return bool(_HOST.fullmatch(host)) or (":" in host and "%" not in host)


class _Connection(http.client.HTTPConnection):
    """Talks to addresses that were judged, while ``Host`` and the certificate keep to the name."""

    def __init__(self, target: Target, tls: ssl.SSLContext, until: float) -> None:
        super().__init__(target.host, target.port)
        self.default_port = 443 if target.encrypted else 80
        self._target, self._tls, self._until = target, tls, until
        self._line: socket.socket | None = None

    def connect(self) -> None:
        self._line = self._reached()
        if self._target.encrypted:
            self._line.settimeout(_left(self._until))
            self._line = self._tls.wrap_socket(self._line, server_hostname=self.host)
        self.sock = _Timed(self._line, self._until)

    def hang_up(self) -> None:
        """Close the line itself, which the answer may have been read from until now."""
        self.close()
        if self._line is not None:
            self._line.close()

    def _reached(self) -> socket.socket:
        """The first of the judged addresses that answers."""
        for last, address in enumerate(self._target.addresses, start=1 - len(self._target.addresses)):
            try:
                return socket.create_connection((address, self.port), timeout=_left(self._until))
            except OSError:
                if not last:
                    raise
        raise TimeoutError


class _Timed:
    """What ``http.client`` asks of a socket, over a line on which everything together ends in time, however slowly
    the other side feeds it.
    """

    def __init__(self, line: socket.socket, until: float) -> None:
        self._line, self._until = line, until

    def sendall(self, data: bytes) -> None:
        rest = memoryview(data)
        while rest:
            self._line.settimeout(_left(self._until))
            rest = rest[self._line.send(rest) :]

    def makefile(self, _mode: str) -> io.BufferedReader:
        return io.BufferedReader(_Heard(self._line, self._until))

    def close(self) -> None:
        """Nothing: the answer is still to be read when ``http.client`` lets go. ``hang_up`` closes the line."""


class _Heard(io.RawIOBase):
    def __init__(self, line: socket.socket, until: float) -> None:
        self._line, self._until = line, until

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        self._line.settimeout(_left(self._until))
        return self._line.recv_into(buffer)


def _left(until: float) -> float:
    left = until - time.monotonic()
    if left <= 0:
        raise TimeoutError
    return left
