"""Copies of artwork as they stand in a written file, read with lxml and arithmetic alone."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from lxml import etree

from tests.help.contract.contract_model import parse_path

SVG = "{http://www.w3.org/2000/svg}"
OURS = "{urn:dartswing:1}"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
XLINK = "{http://www.w3.org/1999/xlink}href"
Matrix = np.ndarray


class Copy(NamedTuple):
    """A copied object.

    Attributes:
        element: the copy.
        original: the id of its original.
        sector: the number in its sector's id.
        motion: the map of its sector, all moves together.
        within: the map from its own coordinates to those of its sector.
    """

    element: etree._Element
    original: str
    sector: str
    motion: Matrix
    within: Matrix


def matrix_of(text: str | None) -> Matrix:
    """A transform's matrix, by the rules of SVG."""
    total = np.eye(3)
    for name, arguments in re.findall(r"(\w+)\s*\(([^)]*)\)", text or ""):
        n = [float(word) for word in re.split(r"[\s,]+", arguments.strip())]
        one = np.eye(3)
        if name == "matrix":
            one[:2] = [[n[0], n[2], n[4]], [n[1], n[3], n[5]]]
        elif name == "translate":
            one[0, 2], one[1, 2] = n[0], n[1] if len(n) > 1 else 0.0
        elif name == "scale":
            one[0, 0], one[1, 1] = n[0], n[-1]
        elif name == "rotate":
            c, s = math.cos(math.radians(n[0])), math.sin(math.radians(n[0]))
            one[:2, :2] = [[c, -s], [s, c]]
            if len(n) == 3:
                there, back = np.eye(3), np.eye(3)
                there[:2, 2], back[:2, 2] = n[1:], [-n[1], -n[2]]
                one = there @ one @ back
        else:
            raise AssertionError(name)
        total = total @ one
    return total


def to_root(element: etree._Element, until: etree._Element | None = None) -> Matrix:
    """The map from an element's coordinates to those around a group, or to the root's."""
    total = np.eye(3)
    current: etree._Element | None = element
    while current is not None and current is not until:
        total = matrix_of(current.get("transform")) @ total
        current = current.getparent()
    return total


def moved(matrix: Matrix, z: complex) -> complex:
    x, y, _one = matrix @ np.array([z.real, z.imag, 1.0])
    return complex(x, y)


def result_layers(root: etree._Element) -> list[etree._Element]:
    return [child for child in root if child.get(f"{OURS}result")]


def sector_groups(layer: etree._Element, part: str) -> list[etree._Element]:
    return [e for e in layer.iter(f"{SVG}g") if e.get(f"{OURS}part") == part]


def moves_of(group: etree._Element) -> list[etree._Element]:
    """The groups of a sector's moves, the first move first."""
    chain = [group]
    while "-" in chain[-1].get(f"{OURS}sector", ""):
        chain.append(chain[-1][0])
    return chain[::-1]


def clip_rings(group: etree._Element) -> list[list[tuple[complex, ...]]]:
    """The outlines by which a sector is cut, move by move, in the coordinates before each move."""
    root = group.getroottree().getroot()
    rings = []
    for move in moves_of(group):
        found = re.fullmatch(r"url\(#(.+)\)", move.get("clip-path", ""))
        assert found
        [clip] = root.xpath("//*[@id=$name]", name=found[1])
        assert clip.tag == f"{SVG}clipPath"
        assert clip.get("clipPathUnits") in (None, "userSpaceOnUse")
        assert not clip.get("transform")
        [path] = clip
        [(pieces, closed)] = parse_path(path.get("d"))
        assert closed
        rings.append(pieces)
    return rings


def copies(layer: etree._Element, part: str = "artwork") -> Iterator[Copy]:
    """Yield every copied object of a result that has an id of its own."""
    for group in sector_groups(layer, part):
        first = moves_of(group)[0]
        motion = to_root(first)
        prefix = f"{group.get('id')}-"
        for element in first.iter():
            identity = str(element.get("id") or "")
            if element is not first and identity.startswith(prefix):
                within = to_root(element, first)
                original = identity.removeprefix(prefix)
                yield Copy(element, original, group.get("id", ""), motion, within)
