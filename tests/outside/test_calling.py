"""Calls to others' servers, over real sockets: where they go, where they never go, and when they end."""

import shutil
import socket
import ssl
import time

import pytest
from outside_servers import certificate, other, plain

from service.outside.addresses import read_networks
from service.outside.calling import MOST_BYTES_READ, Caller, NoAnswer, Refused

HOME = read_networks("127.0.0.0/8")


def answering(*addresses: str):
    """A resolver that gives these addresses, and says how often it was asked."""

    def resolve(host: str, _port: int) -> list[str]:
        resolve.asked.append(host)
        return list(addresses)

    resolve.asked = []
    return resolve


def a_caller(*addresses: str, allowed=HOME, seconds: float = 5, **more) -> Caller:
    return Caller(allowed=allowed, seconds=seconds, resolver=answering(*addresses or ["127.0.0.1"]), **more)


def test_a_body_arrives_as_it_was_sent_and_the_answer_comes_back():
    with other(plain(200, b"thanks", Retry_After="7")) as there:
        answer = a_caller().post(f"http://hook.example:{there.port}/a?b=c", b'{"x":1}', {"webhook-id": "1"})
    assert (answer.status, answer.body, answer.cut, answer.is_success) == (200, b"thanks", False, True)
    assert answer.headers["retry-after"] == "7"
    ((path, headers, body),) = there.calls
    assert (path, body, headers["webhook-id"]) == ("/a?b=c", b'{"x":1}', "1")
    assert headers["host"] == f"hook.example:{there.port}"


def test_a_redirect_is_an_answer_and_nobody_goes_there():
    with other(plain(200)) as inside, other(plain(307, Location=f"http://127.0.0.1:{inside.port}/secret")) as there:
        answer = a_caller().post(f"http://hook.example:{there.port}/", b"", {})
    assert (answer.status, answer.is_success) == (307, False)
    assert len(there.calls) == 1
    assert inside.calls == []


@pytest.mark.parametrize(
    "address",
    ["127.0.0.1", "10.0.0.1", "169.254.169.254", "::1", "::ffff:127.0.0.1", "64:ff9b::7f00:1", "2002:7f00:1::"],
)
def test_one_private_address_among_public_ones_is_enough_to_refuse(address):
    caller = a_caller("193.0.6.139", address, allowed=())
    with pytest.raises(Refused, match="private or special"):
        caller.post("https://hook.example/", b"", {})


@pytest.mark.parametrize("host", ["127.1", "0x7f.1", "2130706433", "localhost", "[::1]", "127.0.0.1"])
def test_no_spelling_of_home_gets_past_the_real_resolver(host):
    with other(plain(200)) as there, pytest.raises(Refused):
        Caller().post(f"https://{host}:{there.port}/", b"", {})
    assert there.calls == []


def test_a_name_that_changes_its_mind_is_asked_once_and_held_to_its_first_answer():
    """Between judging and connecting the name comes to mean another server, which must hear nothing."""
    with other(plain(200)) as judged, other(plain(200), "127.0.0.2", judged.port) as rebound:
        answers = iter([["127.0.0.1"], ["127.0.0.2"]])
        caller = Caller(allowed=read_networks("127.0.0.1/32"), seconds=5, resolver=lambda *_: next(answers))
        assert caller.post(f"http://hook.example:{judged.port}/", b"", {}).status == 200
        assert (len(judged.calls), rebound.calls) == (1, [])
        with pytest.raises(Refused):
            caller.post(f"http://hook.example:{judged.port}/", b"", {})
    assert rebound.calls == []


def test_when_the_first_address_is_dead_the_next_judged_one_is_tried():
    with other(plain(204), "127.0.0.1") as there:
        answer = a_caller("127.0.0.3", "127.0.0.1").post(f"http://hook.example:{there.port}/", b"", {})
    assert answer.status == 204


def test_unencrypted_calls_go_to_the_operators_own_networks_only():
    with pytest.raises(Refused, match="https"):
        a_caller("193.0.6.139").target("http://hook.example/")
    with pytest.raises(Refused, match="https"):
        a_caller("127.0.0.1", "193.0.6.139").target("http://hook.example/")
    assert a_caller("193.0.6.139", allowed=()).target("https://hook.example/").addresses == ("193.0.6.139",)


@pytest.mark.parametrize(
    "url",
    [
        "", "hook.example", "//hook.example/", "ftp://hook.example/", "file:///etc/hosts", "https:///x", "https://:80/",
        "https://hook.example:0/", "https://hook.example:99999/", "https://me:pw@hook.example/", "https://a..b/",
        "https://hook.example/#x", "https://hook.example/\r\nX: y", "https://hook.example/ö", "https://ho ok/",
        "https://hook.example\\@evil.example/", "https://[fe80::1%25eth0]/", "https://" + "a" * 2_000,
    ],
)  # fmt: skip
def test_what_is_no_plain_web_address_is_refused_before_anybody_is_asked(url):
    caller = a_caller()
    with pytest.raises(Refused):
        caller.target(url)
    assert caller.resolver.asked == []


def test_a_name_without_an_address_is_refused_in_words():
    with pytest.raises(Refused, match="no address behind nowhere"):
        Caller().target("https://nowhere.invalid/")


def test_no_more_than_64_kilobytes_of_an_answer_are_read():
    with other(plain(500, b"x" * 1_000_000)) as there:
        answer = a_caller().post(f"http://hook.example:{there.port}/", b"", {})
    assert (len(answer.body), answer.cut) == (MOST_BYTES_READ, True)


def test_a_server_that_feeds_its_answer_drop_by_drop_is_left_in_time():
    def dripping(handler):
        handler.send_response(200)
        handler.end_headers()
        for _ in range(100):
            handler.wfile.write(b"x")
            time.sleep(0.05)

    begun = time.monotonic()
    with other(dripping) as there, pytest.raises(NoAnswer, match="Timeout"):
        a_caller(seconds=0.4).post(f"http://hook.example:{there.port}/", b"", {})
    assert time.monotonic() - begun < 2


def test_a_server_that_says_nothing_or_nonsense_is_no_answer():
    with socket.create_server(("127.0.0.1", 0)) as mute:
        url = f"http://hook.example:{mute.getsockname()[1]}/"
        with pytest.raises(NoAnswer):
            a_caller(seconds=0.2).post(url, b"", {})
    with pytest.raises(NoAnswer, match="ConnectionRefused"):
        a_caller().post(url, b"", {})
    with other(lambda handler: handler.wfile.write(b"nonsense\r\n\r\n")) as there, pytest.raises(NoAnswer):
        a_caller().post(f"http://hook.example:{there.port}/", b"", {})


needs_openssl = pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl makes the certificate")


@needs_openssl
def test_the_certificate_is_that_of_the_name_although_the_call_goes_to_an_address(tmp_path):
    cert, key = certificate(tmp_path, "hook.example")
    serving = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    serving.load_cert_chain(cert, key)
    trusting = ssl.create_default_context(cafile=str(cert))
    with other(plain(200, b"x" * 100_000), tls=serving) as there:
        url = f"https://hook.example:{there.port}/"
        answer = a_caller(tls=trusting).post(url, b"body", {})
        with pytest.raises(NoAnswer, match="certificate"):
            a_caller(tls=trusting).post(url.replace("hook", "other"), b"body", {})
        with pytest.raises(NoAnswer, match="certificate"):
            a_caller().post(url, b"body", {})
    assert (answer.status, len(answer.body)) == (200, MOST_BYTES_READ)
    assert there.names[:2] == ["hook.example", "other.example"]
    assert [body for _, _, body in there.calls] == [b"body"]
