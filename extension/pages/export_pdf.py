"""A set of pages as a PDF, written by the editor's own exporter, without its window.

In documents whose viewBox does not begin at 0 0 the places of page elements are counted from its
corner, and the editor's exporter (1.2.2) shifts what it draws: the PDF is exported from a document
of its own.
"""

from __future__ import annotations

import copy
import os
import tempfile
from collections.abc import Sequence
from pathlib import Path

from lxml import etree

from drafting_core.text.errors import SettingError
from drafting_core.text.words import _
from extension.document.namespaces import INKSCAPE, SODIPODI, SVG, svg
from extension.document.path_data import number
from extension.document.svg_document import DocumentError
from extension.host.editors import Program, programs
from extension.host.programs import last_line, run
from extension.pages.editor_pages import PAGE
from extension.reading.drawn_extent import page_box

#: A large set on a slow machine; the editor needs half a second for a common one.
_TIMEOUT_S = 300


def pdf_of(
    root: etree._Element, layer: etree._Element, mm_per_unit: float, target: str = "-"
) -> bytes:
    """Return a set of pages as a PDF, one page of it for each of the editor's.

    Args:
        root: the root of the document, with the set's pages.
        layer: the set's layer.
        mm_per_unit: millimetres on paper to a unit of the root.
        target: the file that it is meant for: an editor that lives in a box of its own (Flatpak,
            snap) sees that folder, but perhaps not the one for temporary files.

    Raises:
        DraftingError: if there is no editor, or it does not write the file.
    """
    (written,) = exported([pages_alone(root, layer, mm_per_unit)], target)
    return written


def exported(documents: Sequence[etree._Element], target: str = "-") -> list[bytes]:
    """Return documents of pages as PDFs; the editor starts once for all of them.

    Args:
        documents: the roots of documents that hold nothing but pages.
        target: the file that they are meant for.

    Raises:
        DraftingError: if there is no editor, or it does not write the files.
    """
    texts = [etree.tostring(document, encoding="UTF-8") for document in documents]
    editor = _editor()
    is_boxed = bool(editor.python) or editor.is_sealed
    near = Path(target).resolve().parent if is_boxed and target != "-" else None
    try:
        with tempfile.TemporaryDirectory(prefix=".dartswing-", dir=near) as folder:
            drawings = [Path(folder, f"pages-{place}.svg") for place in range(len(texts))]
            for drawing, text in zip(drawings, texts, strict=True):
                drawing.write_bytes(text)
            return [written.read_bytes() for written in _export(editor, drawings)]
    except OSError as fault:
        raise _not_written(editor.name, fault.strerror or str(fault)) from None


def pages_alone(root: etree._Element, layer: etree._Element, mm_per_unit: float) -> etree._Element:
    """Return a document that holds only the pages of a set and its layer.

    Its viewBox begins at the first page, which is at 0, 0: the editor's exporter (1.2.2) shifts
    what it draws where a viewBox begins elsewhere.
    """
    pages = [
        page
        for page in root.iter(PAGE)
        if str(page.get("id")).startswith(f"{layer.get('id')}-page-")
    ]
    corner = complex(float(pages[0].get("x")), float(pages[0].get("y")))
    left, top, _width, _height = page_box(root)
    alone = etree.Element(svg("svg"), nsmap={None: SVG, "inkscape": INKSCAPE})
    for name in ("width", "height"):
        alone.set(name, f"{number(float(pages[0].get(name)) * mm_per_unit)}mm")
    alone.set("viewBox", f"0 0 {pages[0].get('width')} {pages[0].get('height')}")
    view = etree.SubElement(alone, f"{{{SODIPODI}}}namedview", nsmap={"sodipodi": SODIPODI})
    for page in pages:
        copied = copy.deepcopy(page)
        copied.set("x", number(float(page.get("x")) - corner.real))
        copied.set("y", number(float(page.get("y")) - corner.imag))
        view.append(copied)
    shifted = etree.SubElement(alone, svg("g"))
    by = complex(left, top) + corner
    shifted.set("transform", f"translate({number(-by.real)},{number(-by.imag)})")
    shifted.append(copy.deepcopy(layer))
    return alone


def _editor() -> Program:
    found = programs()
    if not found:
        raise SettingError(
            _("the editor Inkscape, which writes it, was not found."),
            thing=_("The PDF"),
            remedy=_("Install it, or leave the PDF out and print the pages from the editor."),
        )
    return found[0]


def _export(editor: Program, drawings: Sequence[Path]) -> list[Path]:
    # Where no file is named each drawing's PDF lies beside it.
    command = [*editor.command, *map(str, drawings), "--export-type=pdf"]
    # An editor that started this very command is still running: the new one is not to hand its
    # work over to it.
    answer = run(command, variables={**os.environ, "SELF_CALL": "true"}, timeout=_TIMEOUT_S)
    files = [drawing.with_suffix(".pdf") for drawing in drawings]
    if not all(file.is_file() and file.stat().st_size for file in files):
        raise _not_written(editor.name, last_line(answer.stderr))
    return files


def _not_written(editor: str, why: str) -> DocumentError:
    return DocumentError(
        _("the editor {editor} did not write it ({why}).").format(editor=editor, why=why),
        thing=_("The PDF"),
        remedy=_("Leave the PDF out and print the pages from the editor."),
    )
