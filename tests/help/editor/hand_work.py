"""Drawings as people at the editor have them: in a design of ten layers, reshaped, traced."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from drafting_core.plane.curves import Cubic, Line, Segment
from extension.document.path_data import parse, path_data

ROOT = Path(__file__).parents[3]
SAMPLE = ROOT / "sample_svgs" / "front_one_path.svg"
SVG = "{http://www.w3.org/2000/svg}"
DARTSWING = "{urn:dartswing:1}"
NODE_TYPES = "{http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd}nodetypes"

#: What stands on the designer's other layers; the names are as invented as the theatre.
_LAYERS = {
    "Sketch, Lamplighter coat": '<path d="M 60,60 C 90,140 30,250 80,380" style="fill:none;'
    'stroke:#b45309;stroke-width:1.5"/><path d="M 10,70 L 40,120" style="stroke:#b45309"/>',
    "Old version": '<g transform="rotate(7.25)"><rect x="20" y="90" width="60" height="30"/></g>',
    "Trim ideas": '<circle cx="130" cy="130" r="14" style="fill:#0f766e;opacity:0.35"/>'
    '<circle cx="150" cy="150" r="9" style="fill:#0f766e;opacity:0.35"/>',
    "Fabric swatch": '<rect id="swatch" x="205" y="20" width="40" height="40" fill="#93c5fd"/>'
    '<use xlink:href="#swatch" x="0" y="48"/>',
    "Notes for Act Two": '<text x="10" y="30" style="font-size:7px"><tspan x="10" y="30">gather'
    '</tspan><tspan x="10" y="39">the sleeve, not the yoke</tspan></text>',
    "Measurements": '<path d="M 250,100 V 380" style="stroke:#444;stroke-dasharray:4,3"/>',
    "Symmetry": '<path d="M 0,0 V 420" style="stroke:#c026d3;stroke-width:0.3"/>',
    "Scan": '<image x="0" y="0" width="20" height="20" xlink:href="data:image/png;base64,'
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJ"
    'RU5ErkJggg=="/>',
    "Props": '<polygon points="10,400 40,400 25,430" transform="matrix(1,0.2,0,1,3,-4)"/>',
    "Colour": '<ellipse cx="60" cy="300" rx="30" ry="12" style="fill:url(#fade)"/>',
}
_HIDDEN, _LOCKED = {"Old version", "Scan", "Props"}, {"Symmetry", "Scan", "Measurements"}
_FADE = (
    '<defs id="defs-fade"><linearGradient id="fade"><stop offset="0" stop-color="#f59e0b"/>'
    '<stop offset="1" stop-color="#fff7ed"/></linearGradient></defs>'
)


def designers_drawing() -> str:
    """Return the sample front among ten layers of a design, some hidden, some locked."""
    layers = []
    for number, (name, body) in enumerate(_LAYERS.items()):
        style = ' style="display:none"' if name in _HIDDEN else ""
        lock = ' sodipodi:insensitive="true"' if name in _LOCKED else ""
        layers.append(
            f'<g id="design-{number}" inkscape:groupmode="layer" inkscape:label="{name}"{style}'
            f"{lock}>{body}</g>"
        )
    text = SAMPLE.read_text(encoding="utf-8")
    names = (
        '<svg xmlns:xlink="http://www.w3.org/1999/xlink" '
        'xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd" '
    )
    # Half of the layers below the block, half above it.
    first = text.index("<g ")
    text = text[:first] + _FADE + "".join(layers[:5]) + text[first:]
    return text.replace("</svg>", "".join(layers[5:]) + "</svg>").replace("<svg ", names, 1)


def as_the_node_tool_writes(segments: list[Segment]) -> tuple[str, str]:
    """Return a closed path as the editor writes it after an edit: relative, its node types beside.

    Returns:
        The path data, with the editor's eight digits, and the types of its nodes.
    """

    def pair(z: complex) -> str:
        return f"{z.real:.8g},{z.imag:.8g}"

    parts = [f"m {pair(segments[0].start)}"]
    for number, segment in enumerate(segments):
        origin = segment.start
        if isinstance(segment, Line) and number == len(segments) - 1:
            break  # closing the path draws it
        if isinstance(segment, Line):
            parts.append(f"l {pair(segment.end - origin)}")
        else:
            handles = (segment.control1, segment.control2, segment.end)
            parts.append("c " + " ".join(pair(z - origin) for z in handles))
    return " ".join(parts) + " z", "c" * (len(segments) + 1)


def reshaped(result: Any, bulge: float = 6.0) -> list[Segment]:
    """Give the lower side seam of a result a curve, as the hobbyist does with the node tool.

    Args:
        result: the root of a drawing with one result, in mm; its layer is then also dragged.
        bulge: how far the curve's handles lie outside the straight seam, in mm.

    Returns:
        The new stitch line.
    """
    (layer,) = [group for group in result if group.get(f"{DARTSWING}result")]
    (stitch,) = _parts(layer, "stitch-line")
    (cap,) = _parts(layer, "cap")
    ends = parse(cap.get("d"))[0].segments
    lower = max((ends[0].start, ends[-1].end), key=lambda z: z.imag)
    (point,) = {
        end
        for leg in _parts(layer, "dart-leg")
        for s in parse(leg.get("d"))[0].segments
        for end in (s.start, s.end)
        if min(abs(end - z) for z in (ends[0].start, ends[-1].end)) > 1.0
    }
    segments = list(parse(stitch.get("d"))[0].segments)
    (seam,) = [
        number
        for number, segment in enumerate(segments)
        if min(abs(segment.start - lower), abs(segment.end - lower)) < 1e-6
        and min(abs(segment.start - point), abs(segment.end - point)) > 1.0
    ]
    straight = segments[seam]
    along = straight.end - straight.start
    outward = -1j * along / abs(along) * bulge
    segments[seam] = Cubic(
        straight.start,
        straight.start + along / 3 + outward,
        straight.start + 2 * along / 3 + outward,
        straight.end,
    )
    data, types = as_the_node_tool_writes(segments)
    stitch.set("d", data)
    stitch.set(NODE_TYPES, types)
    # The editor gives the layer a transform when all of it is dragged.
    layer.set("transform", "translate(31.750001,-12.25)")
    return list(parse(data)[0].segments)


def traced_drawing(nodes: int = 400) -> str:
    """Return the sample front as a digitizer has it: the same outline in hundreds of nodes."""
    text = SAMPLE.read_text(encoding="utf-8")
    found = re.search(r'(<path id="front-block"[^>]*? d=")([^"]*)(")', text)
    if found is None:
        raise ValueError("the sample has another outline")
    segments = parse(found[2])[0].segments
    lengths = [segment.length() for segment in segments]
    counts = [max(1, round(nodes * length / sum(lengths))) for length in lengths]
    counts[lengths.index(max(lengths))] += nodes - sum(counts)
    fine = [
        part
        for segment, count in zip(segments, counts, strict=True)
        for part in _in_parts(segment, count)
    ]
    return text[: found.start(2)] + path_data(fine, closed=True) + text[found.end(2) :]


def _in_parts(segment: Segment, count: int) -> list[Segment]:
    """Cut a segment in parts of equal parameter; the nodes lie exactly on it."""
    parts: list[Segment] = []
    rest = segment
    for left in range(count, 1, -1):
        first, rest = rest.split(1 / left)
        parts.append(first)
    return [*parts, rest]


def _parts(layer: Any, name: str) -> list[Any]:
    return [thing for thing in layer.iter() if thing.get(f"{DARTSWING}part") == name]
