"""One page of sewing notes on the canvas: the numbered piece, the words, the step pictures."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from typing import NamedTuple

from drafting_core.dart.fullness import Fullness
from drafting_core.dart.marks import place_along
from drafting_core.finished.fold_edge import fold_lines, lies_on_any, split_at_folds
from drafting_core.finished.pattern_piece import Draft, DrawnDart
from drafting_core.model.outline import encloses, flattened
from drafting_core.model.piece import TUCK
from drafting_core.plane.curves import Box as Extent
from drafting_core.plane.curves import Line, PointMap, Segment, box_about, chain_length, dot, unit
from drafting_core.sewing.dart_steps import whole_cut_line
from drafting_core.text.words import N_, _
from extension.look.set_text import SMALLEST_TEXT, Room, SetText, text_width
from extension.look.strokes import INK, Stroke
from extension.look.text_places import Clearings
from extension.pages.page_surface import PageSurface
from extension.pages.piece_picture import (
    APEX,
    ARROW,
    BEFORE,
    CUT,
    FINENESS,
    FOLD,
    KEY_WORDS,
    LEG,
    STITCH,
    WINDOW,
    Arrow,
    Picture,
    apex_cross,
    arrow,
    arrow_across,
    picture_of,
)
from extension.sewing.layout import PICTURE_MARGIN, SAMPLE, Content, NotesLayout, arrange_notes
from extension.sewing.pictures import (
    FOLD_EDGE,
    OPEN_RING,
    SOLID,
    Disc,
    Shape,
    step_box,
    step_drawing,
)
from extension.sewing.shortened import in_words_only, pressing_shown, shortened, told_alone
from extension.sewing.steps import FOLD as FOLD_STEP
from extension.sewing.text_blocks import DartWords, Panel
from extension.sewing.words import (
    Section,
    foot,
    general,
    heading,
    sections,
    under_heading,
)

# What is drawn on a page besides: gathers, ease or a flare, the edge on the fold, and the stitched
# lines of a tuck.
FULLNESS = "fullness"
ON_FOLD = "on-fold"
TUCK_LINE = "tuck-line"
#: What the key calls what is drawn.
_WORDS = KEY_WORDS | {
    FULLNESS: N_("gathers, ease or flare"),
    ON_FOLD: N_("fold of the cloth, not cut"),
    TUCK_LINE: N_("line of the tuck"),
}
#: Strokes of the piece's picture, widths on paper (mm); told apart by dash and width.
NOTES_STROKES = {
    ON_FOLD: FOLD_EDGE,
    TUCK_LINE: Stroke(0.35),
    CUT: Stroke(0.6),
    STITCH: Stroke(0.35, (2.2, 1.0)),
    LEG: Stroke(0.35),
    FOLD: Stroke(0.35, (2.4, 0.7, 0.5, 0.7)),
    WINDOW: Stroke(0.35, (0.7, 0.7), fill=INK, fill_opacity=0.2),
    APEX: Stroke(0.35),
    ARROW: Stroke(0.6),
    FULLNESS: Stroke(0.7, (0.7, 1.2)),
}
_HALO = 0.4
#: The circle about a dart's number (mm on paper), and how far it keeps from lines.
NUMBER_RADIUS = 2.3
_NUMBER_ROOM = 0.5
_NOTCH = 2.0


class Page(NamedTuple):
    """A page laid out: its draft, what it says, and where everything lies.

    Attributes:
        draft: the piece.
        sections: what is said of each dart.
        key: the kinds of lines that the key explains.
        layout: where texts and pictures lie.
        boxes: what each picture of each section shows, in mm of cloth.
        piece: what the piece's own picture shows, in mm of cloth.
    """

    draft: Draft
    sections: tuple[Section, ...]
    key: tuple[str, ...]
    layout: NotesLayout
    boxes: tuple[tuple[Extent, ...], ...]
    piece: Extent


def notes_laid_out(draft: Draft, paper: str, mate: Draft | None = None) -> Page:
    """Lay out a piece's page.

    Args:
        draft: the piece.
        paper: the name of the paper.
        mate: the piece that it was one with before the block was cut in two.

    Raises:
        DocumentError: if it does not fit on the paper.
    """
    whole = sections(draft)
    extent = _extent([*draft.stitch_line, *draft.cut_line, *_windows(draft)])
    key = _key(draft)
    choices = [tuple(whole)]
    if len(whole) > 1:
        choices += [_brief(whole, how) for how in (shortened, pressing_shown, in_words_only)]
        choices.append(_one_shown(whole))
        choices.append(tuple(told_alone(section) for section in choices[-1]))
    boxes = {
        (section.number, step.kind): step_box(section, step.kind, draft)
        for section in whole
        for step in section.steps
    }
    contents = [
        Content(
            heading(draft),
            under_heading(draft),
            tuple(general(draft, chosen, mate)),
            tuple(
                DartWords(
                    section.title,
                    section.sentences,
                    tuple(
                        Panel(
                            step.title,
                            step.caption,
                            *_size(boxes[section.number, step.kind]),
                        )
                        for step in section.steps
                    ),
                )
                for section in chosen
            ),
            tuple(_(_WORDS[kind]) for kind in key),
            foot(),
            _size(extent),
        )
        for chosen in choices
    ]
    number, layout = arrange_notes(contents, paper)
    chosen = choices[number]
    return Page(
        draft,
        chosen,
        key,
        layout,
        tuple(
            tuple(boxes[section.number, step.kind] for step in section.steps) for section in chosen
        ),
        extent,
    )


def _brief(
    whole: Sequence[Section], shorten: Callable[[Section, Section], Section]
) -> tuple[Section, ...]:
    """Return the sections, every one shortened that is sewn like one before it."""
    first: dict[tuple[str, ...], Section] = {}
    found = []
    for section in whole:
        # What has no pictures is no model, and nothing of it can be left out.
        like = first.setdefault(section.course, section) if section.steps else section
        found.append(section if like is section else shorten(section, like))
    return tuple(found)


def _one_shown(whole: Sequence[Section]) -> tuple[Section, ...]:
    """Return the sections with the pictures of one dart alone for all that are folded."""
    plain = [
        section
        for section in whole
        if isinstance(section.item, DrawnDart) and FOLD_STEP in section.course
    ]
    if not plain:
        return tuple(whole)
    model = max(plain, key=lambda section: len(section.steps))
    return tuple(
        in_words_only(section, model) if section in plain and section is not model else section
        for section in whole
    )


def _windows(draft: Draft) -> list[Segment]:
    return [segment for item in draft.darts for segment in item.window or ()]


def _extent(segments: Sequence[Segment]) -> Extent:
    return Extent(*box_about(z for segment in segments for z in segment.extreme_points()))


def _size(box: Extent) -> tuple[float, float]:
    return box.right - box.left, box.bottom - box.top


def _key(draft: Draft) -> tuple[str, ...]:
    """Return the kinds of lines that the piece's picture has."""
    found = [CUT]
    if fold_lines(draft):
        found.append(ON_FOLD)
    found.append(STITCH)
    if draft.darts:
        found += [LEG, FOLD]
    has_tuck = any(item.kind == TUCK for item in draft.fullness)
    if has_tuck:
        found.append(TUCK_LINE)
    if draft.darts or has_tuck:
        found.append(ARROW)
    if draft.apexes:
        found.append(APEX)
    if any(item.window for item in draft.darts):
        found.append(WINDOW)
    if any(item.kind != TUCK for item in draft.fullness):
        found.append(FULLNESS)
    return tuple(found)


def write_page(surface: PageSurface, page: Page) -> None:
    """Draw a page."""
    layout = page.layout
    frame = Stroke(0.0, fill="#ffffff", ink="none")
    surface.rectangle(frame, 0j, layout.width, layout.height, "paper")
    _piece(surface, page)
    for text in layout.texts:
        surface.text(text, "words")
    for kind, (at, text) in zip(page.key, layout.key, strict=True):
        _sample(surface, kind, at)
        surface.text(text, "key")
    for block, section, boxes in zip(layout.blocks, page.sections, page.boxes, strict=True):
        for text in block.texts:
            surface.text(text, "words")
        for panel, step, box in zip(block.panels, section.steps, boxes, strict=True):
            to = _into(panel.room, box, panel.scale)
            group = surface.group(f"step-{section.number}-{step.kind}")
            inside = surface.within(group)
            for shape in step_drawing(section, step.kind, page.draft, to):
                _draw(inside, shape)
            for text in panel.texts:
                surface.text(text, "caption")


def _into(room: Room, box: Extent, scale: float) -> PointMap:
    """Return the map from the cloth's millimetres into the middle of a picture's room."""
    centre = box.centre
    middle = complex(room.x + room.width / 2, room.y + room.height / 2)
    return lambda z: middle + (z - centre) / scale


def _draw(surface: PageSurface, shape: Shape | Disc) -> None:
    if isinstance(shape, Disc):
        surface.circle(shape.stroke, shape.centre, shape.radius, "sign")
    elif shape.chain:
        surface.chain(shape.stroke, shape.chain, "line", closed=shape.closed)


def _piece(surface: PageSurface, page: Page) -> None:
    draft, room = page.draft, page.layout.piece
    start = complex(page.piece.left, page.piece.top)
    corner = complex(room.x + PICTURE_MARGIN, room.y + PICTURE_MARGIN)
    scale = page.layout.scale

    def to(z: complex) -> complex:
        return corner + (z - start) / scale

    inside = surface.within(surface.group("piece"))
    extra = [
        (tuple(segment.mapped(to) for segment in path), item.kind)
        for item in draft.fullness
        for path in (item.paths[:2] if item.kind == TUCK else item.paths)
    ]
    arrows = [tuck_arrow(item, to) for item in draft.fullness if item.kind == TUCK]
    kept_clear = [*(path for path, _kind in extra), *([Line(a.tail, a.head[0])] for a in arrows)]
    picture = picture_of(draft, to, kept_clear)
    chains = _draw_lines(inside, picture, draft, to)
    for path, kind in extra:
        stroke = NOTES_STROKES[TUCK_LINE if kind == TUCK else FULLNESS]
        inside.chain(stroke, path, "fullness")
        chains.append(path)
    for notch in (*draft.notches, *draft.seam_notches):
        at = to(notch.start)
        end = at + unit(to(notch.end) - at) * _NOTCH
        inside.lines(NOTES_STROKES[CUT], (at, end), "notch")
    for one in (*picture.arrows, *arrows):
        _arrow(inside, one)
        chains.append([Line(one.tail, one.head[0])])
    for name in picture.names:
        text = SetText(name.at, (name.text,), SMALLEST_TEXT)
        inside.text(text, "seam-name", anchor="middle", direction=name.direction)
        half = text_width(name.text, SMALLEST_TEXT) / 2
        chains.append([Line(name.at - half * name.direction, name.at + half * name.direction)])
    for section, at in zip(page.sections, number_places(page, to, chains), strict=True):
        inside.circle(OPEN_RING, at, NUMBER_RADIUS, "number")
        letters = SetText(at + 0.36j * SMALLEST_TEXT, (str(section.number),), SMALLEST_TEXT, True)
        inside.text(letters, "number", anchor="middle")


def _draw_lines(
    inside: PageSurface, picture: Picture, draft: Draft, to: PointMap
) -> list[Sequence[Segment]]:
    """Draw the lines of a piece, the fold edges in a stroke of their own, and return them."""
    chains: list[Sequence[Segment]] = []
    folds = fold_lines(draft)
    for drawn in picture.lines:
        if drawn.kind == BEFORE:
            continue
        chains.append(drawn.chain)
        if drawn.kind == CUT and folds:
            parted = zip((CUT, ON_FOLD), split_at_folds(draft.cut_line, folds), strict=True)
            for kind, parts in parted:
                for part in parts:
                    inside.chain(
                        NOTES_STROKES[kind], [segment.mapped(to) for segment in part], "line"
                    )
        elif drawn.kind == STITCH and folds:
            # On the fold nothing is stitched.
            for stitched in _off_folds(drawn.chain, _mapped(folds, to)):
                inside.chain(NOTES_STROKES[STITCH], stitched, "line")
        else:
            inside.chain(NOTES_STROKES[drawn.kind], drawn.chain, "line", closed=drawn.closed)
    return chains


def _mapped(folds: Sequence[Line], to: PointMap) -> list[Line]:
    return [Line(to(fold.start), to(fold.end)) for fold in folds]


def _off_folds(chain: Sequence[Segment], folds: Sequence[Line]) -> list[list[Segment]]:
    """Return the parts of a chain that lie on no fold edge."""
    found: list[list[Segment]] = []
    was_on = True
    for segment in chain:
        is_on = lies_on_any(segment, folds)
        if not is_on and was_on:
            found.append([])
        if not is_on:
            found[-1].append(segment)
        was_on = is_on
    return found


def tuck_arrow(item: Fullness, to: PointMap) -> Arrow:
    """Return the arrow across a tuck, toward the side to which it is folded.

    It has the pattern's direction, but sizes of the paper, as a dart's.
    """
    one, other = (to(place_along(path, chain_length(path) / 2)[0]) for path in item.paths[:2])
    shaft = item.paths[2][0]
    if dot(to(shaft.end) - to(shaft.start), one - other) < 0.0:
        one, other = other, one
    return arrow_across(one, other)


def number_places(page: Page, to: PointMap, chains: Sequence[Sequence[Segment]]) -> list[complex]:
    """Return where on paper the numbers stand: beside the mouths, outside the piece."""
    clear = Clearings([[s.mapped(lambda z: z * FINENESS) for s in chain] for chain in chains])
    room = page.layout.piece
    outline = [to(z) for z in flattened(whole_cut_line(page.draft), 12)]
    reach = NUMBER_RADIUS + _NUMBER_ROOM
    found: list[complex] = []
    for section in page.sections:
        middle, out = _mouth(section)
        start = to(middle)
        way = unit(to(middle + out) - start)
        places = [
            start + way * (reach + 0.5 * step) + 1j * way * side
            for side in (0.0, 3.0, -3.0, 6.0, -6.0)
            for step in range(24)
        ]
        inside = [
            z for z in places
            if room.x + reach <= z.real <= room.x + room.width - reach
            and room.y + reach <= z.imag <= room.y + room.height - reach
        ]  # fmt: skip
        free = [
            z
            for z in inside
            if not encloses(outline, z)
            and all(abs(z - other) >= 2 * reach for other in found)
            and not clear.hits(
                z * FINENESS, 1 + 0j, reach * FINENESS, reach * FINENESS, reach * FINENESS
            )
        ]
        found.append((free or inside or [start])[0])
    return found


def _mouth(section: Section) -> tuple[complex, complex]:
    """Return the middle of a mouth and the way out of the piece there."""
    item = section.item
    if isinstance(item, DrawnDart):
        return sum(item.dart.ends) / 2, item.dart.middle_ray
    start, end = item.ends
    return (start + end) / 2, -1j * unit(end - start)


def _arrow(surface: PageSurface, one: Arrow) -> None:
    head = [Line(a, b) for a, b in itertools.pairwise((*one.head, one.head[0]))]
    shaft = (Line(one.tail, one.foot),)
    stroke = NOTES_STROKES[ARROW]
    surface.chain(Stroke(stroke.width + 2 * _HALO, ink="#ffffff"), shaft, "arrow-edge")
    surface.chain(Stroke(2 * _HALO, fill="#ffffff", ink="#ffffff"), head, "arrow-edge", closed=True)
    surface.chain(stroke, shaft, "arrow")
    surface.chain(SOLID, head, "arrow", closed=True)


def _sample(surface: PageSurface, kind: str, at: complex) -> None:
    end = at + SAMPLE
    if kind == ARROW:
        _arrow(surface, arrow(at, end))
    elif kind == APEX:
        for line in apex_cross(at + SAMPLE / 2):
            surface.chain(NOTES_STROKES[APEX], line.chain, "key")
    elif kind == WINDOW:
        corners = [at - 1.2j, end - 1.2j, end + 1.2j, at + 1.2j]
        surface.lines(NOTES_STROKES[kind], corners, "key", closed=True)
    else:
        surface.lines(NOTES_STROKES[kind], (at, end), "key")
