"""Drawings of traced lines for tests, and the clean-up run on them."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from typing import Any

import pytest
from lxml import etree

from drafting_core.text.errors import DraftingError
from extension.cleaning.clean import CleanUp, clean_request, clean_up
from extension.cleaning.clean_report import report_of
from extension.cleaning.write_clean import write_clean
from extension.document.svg_document import parse_document
from tests.help.blocks.random_blocks import Block, random_block
from tests.help.scans.clean_measures import Measured, measure
from tests.help.scans.scanned_blocks import strokes_of, wobbled

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:dartswing="urn:dartswing:1" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" width="900mm" height="900mm" '
    'viewBox="0 0 900 900">'
)


def path(points: Sequence[complex], closed: bool = False, label: str = "", more: str = "") -> str:
    named = f'inkscape:label="{label}" ' if label else ""
    d = "M " + " L ".join(f"{z.real:.6f},{z.imag:.6f}" for z in points) + (" Z" if closed else "")
    return f'<path {named}{more} d="{d}" style="fill:none;stroke:#000"/>'


def drawing(*parts: str) -> str:
    return HEAD + "".join(parts) + "</svg>"


def cleaned(text: str, selection: Sequence[str] = (), **options: str) -> tuple[CleanUp, Any]:
    """Run the clean-up on a drawing and write it; return both."""
    root = parse_document(text.encode()).getroot()
    done = clean_up(root, clean_request(options, selection))
    write_clean(root, done)
    return done, root


def measured(done: CleanUp, root: Any, block: Block, name: str = "", turn: float = 0.0) -> Measured:
    report = report_of(done)
    whole = turn + math.radians(report["blocks"][0]["turn_deg"])
    return measure(root, report, block, name, whole)


def line_of(
    block: Block, rng: random.Random, at: complex = 200 + 200j, wobble: float = 0.25
) -> list[complex]:
    """Return a block as one closed line drawn by hand."""
    return [z + at for s in strokes_of(block) for z in wobbled(rng, s, wobble)[:-1]]


def some_block(seed: int, kind: str | None = None) -> tuple[Block, random.Random]:
    rng = random.Random(seed)
    return random_block(rng, kind, scale=1.0), rng


def refusal(text: str, selection: Sequence[str] = (), **options: str) -> str:
    """Return what is said of a drawing that cannot be cleaned up; it stays as it was."""
    root = parse_document(text.encode()).getroot()
    before = etree.tostring(root)
    with pytest.raises(DraftingError) as caught:
        write_clean(root, clean_up(root, clean_request(options, selection)))
    assert etree.tostring(root) == before
    return str(caught.value)
