"""Reads a drawing back: where each shape and each line of text stands on the sheet."""

import re
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from service.paper.svg import NAMESPACE, text_width

TAG = f"{{{NAMESPACE}}}"


@dataclass(frozen=True)
class Box:
    """A rectangle on the sheet; ``own`` is its size in the millimetres of its view."""

    left: float
    top: float
    right: float
    bottom: float
    role: str = ""
    text: str = ""
    own: tuple[float, ...] = ()
    view: str = ""

    def overlaps(self, other: "Box") -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def holds(self, other: "Box", give: float = 0.01) -> bool:
        return (
            self.left - give <= other.left
            and self.top - give <= other.top
            and other.right <= self.right + give
            and other.bottom <= self.bottom + give
        )


def parse(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 - drawn here a moment ago


def _moved(node: ET.Element, x: float, y: float, scale: float) -> tuple[float, float, float]:
    transform = node.get("transform", "")
    if node.tag == f"{TAG}g" and (shift := re.search(r"translate\((\S+) (\S+)\)", transform)):
        x, y = x + float(shift[1]) * scale, y + float(shift[2]) * scale
    if node.tag == f"{TAG}g" and (size := re.search(r"scale\((\S+)\)", transform)):
        scale *= float(size[1])
    return x, y, scale


def _walk(node: ET.Element, x: float = 0, y: float = 0, scale: float = 1, view: str = ""):
    x, y, scale = _moved(node, x, y, scale)
    view = node.get("id", view) if node.tag == f"{TAG}g" else view
    yield node, x, y, scale, view
    if node.tag != f"{TAG}pattern":
        for child in node:
            yield from _walk(child, x, y, scale, view)


def rects(svg: str, role: str = "", view: str = "") -> list[Box]:
    """The rectangles with this role, in views whose name ends so."""
    found = []
    for node, x, y, scale, where in _walk(parse(svg)):
        if node.tag == f"{TAG}rect" and role in node.get("class", "").split() and where.endswith(view):
            own = tuple(float(node.get(side, "0")) for side in ("x", "y", "width", "height"))
            left, top = x + own[0] * scale, y + own[1] * scale
            right, bottom = left + own[2] * scale, top + own[3] * scale
            found.append(Box(left, top, right, bottom, node.get("class", ""), own=own, view=where))
    return found


def lines(svg: str, role: str) -> list[tuple[float, float, float, float]]:
    """The ends of the lines with this role, in the millimetres of their views."""
    root = parse(svg)
    return [
        tuple(float(node.get(end)) for end in ("x1", "y1", "x2", "y2"))
        for node in root.iter(f"{TAG}line")
        if node.get("class") == role
    ]


def texts(svg: str) -> list[Box]:
    """The box that each line of text takes in the widest of its fonts."""
    found = []
    for node, x, y, scale, view in _walk(parse(svg)):
        if node.tag != f"{TAG}text":
            continue
        size = float(node.get("font-size")) * scale
        width = text_width(node.text or "", size, node.get("font-weight") == "bold")
        at_x, at_y = x + float(node.get("x")) * scale, y + float(node.get("y")) * scale
        back = {"start": 0.0, "middle": width / 2, "end": width}[node.get("text-anchor", "start")]
        box = (at_x - back, at_y - size * 0.75, at_x - back + width, at_y + size * 0.2)
        if "rotate" in node.get("transform", ""):
            box = (at_x - size * 0.75, at_y + back - width, at_x + size * 0.2, at_y + back)
        found.append(Box(*box, text=node.text or "", view=view))
    return found


def sheet(svg: str) -> Box:
    left, top, width, height = (float(part) for part in parse(svg).get("viewBox").split())
    return Box(left, top, left + width, top + height)
