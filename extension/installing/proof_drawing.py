"""A small drawing, kept as text, on which a fresh installation proves that it can move a dart.

The block is invented: half a bodice front with one waist dart, to go to the side seam. What must
come of it is worked out here by school geometry, with none of the code that drafts.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Iterable
from xml.etree import ElementTree

from drafting_core.text.figures import decimal_number
from drafting_core.text.lengths import place_in_words, told_length
from drafting_core.text.words import _

_NAMESPACE = "{urn:dartswing:1}"
_CLOSE_MM = 1e-6

#: Numbers of the drawing below, in mm: the apex, the ends of the dart's mouth (the first on the
#: part with the centre, which stays), the ends of the side seam and the mark beside it.
_APEX = 95 + 260j
_MOUTH = (80 + 400j, 110 + 400j)
_SIDE_SEAM = (240 + 210j, 230 + 390j)
_TARGET = 236.5 + 273j

PROOF_DRAWING = """<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg"
     xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"
     width="300mm" height="450mm" viewBox="0 0 300 450">
  <g id="front" inkscape:label="Front">
    <path id="front-outline" inkscape:label="outline" fill="none" stroke="#000"
          d="M 0,80 L 0,400 L 80,400 L 95,260 L 110,400 L 230,390 L 240,210
             C 200,205 175,150 180,40 L 70,0 C 60,50 30,80 0,80 Z"/>
    <circle id="front-apex" inkscape:label="apex" cx="95" cy="260" r="2"/>
    <circle id="front-target" inkscape:label="target" cx="236.5" cy="273" r="2"/>
    <circle id="front-neckline" inkscape:label="seam neckline" cx="42.5" cy="58.75" r="2"/>
    <circle id="front-shoulder" inkscape:label="seam shoulder" cx="125" cy="20" r="2"/>
    <circle id="front-armhole" inkscape:label="seam armhole" cx="193" cy="164" r="2"/>
    <circle id="front-side" inkscape:label="seam side seam" cx="232" cy="354" r="2"/>
    <circle id="front-waist" inkscape:label="seam waist" cx="40" cy="400" r="2"/>
    <circle id="front-centre" inkscape:label="seam centre front" cx="0" cy="240" r="2"/>
  </g>
</svg>
"""  # not read by drafters


#: The turn that closes the dart, and the angle of it.
_TURN = (_MOUTH[0] - _APEX) / (_MOUTH[1] - _APEX)
PROOF_ANGLE = math.degrees(abs(cmath.phase(_TURN)))


def has_result(drawing: str) -> bool:
    """Tell whether a drawing holds a result layer with a stitch line and a cut line."""
    parts = {name for name, _data in _parts(drawing)}
    return {"stitch-line", "cut-line"} <= parts


def what_differs(drawing: str) -> str:
    """Return in one sentence what is not as expected in the moved drawing, or an empty string."""
    if not has_result(drawing):
        return _("There is no finished piece in the drawing that came back.")
    data = dict(_parts(drawing))
    cap, stitch_line = _points(data.get("cap", "")), _points(data["stitch-line"])
    if len(cap) < 2 or _APEX in (cap[0], cap[-1]):
        return _("There is no dart in the piece that came back.")
    angle = math.degrees(abs(cmath.phase((cap[0] - _APEX) / (cap[-1] - _APEX))))
    if abs(angle - PROOF_ANGLE) > _CLOSE_MM:
        return _("The dart is {angle} wide and should be {expected}.").format(
            angle=f"{decimal_number(angle, 6)}°",
            expected=f"{decimal_number(PROOF_ANGLE, 6)}°",
        )
    for expected in (*expected_mouth(), _turned(_SIDE_SEAM[1]), _MOUTH[0]):
        miss = min(abs(point - expected) for point in stitch_line)
        if miss > _CLOSE_MM:
            return _("A corner that should be at {place} is {miss} away.").format(
                place=place_in_words(expected, 6), miss=told_length(miss, 6)
            )
    return ""


def expected_mouth() -> tuple[complex, complex]:
    """Return the ends of the new mouth, in mm: where the cut is, on the part that stays and turned.

    The cut is at the foot of the mark on the side seam; everything below it turns about the apex
    until the old dart is closed.
    """
    start, along = _SIDE_SEAM[0], _SIDE_SEAM[1] - _SIDE_SEAM[0]
    share = ((_TARGET - start) * along.conjugate()).real / abs(along) ** 2
    foot = start + share * along
    return foot, _turned(foot)


def _turned(point: complex) -> complex:
    return _APEX + (point - _APEX) * _TURN


def _parts(drawing: str) -> Iterable[tuple[str, str]]:
    """Return the parts of the result layers with their path data."""
    try:
        root = ElementTree.fromstring(drawing.encode("utf-8"))
    except ElementTree.ParseError:
        return []
    return [
        (str(thing.get(f"{_NAMESPACE}part")), thing.get("d") or "")
        for layer in root.iter("{http://www.w3.org/2000/svg}g")
        if layer.get(f"{_NAMESPACE}result")
        for thing in layer.iter()
    ]


def _points(path_data: str) -> list[complex]:
    """Return the points of absolute path data, handles included."""
    numbers = [float(text) for text in re.findall(r"-?\d+\.?\d*(?:e-?\d+)?", path_data)]
    return [complex(*pair) for pair in zip(numbers[::2], numbers[1::2], strict=False)]
