"""The pictures of the dialog of sewing notes, which `dialog_pictures` makes with the others."""

from __future__ import annotations

from collections.abc import Callable

from drafting_core.block.target_words import targets_in_words
from drafting_core.finished.draft import move_dart
from drafting_core.finished.pattern_piece import Draft
from extension.options.settings_text import read_settings
from extension.sewing.pictures import Disc, step_box, step_drawing
from extension.sewing.steps import FOLD, PRESS, STITCH, TRIM
from extension.sewing.words import Section, sections
from tests.help.pictures.picture_canvas import FAINT, NEW, SHADE, Canvas, To
from tests.help.pictures.picture_front import front, scaled

#: Pixels to a millimetre of a stroke or a sign.
FINENESS = 2.4
#: Everything in the dialogs' colours.
COLOURS = {"#000000": NEW, "#e3e3e3": SHADE, "#cfcfcf": "#b4ddd8"}


def drafted() -> Draft:
    settings = read_settings({"cloth": "sheer"}, "mm")
    return move_dart(front(), settings, targets_in_words("side seam:0.35"))


def step(canvas: Canvas, section: Section, kind: str, draft: Draft, middle: complex) -> None:
    """Draw a step as the page does, its middle at a place."""
    box = step_box(section, kind, draft)
    centre = complex(box.left + box.right, box.top + box.bottom) / 2
    # Drawn in the page's millimetres first, so that pins and arrows have their size.
    scale = 1.9 * FINENESS
    for shape in step_drawing(section, kind, draft, lambda z: (z - centre) / scale):
        ink = COLOURS.get(shape.stroke.ink, shape.stroke.ink)
        fill = COLOURS.get(shape.stroke.fill, shape.stroke.fill)
        width = shape.stroke.width * FINENESS
        if shape.stroke.fill_opacity < 1.0:
            fill = "#8fc7c0"
        if isinstance(shape, Disc):
            canvas.dot(middle + shape.centre * FINENESS, ink, shape.radius * FINENESS)
            continue
        dash = " ".join(f"{length * FINENESS:.2f}" for length in shape.stroke.dashes)
        canvas.path(
            shape.chain,
            lambda z: middle + z * FINENESS,
            ink,
            width,
            dash,
            fill,
            closed=shape.closed,
        )


def page() -> Canvas:
    """A page: the piece with its dart numbered, words, and a row of steps."""
    canvas = Canvas()
    canvas.raw("M 150,6 h 140 v 138 h -140 Z", FAINT, fill="#ffffff")
    draft = drafted()
    to: To = scaled(0.17, 160 + 16j)
    canvas.path(draft.cut_line, to, width=1.4, closed=True)
    (item,) = draft.darts
    ends = [to(z) for z in (*item.dart.ends, item.dart.point)]
    canvas.through((ends[0], ends[2], ends[1]), NEW, 1.4, SHADE)
    number = (ends[0] + ends[1]) / 2 + 14
    canvas.body.append(
        f'<circle cx="{number.real}" cy="{number.imag}" r="6" fill="#ffffff" '
        f'stroke="{NEW}" stroke-width="1.6"/>'
    )
    canvas.line(number - 2.6j, number + 2.6j, NEW, 1.8)
    for row, length in enumerate((58, 50, 56, 34)):
        canvas.line(complex(226, 24 + 10 * row), complex(226 + length, 24 + 10 * row), FAINT, 2.4)
    for column in range(4):
        x = 158 + 32 * column
        canvas.raw(f"M {x},104 h 26 v 20 h -26 Z", FAINT, fill=SHADE)
        canvas.line(complex(x + 4, 120), complex(x + 22, 108), NEW, 1.6)
        canvas.line(complex(x, 132), complex(x + 24, 132), FAINT, 2.4)
    return canvas


def steps() -> Canvas:
    """A dart folded, stitched, trimmed and pressed."""
    canvas = Canvas()
    draft = drafted()
    (section,) = sections(draft)
    for number, kind in enumerate((FOLD, STITCH, TRIM, PRESS)):
        step(canvas, section, kind, draft, complex(58 + 108 * number, 75))
    return canvas


ALL: dict[str, Callable[[], Canvas]] = {"sew_page": page, "sew_steps": steps}
