"""The page of the builder's question in a real browser: without scripts, by keyboard alone, on a phone."""

import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from live_service import live_service
from members import enter
from published import of_width, publish
from sqlalchemy import Engine
from webdriver import CHROMIUM, DRIVER, ENTER, TAB, Browser, browser

pytestmark = pytest.mark.skipif(
    not (CHROMIUM and DRIVER),
    reason="No Chromium here to look at pages with: apt-get install chromium chromium-driver (.ci/run does).",
)
PHONE, DESK = (375, 812), (1200, 900)
QUESTION = "/build?width=19 in&depth=16 1/2 in&height=3 in&count=60"


@pytest.fixture
def address(database: str, engine: Engine) -> Iterator[str]:
    owner = enter(engine, "ambleford", "Ambleford Museum of Natural History").id
    publish(engine, owner, "close", "Close cabinets with an unusually long name for their size", of_width(480))
    with live_service(database) as found:
        yield found


@pytest.fixture
def phone() -> Iterator[Browser]:
    with browser(*PHONE, scripts=False) as window:
        yield window


def kept(window: Browser, name: str) -> None:
    """Keep a picture for people to look at, where SCREENSHOTS names a folder."""
    if folder := os.environ.get("SCREENSHOTS"):
        (Path(folder) / f"{name}.png").write_bytes(window.screenshot())


def test_the_question_is_asked_and_answered_by_keyboard_alone_and_without_scripts(
    address: str, phone: Browser
) -> None:
    phone.open(f"{address}/build")
    order = []
    for _ in range(4):
        phone.press(TAB)
        order.append(phone.focused())
    assert [step["id"] for step in order[2:]] == ["width", "depth"], "after the two links of the header"
    phone.write("16 1/2 in")
    phone.press(TAB)
    phone.write("3 in")
    phone.open(f"{address}/build")
    for _ in range(3):
        phone.press(TAB)
    for size in ("19 in", "16 1/2 in", "3 in"):
        phone.write(size)
        phone.press(TAB)
    assert phone.focused()["name"] == "summary", "the trays open by keyboard too"
    phone.press(ENTER)
    phone.press(TAB)
    assert phone.focused()["id"] == "tray_width"
    for _ in range(4):
        phone.press(TAB)
    assert phone.focused()["id"] == "count"
    phone.press(TAB)
    assert phone.focused()["text"] == "Who would take it?"
    phone.press(ENTER)
    assert phone.texts("#answer-heading") == ["0 of 1 published systems take it as it is"]
    assert phone.texts("#answer .answers b") == ["1/8 in narrower (3.175 mm)"]


def test_a_suggestion_is_followed_by_keyboard_and_keeps_its_promise(address: str, phone: Browser) -> None:
    phone.open(address + QUESTION)
    for _ in range(30):
        phone.press(TAB)
        if phone.focused()["text"] == "Ask with this size":
            break
    phone.press(ENTER)
    assert phone.texts("#answer-heading") == ["1 of 1 published systems take it as it is"]


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
@pytest.mark.parametrize("path", ["/build", QUESTION, "/build?width=19 lb&depth=1"], ids=["form", "answer", "faults"])
def test_nothing_has_to_be_scrolled_sideways(address: str, size: tuple[int, int], path: str) -> None:
    with browser(*size) as window:
        window.open(address + path)
        kept(window, f"build-{size[0]}-{re.sub('[^a-z]+', '-', path)[:20]}")
        assert window.run("return document.documentElement.scrollWidth") <= size[0]
        for control in window.rects("form input, form select, form button"):
            if control["width"]:
                assert control["x"] >= 0
                assert control["x"] + control["width"] <= size[0]
                assert control["height"] >= 44, "large enough for a thumb"


def test_the_drawing_is_to_scale_in_the_answer(address: str, phone: Browser) -> None:
    phone.open(address + QUESTION)
    front, above = phone.rects("figure rect.drawer")
    # 482.6 mm wide, 76.2 mm high and 419.1 mm deep, to within a pixel of what is shown.
    assert front["width"] == pytest.approx(above["width"], abs=1)
    assert front["height"] / front["width"] == pytest.approx(76.2 / 482.6, abs=0.01)
    assert above["height"] / above["width"] == pytest.approx(419.1 / 482.6, abs=0.01)
    assert front["width"] > 120, "large enough to see on a phone"


def test_the_browser_finds_nothing_to_complain_about(address: str) -> None:
    with browser(*DESK) as window:
        window.open(address + QUESTION)
        loaded = window.run("return performance.getEntriesByType('resource').map(one => new URL(one.name).origin)")
        assert set(loaded) == {address}
        assert window.run("return getComputedStyle(document.querySelector('main')).maxWidth") != "none"
        contrast = window.run("return getComputedStyle(document.body).fontSize")
        assert contrast == "16px"
