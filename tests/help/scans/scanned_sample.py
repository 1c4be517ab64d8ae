"""Makes the sample of a scan: ``python -m tests.help.scans.scanned_sample``.

A front of `random_blocks`, drawn with a pen and traced by `potrace` as `scanned_blocks` does, is
given a title, the label that says it is invented, and ids that the editor can select by.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from lxml import etree

from extension.document.namespaces import svg
from tests.help.blocks.random_blocks import Block
from tests.help.scans.scanned_blocks import scan

SAMPLE = Path(__file__).parents[3] / "sample_svgs" / "scanned_front.svg"
#: This front lies askew by almost three degrees, and its apex is a small cross above its dart.
SEED, KIND, SOURCE = 3, "front", "waist"
TITLE = "Moth Catcher front: a paper block scanned askew and traced, not cleaned up yet"
INVENTED = (
    "Invented for the Paper Lantern, a small theatre that does not exist: its costume workshop's "
    "paper block for the part of the Moth Catcher in an invented play, with the scan's specks and "
    "a word on it. No real person's measurements."
)


def scanned_front(folder: Path) -> tuple[str, Block]:
    """Return the sample's drawing, and the true block in mm that it is a scan of.

    Args:
        folder: where the tracer's files go.
    """
    scanned = scan(SEED, folder, kind=KIND, source=SOURCE)
    # The tracer's document type and its remark about itself are not part of the trace.
    traced = etree.fromstring(scanned.svg.encode(), etree.XMLParser(remove_blank_text=True))
    for remark in traced.findall(svg("metadata")):
        traced.remove(remark)
    for place, (name, text) in enumerate((("title", TITLE), ("desc", INVENTED))):
        words = etree.Element(svg(name))
        words.text = text
        traced.insert(place, words)
    traced.set("id", "scanned-front")
    for layer in traced.iter(svg("g")):
        layer.set("id", "trace")
        for number, path in enumerate(layer.iter(svg("path")), 1):
            path.set("id", f"trace-{number}")
    for path in traced.findall(svg("path")):
        path.set("id", "known-length")
    etree.indent(traced)
    written = etree.tostring(traced, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{written}\n', scanned.block


def main() -> None:
    """Write the sample."""
    with tempfile.TemporaryDirectory() as folder:
        drawing, _block = scanned_front(Path(folder))
    SAMPLE.write_text(drawing, encoding="utf-8")


if __name__ == "__main__":
    main()
