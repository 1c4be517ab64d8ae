"""The sizes of a nest as layers of a PDF, which the receiver switches on and off.

Optional content as the standard of PDF has it (ISO 32000-1, 8.11). The editor's exporter knows
nothing of it, so it draws every page once without what belongs to one size, and once for each size
with that alone; pikepdf lays these upon one another, each size in a group of optional content.
"""

from __future__ import annotations

import copy
import io
import re
from typing import TYPE_CHECKING

from lxml import etree

from drafting_core.text.words import _
from extension.document.namespaces import SODIPODI
from extension.document.path_data import number
from extension.host.language import language
from extension.pages.editor_pages import PAGE
from extension.pages.export_pdf import exported, pages_alone
from extension.pages.page_surface import OF_SIZE

if TYPE_CHECKING:
    import pikepdf

_VIEW = f"{{{SODIPODI}}}namedview"
#: Between two sets of pages (in units of the pages).
_GAP = 100.0
#: What is drawn only where something refers to it.
_UNSEEN = ("{*}clipPath", "{*}defs", "{*}style")
_REFERENCE = re.compile(r"""(url\(\s*["']?#)([^"')\s]+)""")
_LINK = re.compile(r"^(#)(.+)$")


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
    written = exported(_once_for_each(alone, sizes) if sizes else alone, target)
    with pikepdf.open(io.BytesIO(written)) as pdf:
        if sizes:
            _lay_upon(pdf, sizes, count)
        _say(pdf, title)
        kept = io.BytesIO()
        pdf.save(kept, deterministic_id=True)
    return kept.getvalue()


def _once_for_each(alone: etree._Element, sizes: list[str]) -> etree._Element:
    """Return a document that shows all pages without any size, then again for each size alone."""
    view, group = alone.find(_VIEW), alone[-1]
    pages, drawn = list(view), group[0]
    below = max(float(p.get("y")) + float(p.get("height")) for p in pages) + _GAP
    start = _free_start(alone)
    for number_of_set, size in enumerate(sizes, start=1):
        again = copy.deepcopy(drawn)
        _keep(again, size)
        _rename(again, f"{start}{number_of_set}-")
        shift = etree.SubElement(group, group.tag)
        shift.set("transform", f"translate(0,{number(below * number_of_set)})")
        shift.append(again)
        for page in pages:
            other = copy.deepcopy(page)
            other.set("id", f"{start}{number_of_set}-{page.get('id')}")
            other.set("y", number(float(page.get("y")) + below * number_of_set))
            view.append(other)
    _keep(drawn, "")
    return alone


def _free_start(alone: etree._Element) -> str:
    """Return what no id of a document begins with: a number behind an id may be a page's own."""
    start = "size-"
    while any(str(element.get("id")).startswith(start) for element in alone.iter()):
        start = f"of-{start}"
    return start


def _rename(layer: etree._Element, start: str) -> None:
    """Let the ids in a layer begin otherwise, and what refers to them."""
    elements = [element for element in layer.iter() if isinstance(element.tag, str)]
    own = {element.get("id") for element in elements} - {None}

    def renamed(found: re.Match[str]) -> str:
        return f"{found[1]}{start}{found[2]}" if found[2] in own else found[0]

    for element in elements:
        for name, value in element.attrib.items():
            if name == "id":
                element.set(name, f"{start}{value}")
            elif "#" in value:
                pattern = _LINK if etree.QName(name).localname == "href" else _REFERENCE
                element.set(name, pattern.sub(renamed, value))


def _keep(layer: etree._Element, size: str) -> None:
    """Take out of pages what is not of a size alone; of no size, what is of one."""
    of_sizes = [element for element in layer.iter() if element.get(OF_SIZE)]
    if not size:
        for element in of_sizes:
            element.getparent().remove(element)
        return
    kept = {layer}
    for element in layer.iter(*_UNSEEN):
        kept.update((element, *element.iterancestors()))
    for element in of_sizes:
        if element.get(OF_SIZE) == size:
            kept.update(element.iter())
            kept.update(element.iterancestors())
    for element in list(layer.iter()):
        if element not in kept and not any(one in kept for one in element.iterancestors(*_UNSEEN)):
            element.getparent().remove(element)


def _lay_upon(pdf: pikepdf.Pdf, sizes: list[str], count: int) -> None:
    """Lay the pages of each size on the first pages, each in a group of optional content."""
    from pikepdf import Array, Dictionary, Name, String

    names = [_("size {size}").format(size=size) for size in sizes]
    groups = [pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String(name))) for name in names]
    for place in range(count):
        page = pdf.pages[place]
        # The editor's exporter turns the page's axis upside down and leaves it so.
        page.contents_add(b"q", prepend=True)
        page.contents_add(b"Q", prepend=False)
        for number_of_set, group in enumerate(groups, start=1):
            form = pdf.pages[number_of_set * count + place].as_form_xobject()
            form.OC = group
            name = page.add_resource(pdf.make_indirect(form), Name.XObject)
            shown = f"q {name} Do Q"  # not read by drafters
            page.contents_add(shown.encode(), prepend=False)
    del pdf.pages[count:]
    pdf.Root.OCProperties = Dictionary(
        OCGs=Array(groups), D=Dictionary(Order=Array(groups), ON=Array(groups))
    )


def _say(pdf: pikepdf.Pdf, title: str) -> None:
    """Say title and language, and that a printer scales nothing."""
    from pikepdf import Dictionary, Name, String

    spoken = language()
    pdf.Root.Lang = String(spoken if spoken.isalpha() and len(spoken) > 1 else "en")
    pdf.Root.ViewerPreferences = Dictionary(PrintScaling=Name("/None"), DisplayDocTitle=True)
    with pdf.open_metadata(set_pikepdf_as_editor=False) as data:
        data["dc:title"] = title
    pdf.docinfo["/Title"] = title
