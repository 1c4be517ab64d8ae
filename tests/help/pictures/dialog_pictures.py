"""Makes the pictures in the dialogs: ``python -m tests.help.pictures.dialog_pictures``.

Each shows without words what the settings of one tab mean. The pieces in them are drafted by the
project itself from an invented block; the editor turns the drawings into small PNG files.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from drafting_core.block.target_words import targets_in_words
from drafting_core.finished.draft import move_dart
from drafting_core.finished.pattern_piece import Draft
from extension.document import roles
from extension.marking.mark_signs import glyph
from extension.options.settings_text import read_settings
from tests.help.pictures import clean_pictures, paper_pictures, sewing_pictures
from tests.help.pictures.picture_canvas import FAINT, INK, NEW, SHADE, Canvas, To, xy
from tests.help.pictures.picture_front import block_lines, front, scaled

PICTURES = Path(__file__).parents[3] / "extension" / "pictures"


def moved(to: str, **options: str) -> Draft:
    """Return the front with its dart moved."""
    given = {name.replace("_", "-"): value for name, value in options.items()}
    return move_dart(front(), read_settings(given, "mm"), targets_in_words(to))


def piece(canvas: Canvas, draft: Draft, to: To, *, cut: bool = False) -> None:
    """Draw a finished piece: stitch line, its darts in colour, and the cut line if wanted."""
    if cut:
        canvas.path(draft.cut_line, to, width=1.6, closed=True)
    canvas.path(draft.stitch_line, to, dash="5 2.5" if cut else "", closed=True)
    for item in draft.darts:
        ends = [to(z) for z in (*item.dart.ends, item.dart.point)]
        canvas.raw(f"M {xy(ends[0])} L {xy(ends[2])} L {xy(ends[1])} Z", NEW, 1.4, fill=SHADE)
    if draft.apexes:
        canvas.cross(to(draft.apexes[0]))


def place() -> Canvas:
    """Two ways to say the place: a target mark on the seam; then the dart is there."""
    canvas = Canvas()
    to, beside = scaled(0.31, 70 + 9j), scaled(0.31, 285 + 9j)
    canvas.path(block_lines(front()), to, closed=True)
    canvas.raw(
        f"M {xy(to(60 + 400j))} L {xy(to(95 + 230j))} L {xy(to(130 + 400j))} Z",
        FAINT,
        fill="#eef1f4",
    )
    canvas.cross(to(95 + 230j))
    target = to(231 + 280j)
    canvas.arrow(to(112 + 360j), target - 8, bow=0.3)
    canvas.dot(target)
    canvas.line(190 + 75j, 245 + 75j, FAINT, 2)
    canvas.raw("M 238,69 L 246,75 L 238,81", FAINT, 2)
    piece(canvas, moved("side seam:0.35"), beside)
    return canvas


def opening() -> Canvas:
    """The five things that an opening can become, in the order of the list."""
    canvas = Canvas()
    top = 40.0
    for number in range(5):
        x = 12 + 86 * number
        left, right, middle = complex(x, top), complex(x + 72, top), complex(x + 36, top)
        bottom = 130j - 1j * top
        canvas.through((left, left + bottom, right + bottom, right), "none", fill="#f5f7f9")
        if number == 0:
            canvas.line(left, middle - 16)
            canvas.line(middle + 16, right)
            canvas.through((middle - 16, middle + 60j, middle + 16), fill=SHADE)
            canvas.line(middle - 4j, middle + 60j, NEW, 1.2, "6 2 1 2")
        elif number == 1:
            wave = "".join(" q 3,-7 6,0 q 3,7 6,0" for _ in range(4))
            canvas.line(left, left + 12)
            canvas.line(right - 12, right)
            canvas.raw(f"M {xy(left + 12)}{wave}", NEW, 1.6)
            for step in range(7):
                z = left + 15 + 7 * step
                canvas.line(z + 10j, z + (22 + 8 * (step % 2)) * 1j, NEW, 1.0)
        elif number == 2:
            canvas.line(left, right)
            canvas.line(left + 14, right - 14, NEW, 3.2, "1 5")
            for z in (left + 14, right - 14):
                canvas.line(z - 5j, z + 6j, NEW, 1.6)
        elif number == 3:
            canvas.line(left, middle - 13)
            canvas.line(middle + 13, right)
            foot = middle + 40j
            canvas.through((middle - 13, foot - 7, foot + 7, middle + 13), fill=SHADE)
            canvas.line(middle - 4j, middle + 40j, NEW, 1.2, "6 2 1 2")
            for shift in (-7, 7):
                canvas.line(middle + shift + 44j, middle + 2.2 * shift + 84j, FAINT, 1.0, "3 3")
        else:
            canvas.line(left + 10, right - 10)
            canvas.line(left + 10, left - 2 + bottom, FAINT, 1.2, "3 3")
            canvas.line(right - 10, right + 2 + bottom, FAINT, 1.2, "3 3")
            hem = middle + bottom
            canvas.raw(f"M {xy(hem - 42)} Q {xy(hem + 12j)} {xy(hem + 42)}", NEW, 1.8)
            canvas.line(middle, middle - 10 + bottom, NEW, 1.0)
            canvas.line(middle, middle + 10 + bottom, NEW, 1.0)
            canvas.through((middle, hem - 10, hem + 10), "none", fill=SHADE)
    return canvas


def trueing() -> Canvas:
    """A seam's corner where a dart was closed, then drawn smooth over a length; the same folded."""
    canvas = Canvas()
    for x, smooth in ((25, False), (245, True)):
        a, corner, b = complex(x, 110), complex(x + 85, 78), complex(x + 170, 110)
        canvas.line(corner, corner - 62j, FAINT, 1.2, "4 3")
        if smooth:
            inner = (corner + 0.55 * (a - corner), corner + 0.55 * (b - corner))
            canvas.line(inner[0], corner, FAINT)
            canvas.line(corner, inner[1], FAINT)
            canvas.line(a, inner[0])
            canvas.line(inner[1], b)
            handles = (corner + 0.12 * (a - corner), corner + 0.12 * (b - corner))
            curve = " ".join(xy(z) for z in (*handles, inner[1]))
            canvas.raw(f"M {xy(inner[0])} C {curve}", NEW, 2.2)
            canvas.dimension(inner[0] + 32j, inner[1] + 32j)
        else:
            canvas.line(a, corner)
            canvas.line(corner, b)
    canvas.line(205 + 75j, 232 + 75j, FAINT, 2)
    canvas.raw("M 225,69 L 233,75 L 225,81", FAINT, 2)
    return canvas


def dart() -> Canvas:
    """A finished dart: clearance from the apex, fold, what is trimmed and what is left."""
    canvas = Canvas()
    for x, options in ((0, {}), (220, {"cloth": "sheer"})):
        draft = moved("side seam:0.35", **options)
        item = draft.darts[0]
        to = scaled(0.62, complex(x - 22, -112))
        lines = Canvas()
        piece(lines, draft, to, cut=True)
        if item.window:
            lines.path(item.window, to, width=1.0, dash="2 2", fill="#e5e7eb", closed=True)
            leg = item.dart.ends[0] - item.dart.point
            square = 1j * leg / abs(leg) * draft.settings.trim_allowance
            at = item.dart.point + 0.8 * leg
            inward = (
                square
                if abs(at + square - item.dart.ends[1]) < abs(at - square - item.dart.ends[1])
                else -square
            )
            lines.dimension(to(at), to(at + inward))
        else:
            shaft = [to(z) for z in item.arrow[:2]]
            lines.arrow(shaft[0], shaft[1])
        lines.dimension(to(draft.apexes[0]) - 14j, to(item.dart.point) - 14j)
        frame = f"frame{x + 100}"
        canvas.body.append(
            f'<clipPath id="{frame}"><rect x="{x + 8}" y="6" width="204" height="138"/></clipPath>'
            f'<g clip-path="url(#{frame})">{"".join(lines.body)}</g>'
        )
    return canvas


def allowances() -> Canvas:
    """Each seam with its own width; the centre on the fold with none; a hem turned back."""
    canvas = Canvas()
    draft = moved(
        "side seam:0.35", allowance="14mm, neckline=7mm, centre front=0, waist=36mm turned"
    )
    to = scaled(0.29, 75 + 10j)
    piece(canvas, draft, to, cut=True)
    for x in (-3.0, 0.0):
        canvas.line(to(80j) + x, to(400j) + x, NEW, 1.0, "8 2 1 2")
    canvas.dimension(to(140 + 26j), to(140 + 26j) + 14 * 0.29 * 3.2 * (0.36 - 0.93j))
    near = scaled(1.1, 300 - 365j)
    lines = Canvas()
    piece(lines, draft, near, cut=True)
    lines.line(near(80j), near(400j), NEW, 1.4, "8 2 1 2")
    lines.dimension(near(45 + 400j), near(45 + 436j))
    lines.arrow(near(80 + 428j), near(80 + 385j), bow=-0.6)
    canvas.body.append(
        '<clipPath id="near"><rect x="250" y="8" width="180" height="134"/></clipPath>'
        f'<g clip-path="url(#near)">{"".join(lines.body)}</g>'
    )
    return canvas


def piece_words() -> Canvas:
    """What is written on the piece: name and size on the cloth, grainline, test square."""
    canvas = Canvas()
    to = scaled(0.31, 120 + 6j)
    draft = moved("side seam:0.35")
    piece(canvas, draft, to, cut=True)
    grain = [to(draft.grain.start), to(draft.grain.end)]
    canvas.line(grain[0], grain[1], INK)
    for end, back in ((grain[0], 1j), (grain[1], -1j)):
        canvas.raw(f"M {xy(end - 4 + 7 * back)} L {xy(end)} L {xy(end + 4 + 7 * back)}")
    for row, length in enumerate((26, 17)):
        canvas.line(to(92 + 135j) + 12j * row, to(92 + 135j) + 12j * row + length, NEW, 4.0)
    canvas.raw("M 280,20 h 40 v 40 h -40 Z")
    for row, length in enumerate((120, 110, 122, 80)):
        canvas.line(complex(280, 82 + 14 * row), complex(280 + length, 82 + 14 * row), FAINT, 3.0)
    return canvas


def more() -> Canvas:
    """A nest: the marks on one size hold for the others; one that cannot be drafted is left out."""
    canvas = Canvas()
    for number, scale in enumerate((0.22, 0.26, 0.3)):
        to = scaled(scale, complex(40 + 135 * number, 138 - 400 * scale))
        ink = INK if number != 2 else FAINT
        canvas.path(block_lines(front()), to, ink, closed=True)
        target = to(231 + 280j)
        if number == 0:
            canvas.cross(to(95 + 230j), NEW)
            canvas.dot(target)
        elif number == 1:
            canvas.body.append(
                f'<circle cx="{target.real}" cy="{target.imag}" r="4" fill="none" '
                f'stroke="{NEW}" stroke-width="1.4"/>'
            )
            canvas.cross(to(95 + 230j), FAINT)
        else:
            middle = to(110 + 200j)
            canvas.line(middle - 12 - 12j, middle + 12 + 12j, FAINT, 3)
            canvas.line(middle - 12 + 12j, middle + 12 - 12j, FAINT, 3)
    canvas.arrow(98 + 118j, 218 + 118j, bow=0.12)
    return canvas


def finish() -> Canvas:
    """The rarer settings of a dart: how far the drill hole lies from its point; when it is wide."""
    canvas = Canvas()
    point, left, right = 220 + 22j, 160 + 118j, 280 + 118j
    canvas.line(30 + 118j, left)
    canvas.line(right, 410 + 118j)
    canvas.through((left, point, right), fill=SHADE)
    hole = point + 34j
    canvas.body.append(
        f'<circle cx="{hole.real}" cy="{hole.imag}" r="4" fill="#ffffff" '
        f'stroke="{INK}" stroke-width="1.4"/>'
    )
    canvas.dimension(point + 26, hole + 26)
    canvas.line(point + 6, point + 22, FAINT)
    canvas.line(hole + 8, hole + 22, FAINT)
    canvas.dimension(left + 14j, right + 14j)
    return canvas


def known_length() -> Canvas:
    """A scan with a ruler in it, and the line that is drawn over a known length."""
    canvas = Canvas()
    canvas.raw("M 60,14 l 300,-6 l 8,122 l -300,8 Z", FAINT, fill="#f5f7f9")
    to = scaled(0.26, 90 + 22j)
    canvas.path(block_lines(front()), to, FAINT, closed=True)
    canvas.raw("M 190,92 h 150 v 26 h -150 Z", FAINT)
    for step in range(11):
        canvas.line(
            196 + 13.8 * step + 92j, 196 + 13.8 * step + (99 + 5 * (step % 5 == 0)) * 1j, FAINT
        )
    canvas.dimension(196 + 82j, 334 + 82j)
    return canvas


def compared() -> Canvas:
    """One page with the dart in three places."""
    canvas = Canvas()
    canvas.raw("M 40,8 h 360 v 134 h -360 Z", FAINT)
    for number, to in enumerate(("neckline/centre front", "side seam:0.35", "waist")):
        piece(canvas, moved(to), scaled(0.24, complex(65 + 120 * number, 18)))
        for row, length in enumerate((62, 48)):
            y = 124 + 8 * row
            canvas.line(
                complex(62 + 120 * number, y), complex(62 + 120 * number + length, y), FAINT, 2.4
            )
    return canvas


def mates() -> Canvas:
    """Two seams that are sewn together, walked along each other."""
    canvas = Canvas()
    for x, height, side in ((110, 116, -1), (330, 108, 1)):
        top, foot = complex(x, 16), complex(x, 16 + height)
        canvas.raw(f"M {xy(top)} l {58 * side},14 M {xy(foot)} l {64 * side},-4", FAINT)
        canvas.line(top, foot, NEW, 2.2)
        for part in (0.35, 0.7):
            z = top + part * (foot - top)
            canvas.line(z, z + 9 * side, INK, 1.6)
    canvas.dimension(170 + 16j, 170 + 132j, FAINT)
    canvas.dimension(270 + 16j, 270 + 124j, FAINT)
    canvas.raw("M 205,66 h 30 M 205,78 h 30", INK, 2.4)
    canvas.raw("M 213,84 L 227,60", NEW, 2.4)
    return canvas


def sign(canvas: Canvas, word: str, at: complex, size: float = 16.0) -> None:
    """Draw the sign of a role, as Mark parts draws it."""
    path = glyph(word, at, size, 1.0)
    canvas.raw(str(path.get("d")), NEW, 1.3)


def signs() -> Canvas:
    """Every sign of Mark parts, row by row."""
    canvas = Canvas()
    words = (
        (roles.OUTLINE, roles.APEX, roles.TARGET, roles.SEAM),
        (roles.HOLD, roles.DART, roles.GRAIN, roles.NOTCH),
        (roles.KNOWN_LENGTH, roles.KNOWN_RECTANGLE, roles.KNOWN_GRID),
        (roles.INNER_LINE, roles.STYLE_LINE),
    )
    for row, signs_of_row in enumerate(words):
        for column, word in enumerate(signs_of_row):
            sign(canvas, word, complex(70 + 100 * column, 22 + 35 * row), 24.0)
    return canvas


def part() -> Canvas:
    """A front on which every part has its sign."""
    canvas = Canvas()
    to = scaled(0.31, 180 + 18j)
    canvas.path(block_lines(front()), to, closed=True)
    for word, spot, beside in (
        ("apex", 95 + 230j, 70 - 10j),
        ("target", 230 + 300j, 30 + 0j),
        ("seam", 131 + 22j, 60 - 4j),
        ("hold", 30 + 330j, -69 + 0j),
        ("notch", 172 + 130j, 40 + 0j),
        ("outline", 0 + 180j, -60 + 0j),
    ):
        canvas.dot(to(spot), NEW, 2.4)
        place = to(spot) + beside
        way = beside / abs(beside)
        canvas.line(to(spot) + 5 * way, place - 12 * way, FAINT)
        sign(canvas, word, place)
        start = place + (16 if beside.real > 0 else -50)
        canvas.line(start, start + 34, FAINT, 2.4)
    return canvas


ALL: dict[str, Callable[[], Canvas]] = {
    "place": place,
    "opening": opening,
    "trueing": trueing,
    "dart": dart,
    "allowances": allowances,
    "piece": piece_words,
    "more": more,
    "finish": finish,
    "length": known_length,
    "compare": compared,
    "balance": mates,
    "part": part,
    "signs": signs,
    **clean_pictures.ALL,
    **paper_pictures.ALL,
    **sewing_pictures.ALL,
}


if __name__ == "__main__":
    for name, draw in ALL.items():
        draw().save(PICTURES / f"{name}.png")
