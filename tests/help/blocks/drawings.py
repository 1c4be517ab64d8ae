"""A plain marked front as SVG text, to be spoiled or varied by tests."""

from __future__ import annotations

from typing import Any

from lxml import etree

NS = {
    "svg": "http://www.w3.org/2000/svg",
    "inkscape": "http://www.inkscape.org/namespaces/inkscape",
    "dartswing": "urn:dartswing:1",
}
OUTLINE_DATA = (
    "M 0,80 L 0,400 L 80,400 L 95,260 L 110,400 L 230,390 L 240,210 "
    "C 200,205 175,150 180,40 L 70,0 C 60,50 30,80 0,80 Z"
)
SEAMS = {
    "neckline": (42.5, 58.75),
    "shoulder": (125, 20),
    "armhole": (193, 164),
    "side seam": (232, 354),
    "waist": (40, 400),
    "centre front": (0, 240),
}


def circle(label: str, x: float, y: float, more: str = "") -> str:
    return f'<circle inkscape:label="{label}" cx="{x}" cy="{y}" r="2" {more}/>'


def outline(data: str = OUTLINE_DATA, more: str = "") -> str:
    return f'<path id="block" inkscape:label="outline" d="{data}" {more}/>'


def seam_marks() -> str:
    return "".join(circle(f"seam {name}", x, y) for name, (x, y) in SEAMS.items())


APEX = circle("apex", 95, 260)
TARGET = circle("target", 236.5, 273)


def page(body: str, attributes: str = 'width="300mm" height="450mm" viewBox="0 0 300 450"') -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:dartswing="urn:dartswing:1" '
        f'xmlns:inkscape="{NS["inkscape"]}" {attributes}>{body}</svg>'
    )


def layer(body: str, label: str = "Front", more: str = "") -> str:
    return f'<g inkscape:groupmode="layer" inkscape:label="{label}" {more}>{body}</g>'


def marked_front(
    outline_text: str | None = None,
    apex: str = APEX,
    target: str = TARGET,
    seams: str | None = None,
    more: str = "",
) -> str:
    """The front in a layer of its own, with every part to be replaced at will."""
    text = outline() if outline_text is None else outline_text
    names = seam_marks() if seams is None else seams
    return layer(f"{text}{apex}{target}{names}{more}")


def parts(root: Any, part: str) -> list[Any]:
    return list(root.iterfind(f".//*[@dartswing:part='{part}']", NS))


def root_of(text: str) -> Any:
    return etree.fromstring(text.encode("utf-8"))
