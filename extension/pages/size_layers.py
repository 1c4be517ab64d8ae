"""The sizes of a nest as layers of a PDF, which the receiver switches on and off.

Optional content as the standard of PDF has it (ISO 32000-1, 8.11). The editor's exporter knows
nothing of it, so it draws every page once without what belongs to one size, and once for each size
with that alone; pikepdf lays these upon one another, each size in a group of optional content.
"""

from __future__ import annotations

import copy
import io
from typing import TYPE_CHECKING

from lxml import etree

from drafting_core.text.words import _
from extension.document.svg_document import DocumentError
from extension.host.language import language_of_words
from extension.pages.editor_pages import PAGE
from extension.pages.export_pdf import exported, pages_alone
from extension.pages.page_surface import OF_SIZE

if TYPE_CHECKING:
    import pikepdf

#: What is drawn only where something refers to it.
_UNSEEN = ("{*}clipPath", "{*}defs", "{*}style")


def has_library() -> bool:
    """Tell whether the library that writes layers into a PDF is there."""
    try:
        import pikepdf  # noqa: F401
    except ImportError:
        return False
    return True


def has_sizes(layer: etree._Element) -> bool:
    """Tell whether sizes of a nest lie on one another on pages."""
    return any(element.get(OF_SIZE) for element in layer.iter())


def library_advice() -> str:
    """Return the sentence that says how title and layers are had where the library is missing."""
    return _("The PDF has no title and no layers: they need pikepdf (pip install pikepdf).")


def editor_advice() -> str:
    """Return the sentence that says where a PDF has the layers that the editor does not write."""
    return _(
        "The PDF has no layers for the sizes: the command line writes them (dartswing paper --pdf)."
    )


def layered_pdf(
    root: etree._Element, layer: etree._Element, mm_per_unit: float, title: str, target: str = "-"
) -> bytes:
    """Return a set of pages as a PDF with a title, and a layer for each size of a nest.

    Args:
        root: the root of the document, with the set's pages.
        layer: the set's layer.
        mm_per_unit: millimetres on paper to a unit of the root.
        title: what the PDF is called.
        target: the file that it is meant for.

    Raises:
        DraftingError: if there is no editor, or it does not write the file.
    """
    import pikepdf

    alone = pages_alone(root, layer, mm_per_unit)
    sizes = list(dict.fromkeys(e.get(OF_SIZE) for e in alone.iter() if e.get(OF_SIZE)))
    count = sum(1 for _page in alone.iter(PAGE))
    documents = [copy.deepcopy(alone) for _set in ("", *sizes)]
    for document, size in zip(documents, ("", *sizes), strict=True):
        _keep(document, size)
    pdf, *drawn = (pikepdf.open(io.BytesIO(one)) for one in exported(documents, target))
    for one in (pdf, *drawn):
        _check_pages(len(one.pages), count)
    if sizes:
        _lay_upon(pdf, sizes, drawn)
    _say(pdf, title)
    kept = io.BytesIO()
    pdf.save(kept, deterministic_id=True)
    return kept.getvalue()


def _check_pages(written: int, count: int) -> None:
    if written != count:
        raise DocumentError(
            _("the editor wrote {written} of its {count} pages.").format(
                written=written, count=count
            ),
            thing=_("The PDF"),
            remedy=_("Leave the PDF out and print the pages from the editor."),
        )


def _keep(document: etree._Element, size: str) -> None:
    """Take out of pages what is not of a size alone; of no size, what is of one."""
    of_sizes = [element for element in document.iter() if element.get(OF_SIZE)]
    if not size:
        for element in of_sizes:
            element.getparent().remove(element)
        return
    kept = {document}
    for element in document.iter(PAGE, *_UNSEEN):
        kept.update((*element.iter(), *element.iterancestors()))
    for element in of_sizes:
        if element.get(OF_SIZE) == size:
            kept.update((*element.iter(), *element.iterancestors()))
    for element in list(document.iter()):
        if element not in kept:
            element.getparent().remove(element)


def _lay_upon(pdf: pikepdf.Pdf, sizes: list[str], drawn: list[pikepdf.Pdf]) -> None:
    """Lay the pages of each size on the pages, each in a group of optional content."""
    from pikepdf import Array, Dictionary, Name, String

    names = [_("size {size}").format(size=size) for size in sizes]
    groups = [pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String(name))) for name in names]
    for place, page in enumerate(pdf.pages):
        # The editor's exporter turns the page's axis upside down and leaves it so.
        page.contents_add(b"q", prepend=True)
        page.contents_add(b"Q", prepend=False)
        for number_of_size, (group, one) in enumerate(zip(groups, drawn, strict=True)):
            form = pdf.copy_foreign(one.make_indirect(one.pages[place].as_form_xobject()))
            form.OC = group
            name = page.add_resource(form, Name.XObject, Name(f"/Size{number_of_size}"))
            shown = f"q {name} Do Q"  # not read by drafters
            page.contents_add(shown.encode(), prepend=False)
    pdf.Root.OCProperties = Dictionary(
        OCGs=Array(groups), D=Dictionary(Order=Array(groups), ON=Array(groups))
    )


def _say(pdf: pikepdf.Pdf, title: str) -> None:
    """Say title and language, and that a printer scales nothing."""
    from pikepdf import Dictionary, Name, String

    pdf.Root.Lang = String(language_of_words())
    pdf.Root.ViewerPreferences = Dictionary(PrintScaling=Name("/None"), DisplayDocTitle=True)
    with pdf.open_metadata(set_pikepdf_as_editor=False) as data:
        data["dc:title"] = title
    pdf.docinfo["/Title"] = title
