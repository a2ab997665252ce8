"""Running the application under gunicorn, in a process of its own."""

import errno
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Callable, Mapping
from contextlib import suppress

STOP_WITHIN_S = 15
#: Ctrl-C, a signal to stop, and a terminal that is shut.
STOPPING = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
#: What is wrong with the host and not with the port.
_WRONG_HOST = (errno.EADDRNOTAVAIL, socket.EAI_NONAME, socket.EAI_AGAIN)


class CannotServe(RuntimeError):
    """The service cannot listen where it should; the message is one sentence that says why."""


def require_free(host: str, port: int) -> None:
    """Refuse at once, and in words, an address that cannot be listened on.

    :raises CannotServe: when the port is in use, or this user may not have it, or there is no such address.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            other = "--host" if error.errno in _WRONG_HOST else "--port"
            raise CannotServe(
                f"Cannot listen on {host} port {port}: {error.strerror}; choose another with {other}."
            ) from error


def serve(
    environment: Mapping[str, str],
    *,
    host: str,
    port: int,
    workers: int,
    threads: int,
    when_ready: Callable[[], None] = lambda: None,
) -> int:
    """Serve until Ctrl-C or a signal to stop; the exit code is gunicorn's.

    ``when_ready`` is called as soon as the address answers.
    """
    at = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
    command = [
        *(sys.executable, "-m", "gunicorn", "service.app:from_environment()", "--bind", at),
        *("--workers", str(workers), "--threads", str(threads), "--worker-class", "gthread"),
        *("--graceful-timeout", "10", "--max-requests", "20000", "--max-requests-jitter", "2000"),
        # The longest that it takes: what is longer is answered by the server itself, and not in the contract's words.
        *("--limit-request-line", "8190"),
        *("--log-level", "warning", "--no-control-socket"),
    ]
    # A session of its own: Ctrl-C reaches us alone, and we tell gunicorn in our own time.
    server = subprocess.Popen(command, env={**os.environ, **environment}, start_new_session=True)  # noqa: S603
    before = {name: signal.signal(name, lambda *_: server.terminate()) for name in STOPPING}
    try:
        if _answers(host, port, server):
            when_ready()
        return server.wait()
    finally:
        _stop(server)
        for name, handler in before.items():
            signal.signal(name, handler)


def _answers(host: str, port: int, server: "subprocess.Popen[bytes]") -> bool:
    """Wait until the address answers; false when the server ended before."""
    reachable = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)  # noqa: S104 - compared, not bound
    while server.poll() is None:
        with suppress(OSError), socket.create_connection((reachable, port), timeout=1):
            return True
        with suppress(subprocess.TimeoutExpired):
            server.wait(0.1)
    return False


def _stop(server: "subprocess.Popen[bytes]") -> None:
    server.terminate()
    try:
        server.wait(STOP_WITHIN_S)
    except subprocess.TimeoutExpired:
        server.kill()
        server.wait()
