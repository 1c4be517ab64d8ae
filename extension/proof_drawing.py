"""A small drawing, kept as text, on which a fresh installation proves that it can move a dart.

The block is invented: half a bodice front with one waist dart, to go to the side seam.
"""

from __future__ import annotations

from xml.etree import ElementTree

_NAMESPACE = "{urn:dartswing:1}"

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
"""


def has_result(drawing: str) -> bool:
    """Tell whether a drawing holds a result layer with a stitch line and a cut line."""
    try:
        root = ElementTree.fromstring(drawing.encode("utf-8"))
    except ElementTree.ParseError:
        return False
    for layer in root.iter("{http://www.w3.org/2000/svg}g"):
        if layer.get(f"{_NAMESPACE}result"):
            parts = {thing.get(f"{_NAMESPACE}part") for thing in layer.iter()}
            return {"stitch-line", "cut-line"} <= parts
    return False
