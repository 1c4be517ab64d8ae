"""Results that are no longer in a layer of their own: ungrouped, regrouped, or pasted in parts."""

from __future__ import annotations

from lxml import etree

from drafting_core.text.words import _
from extension.document import roles
from extension.document.namespaces import ours, svg
from extension.document.roles import drawn_by_us, is_result, our_attributes, role_of
from extension.document.svg_document import DocumentError
from extension.reading.source_block import SourceBlock

_STITCH_LINE = "-stitch-line"


def loose_results(root: etree._Element) -> dict[etree._Element, etree._Element | None]:
    """Return stitch lines outside any result layer, each with the group that is its layer now.

    That is the nearest group that holds all of the result and no other outline; None where there
    is none.
    """
    found: dict[etree._Element, etree._Element | None] = {}
    for element in root.iter(svg("path")):
        if ours("drawn") not in element.attrib and "dartswing:drawn" not in element.attrib:
            continue
        attributes = our_attributes(element)
        if attributes.get("part") != "stitch-line":
            continue
        if drawn_by_us(element) and not any(is_result(e) for e in element.iterancestors()):
            found[element] = _home(root, element)
    return found


def _home(root: etree._Element, stitch: etree._Element) -> etree._Element | None:
    prefix = str(stitch.get("id")).removesuffix(_STITCH_LINE) + "-"
    parts = [
        element
        for element in root.iter()
        if isinstance(element.tag, str)
        and str(element.get("id") or "").startswith(prefix)
        # Its sheet lies in a locked layer, where nothing picks it up.
        and our_attributes(element).get("part", "sheet") != "sheet"
    ]
    for group in stitch.iterancestors():
        if group is root:
            return None
        if all(group in part.iterancestors() for part in parts):
            return None if _holds_another(group, stitch) else group
    return None


def _holds_another(group: etree._Element, stitch: etree._Element) -> bool:
    for element in group.iter():
        if not isinstance(element.tag, str) or element is stitch:
            continue
        role = role_of(element)
        if role is not None and role.word == roles.OUTLINE:
            return True
    return False


def scattered(stitch: etree._Element, root: etree._Element, mm: float) -> SourceBlock:
    """Return a result whose parts lie loose among other things, which cannot be drawn again."""
    block = SourceBlock(stitch, root, mm)
    name = our_attributes(stitch).get("name", "").strip()
    block.fault = DocumentError(
        _("it is no longer in a layer or a group of its own, and would be drawn a second time."),
        thing=_('The stitch line of "{name}"').format(name=name),
        remedy=_("Undo that; or select all parts of this piece and group them (Ctrl+G)."),
    )
    return block
