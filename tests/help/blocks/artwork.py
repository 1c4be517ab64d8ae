"""Invented artwork for the sample blocks: one of everything that an illustrator may draw."""

from __future__ import annotations

import base64
import struct
import zlib
from pathlib import Path

SAMPLES = Path(__file__).parents[3] / "sample_svgs"


def picture_data(width: int, height: int) -> str:
    """A small picture of coloured squares, as it stands in a link."""
    rows = b"".join(
        b"\0" + bytes(v for x in range(width) for v in (40 * x % 256, 30 * y % 256, 120))
        for y in range(height)
    )

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + check

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    body = chunk(b"IDAT", zlib.compress(rows, 9))
    data = b"\x89PNG\r\n\x1a\n" + head + body + chunk(b"IEND", b"")
    return f"data:image/png;base64,{base64.b64encode(data).decode('ascii')}"


def _artwork() -> str:
    return f"""
  <style>
    #art .leaf > path {{ fill:#3f7d3a; stroke:none }}
    .stitches {{ fill:none; stroke:#7a1f2b; stroke-width:0.7; stroke-dasharray:3,1.5 }}
    g:first-child > .odd {{ stroke-width:9 }}
  </style>
  <defs>
    <linearGradient id="dawn" gradientUnits="userSpaceOnUse" x1="0" y1="120" x2="0" y2="330">
      <stop offset="0" stop-color="#fbe3b0"/><stop offset="1" stop-color="#7d4a9c"/>
    </linearGradient>
    <radialGradient id="disc"><stop offset="0" stop-color="#fff"/>
      <stop offset="1" stop-color="#c0392b"/></radialGradient>
    <pattern id="dots" width="9" height="9" patternUnits="userSpaceOnUse"
      patternTransform="rotate(30)"><circle cx="4" cy="4" r="2.2" fill="#2c3e80"/></pattern>
    <mask id="fade" maskContentUnits="objectBoundingBox"><rect width="1" height="1"
      fill="url(#grey)"/></mask>
    <linearGradient id="grey"><stop offset="0" stop-color="#fff"/>
      <stop offset="1" stop-color="#333"/></linearGradient>
    <filter id="blur" x="-0.3" y="-0.3" width="1.6" height="1.6">
      <feGaussianBlur stdDeviation="3"/></filter>
    <symbol id="button"><circle cx="5" cy="5" r="5" fill="#444"/>
      <circle cx="5" cy="5" r="1" fill="#fff"/></symbol>
  </defs>
  <g id="art" inkscape:groupmode="layer" inkscape:label="Art" style="display:inline">
    <defs id="own-defs"><clipPath id="window"><path id="pane"
      d="M 20,110 H 215 V 350 H 20 Z M 100,200 v 30 h 30 v -30 z" clip-rule="evenodd"/></clipPath>
    </defs>
    <g id="print" clip-path="url(#window)" opacity="0.8">
      <path id="sky" fill="url(#dawn)" d="M -40,90 H 300 V 370 H -40 Z"/>
      <rect id="spots" x="60" y="130" width="120" height="200" rx="12" fill="url(#dots)"/>
      <ellipse id="ball" cx="110" cy="260" rx="46" ry="38" fill="url(#disc)" mask="url(#fade)"/>
    </g>
    <g id="branch" class="leaf" transform="translate(150 300) rotate(-25) scale(1.4 0.9)"
      style="opacity:0.9">
      <path id="leaf-1" d="M 0,0 C 10,-14 28,-14 36,0 C 28,14 10,14 0,0 Z"/>
      <path id="leaf-2" style="fill:#8a3" d="m 8,10 c 10,-14 28,-14 36,0 -8,14 -26,14 -36,0 z"/>
      <use id="leaf-3" xlink:href="#leaf-1" x="-30" y="20"/>
    </g>
    <g id="pocket" inkscape:label="pocket">
      <path id="pocket-edge" fill="#fff8ea" fill-opacity="0.7" stroke="#111" stroke-width="0.6"
        d="M 30,290 h 62 v 52 q -31,18 -62,0 z"/>
      <polyline id="pocket-stitches" class="stitches" points="32,290 32,341 61,350 90,341 90,290"/>
    </g>
    <path id="path-of-words" style="fill:none;stroke:none" d="M 20,170 C 80,130 150,210 220,160"/>
    <text id="words-on-path" style="font-size:12px;font-family:serif;fill:#1d1440"><textPath
      id="along" xlink:href="#path-of-words">Paper Lantern, third act</textPath></text>
    <text id="words" x="24" y="240" style="font-size:14px" fill="#063">act<tspan id="three" dx="3"
      style="font-weight:bold">three</tspan></text>
    <image id="photo" x="150" y="215" width="42" height="36" transform="matrix(.9 .2 -.2 .9 60 10)"
      xlink:href="{picture_data(9, 7)}"/>
    <use id="button-1" xlink:href="#button" x="10" y="200"/>
    <use id="button-2" xlink:href="#button" transform="translate(10 240) scale(1.2)"/>
    <circle id="glow" cx="170" cy="150" r="16" fill="#ffcf5c" filter="url(#blur)"/>
    <path id="far-away" d="M 330,420 h 20 v 20 z"/>
    <path id="hidden" style="display:none" d="M 60,200 h 90 v 90 z"/>
    <path id="note-of-target" inkscape:label="target practice" fill="none" stroke="#b00"
      d="m 60,140 a 14,14 0 1 1 28,0 14,14 0 1 1 -28,0 z"/>
  </g>
</svg>"""


#: The ids of what is drawn, and seen.
OBJECTS = (
    *("sky", "spots", "ball", "leaf-1", "leaf-2", "leaf-3", "pocket-edge", "pocket-stitches"),
    *("words-on-path", "words", "photo", "button-1", "button-2", "glow", "note-of-target"),
)


def with_artwork(sample: str) -> str:
    """A sample drawing with artwork on its block, and the block filled."""
    text = (SAMPLES / f"{sample}.svg").read_text(encoding="utf-8")
    text = text.replace("<svg ", '<svg xmlns:xlink="http://www.w3.org/1999/xlink" ', 1)
    text = text.replace('inkscape:label="outline" fill="none"', 'inkscape:label="outline" '
                        'fill="url(#disc)"', 1)  # fmt: skip
    return text.replace("</svg>", _artwork())
