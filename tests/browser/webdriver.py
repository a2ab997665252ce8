"""Debian's Chromium, without a screen, driven over plain WebDriver (W3C) HTTP."""

import base64
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import requests
from live_service import free_port

CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
#: Nothing of the browser's own business leaves this machine.
SWITCHES = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)
TAB, ENTER, SHIFT = "\ue004", "\ue007", "\ue008"
_ELEMENT = "element-6066-11e4-a52e-4f735466cecf"
START_WITHIN_S = 20


class Browser:
    """One window. Elements are found by CSS selectors."""

    def __init__(self, session: str) -> None:
        self.session = session

    def call(self, method: str, path: str, **body: object) -> Any:
        answer = requests.request(
            method, f"{self.session}/{path}", json=body if method == "POST" else None, timeout=60
        )
        value = answer.json()["value"]
        assert answer.ok, value
        return value

    def open(self, address: str) -> None:
        self.call("POST", "url", url=address)

    def press(self, *keys: str) -> None:
        """Press keys one after the other, whatever has the focus."""
        strokes = [{"type": stroke, "value": key} for key in keys for stroke in ("keyDown", "keyUp")]
        self.call("POST", "actions", actions=[{"type": "key", "id": "keyboard", "actions": strokes}])

    def write(self, text: str) -> None:
        self.press(*text)

    def focused(self) -> dict[str, str | None]:
        """What has the focus: its tag, id and text."""
        element = self.call("GET", "element/active")[_ELEMENT]
        told = {name: self.call("GET", f"element/{element}/attribute/{name}") for name in ("id", "href")}
        return told | {name: self.call("GET", f"element/{element}/{name}") for name in ("name", "text")}

    def texts(self, selector: str) -> list[str]:
        found = self.call("POST", "elements", using="css selector", value=selector)
        return [self.call("GET", f"element/{one[_ELEMENT]}/text") for one in found]

    def rects(self, selector: str) -> list[dict[str, float]]:
        found = self.call("POST", "elements", using="css selector", value=selector)
        return [self.call("GET", f"element/{one[_ELEMENT]}/rect") for one in found]

    def run(self, script: str) -> Any:
        return self.call("POST", "execute/sync", script=script, args=[])

    def screenshot(self) -> bytes:
        return base64.b64decode(self.call("GET", "screenshot"))


@contextmanager
def browser(width: int, height: int, *, scripts: bool = True) -> Iterator[Browser]:
    """A window of this size, with nothing remembered from before. ``scripts`` of false: pages may run none."""
    port = free_port()
    with (
        tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile,
        subprocess.Popen(
            [str(DRIVER), f"--port={port}"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        ) as driver,
    ):
        try:
            address = f"http://127.0.0.1:{port}"
            _wait_until_ready(address)
            made = requests.post(
                f"{address}/session", json=_wanted(profile, width, height, scripts), timeout=60
            ).json()["value"]
            assert "sessionId" in made, made
            session = f"{address}/session/{made['sessionId']}"
            yield Browser(session)
            requests.delete(session, timeout=30)
        finally:
            driver.terminate()


def _wanted(profile: str, width: int, height: int, scripts: bool) -> dict[str, object]:
    options: dict[str, object] = {
        "binary": CHROMIUM,
        "args": [*SWITCHES, f"--user-data-dir={profile}"],
        # A phone's width is less than a window can have: the page is told of a device instead.
        "mobileEmulation": {"deviceMetrics": {"width": width, "height": height, "pixelRatio": 1, "mobile": False}},
    }
    if not scripts:
        options["prefs"] = {"profile.managed_default_content_settings.javascript": 2}
    return {"capabilities": {"alwaysMatch": {"browserName": "chrome", "goog:chromeOptions": options}}}


def _wait_until_ready(address: str) -> None:
    give_up = time.monotonic() + START_WITHIN_S
    while time.monotonic() < give_up:
        try:
            if requests.get(f"{address}/status", timeout=2).json()["value"]["ready"]:
                return
        except requests.RequestException:
            time.sleep(0.1)
    raise RuntimeError("chromedriver did not get ready.")
