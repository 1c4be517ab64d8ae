"""What else is drawn on a block, taken along to its result; and that of a result, left alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lxml import etree

from drafting_core.block.reshaped import Reshaped
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.piece import EASE, GATHERS
from drafting_core.model.settings import Settings
from drafting_core.move.sectors import moved_sectors
from drafting_core.plane.curves import Segment
from drafting_core.text.words import _, listed
from extension.artwork.found_artwork import DrawnArt
from extension.artwork.sector_copies import (
    ArtworkCopies,
    SectorPart,
    artwork_layer,
    sector_part,
)
from extension.document.roles import name_of
from extension.drafting.result_places import NewResult
from extension.options.settings_text import read_settings
from extension.reading.piece_names import shown_name
from extension.reading.read_outline import outline_edges
from extension.reading.result_memory import ResultMemory
from extension.reading.source_block import Drawing, SourceBlock

#: So many objects are named that could not be read.
_NAMED = 5


def take_along(root: etree._Element, drawing: Drawing, new: Sequence[NewResult]) -> list[str]:
    """Find what comes along to each of some results, and return what is said of that.

    Args:
        root: the root of the document.
        drawing: what was found in it.
        new: the results that are to be written; each gets its copies.
    """
    art = DrawnArt(root, drawing)
    told = []
    for made in new:
        settings, name = made.draft.settings, shown_name(made.draft)
        fill = art.fill_of(made.source) if settings.fill != "none" else []
        artwork = art.artwork_of(made.source) if settings.artwork else []
        if settings.fill != "none" and not fill:
            told.append(
                _("{name}: the block has no fill that the piece could take.").format(name=name)
            )
        parts = _parts(made)
        copies = ArtworkCopies(art, fill, artwork, parts, _edge_drawn_anew(made))
        if settings.artwork and not copies.has_artwork:
            told.append(
                _("{name}: nothing else is drawn on the block that could come along.").format(
                    name=name
                )
            )
        made.artwork = copies
    if art.unread:
        told.append(
            _("What cannot be read does not come along: {objects}.").format(
                objects=listed(name_of(element) for element in art.unread[:_NAMED])
            )
        )
    return list(dict.fromkeys(told))


def _parts(made: NewResult) -> list[SectorPart]:
    draft = made.draft
    chains = moved_sectors(draft.before, draft.steps, draft.shifted)
    return [sector_part(chain, made.source.true_mm_per_unit) for chain in chains]


def _edge_drawn_anew(made: NewResult) -> list[Segment]:
    """Return a piece's outline where a seam of it runs elsewhere than its sectors end, or nothing.

    Into which width is gathered or eased, such a seam is drawn as one curve, which may cut off
    some of the sectors.
    """
    unit = made.source.true_mm_per_unit
    if not any(item.kind in (GATHERS, EASE) and item.opening for item in made.draft.fullness):
        return []
    return [segment.mapped(lambda z: z / unit) for segment in made.draft.stitch_line]


def left_alone(
    given: Mapping[str, str], unit: str, base: Settings, name: str
) -> tuple[Mapping[str, str], list[str]]:
    """Return what is asked of a result that stands, without what is asked of its artwork.

    Args:
        given: what is asked for.
        unit: the unit of a bare number.
        base: what the result was made with.
        name: what the piece is called.

    Returns:
        What is left of it, and what is said where another word was given than the result has.

    Raises:
        SettingError: if a word cannot be read.
    """
    asked = {key: given[key] for key in ("artwork", "fill") if key in given}
    rest = {key: text for key, text in given.items() if key not in asked}
    wanted = read_settings(asked, unit, base)
    if (wanted.artwork, wanted.fill) == (base.artwork, base.fill):
        return rest, []
    return rest, [
        _(
            "{name}: what came along with it stays as it is. Move the dart of its block again to "
            'have more of it, or delete the layer "Artwork" to have none.'
        ).format(name=name)
    ]


def stays_as_cut(source: SourceBlock, memory: ResultMemory | None, draft: Draft) -> list[str]:
    """Return what is said of the artwork of a result whose stitch line a hand has reshaped."""
    if memory is None or source.layer is None or artwork_layer(source.layer) is None:
        return []
    scale = source.scale
    now = [edge.segment.mapped(lambda z: z * scale) for edge in outline_edges(source)]
    if Reshaped(memory.known.outline, now).is_unchanged:
        return []
    return [
        _(
            "{name}: the artwork stays as it was cut; it does not follow the stitch line that was "
            "reshaped by hand."
        ).format(name=shown_name(draft))
    ]
