"""The drawings that drafters might make of a block: every unit, transform, command and style."""

from __future__ import annotations

import cmath
import math
import random
from dataclasses import dataclass, replace

from tests.help.blocks.random_blocks import Block, Points, Segment, at, nearest, tangent


@dataclass(frozen=True)
class Similarity:
    """The map ``z -> a * z + b``, of the conjugate of z where mirrored."""

    a: complex = 1 + 0j
    mirrored: bool = False
    b: complex = 0j

    def __call__(self, z: complex) -> complex:
        """Map one point."""
        return self.a * (z.conjugate() if self.mirrored else z) + self.b

    def inverse(self) -> Similarity:
        """The map back."""
        a = 1 / (self.a.conjugate() if self.mirrored else self.a)
        return Similarity(a, self.mirrored,
                          -a * (self.b.conjugate() if self.mirrored else self.b))

    def after(self, inner: Similarity) -> Similarity:
        """The map that applies ``inner`` first."""
        a = inner.a.conjugate() if self.mirrored else inner.a
        return Similarity(self.a * a, self.mirrored != inner.mirrored, self(inner.b))


def _random_transform(rng: random.Random) -> tuple[str, Similarity]:
    """One to three transform functions as an attribute value, and the map they stand for."""
    texts, whole = [], Similarity()
    for _ in range(rng.choice((1, 1, 2, 3))):
        x, y, s = rng.uniform(-90, 90), rng.uniform(-90, 90), rng.uniform(0.5, 2)
        angle = rng.choice((90.0, rng.uniform(-180, 180)))
        spin = cmath.exp(1j * math.radians(angle))
        text, one = rng.choice((
            (f"translate({x!r},{y!r})", Similarity(b=complex(x, y))),
            (f"rotate({angle!r})", Similarity(spin)),
            (f"rotate({angle!r} {x!r} {y!r})",
             Similarity(spin, b=complex(x, y) - spin * complex(x, y))),
            (f"scale({s!r})", Similarity(s + 0j)),
            (f"scale({-s!r},{s!r})", Similarity(-s + 0j, True)),
            (f"matrix({spin.real!r},{spin.imag!r},{spin.imag!r},{-spin.real!r},{x!r},{y!r})",
             Similarity(spin, True, complex(x, y)))))
        texts.append(text)
        whole = whole.after(one)
    return " ".join(texts), whole


def _path_data(rng: random.Random, pieces: list[Points], closed: bool) -> str:
    """Path data of connected pieces in mixed absolute and relative commands."""
    def pair(z: complex) -> str:
        return f"{z.real!r}{rng.choice((',', ' '))}{z.imag!r}"

    words = [rng.choice(("M", "m")) + pair(pieces[0][0])]
    here, handle = pieces[0][0], None
    calm = rng.random() < 0.5
    for index, points in enumerate(pieces):
        relative = not calm and rng.random() < 0.5
        base = here if relative else 0j

        def word(letter: str, *zs: complex, low: bool = relative, origin: complex = base) -> str:
            return (letter.lower() if low else letter) + " ".join(pair(z - origin) for z in zs)

        end, shown = points[-1], points[-1] - base
        size = max(abs(z - points[0]) for z in points)
        if len(points) == 2:
            if not (closed and index == len(pieces) - 1 and rng.random() < 0.5):
                if abs(end.imag - here.imag) < 1e-13 * size:
                    words.append(("h" if relative else "H") + repr(shown.real))
                elif abs(end.real - here.real) < 1e-13 * size:
                    words.append(("v" if relative else "V") + repr(shown.imag))
                elif not calm and rng.random() < 0.05:  # an arc without radius is a line
                    words.append(f"{'a' if relative else 'A'}0 0 0 0 0 {pair(shown)}")
                else:
                    words.append(word("L", end))
            handle = None
        else:
            a, b, c, d = points
            if not calm and handle is not None and abs(2 * a - handle - b) < 1e-13 * size:
                words.append(word("S", c, d))
                handle = c
            elif not calm and abs(a - 3 * b + 3 * c - d) < 1e-13 * size:
                words.append(word("Q", (3 * b - a) / 2, d))
                handle = None
            else:
                words.append(word("C", b, c, d))
                handle = c
        here = end
    return " ".join(words) + (rng.choice((" Z", "z")) if closed else "")


@dataclass(frozen=True)
class Target:
    """Where the dart goes: a place on the outline, its own share and how it is drawn."""

    segment: int
    place: complex
    share: float | None = None
    drawn: str = "mark"


@dataclass(frozen=True)
class Drawing:
    """A drawing's text and what is true of it.

    ``to_root`` maps the block's own millimetres to millimetres of the root's user space
    (user units times ``mm_per_unit``). ``names`` holds each marked run's spelling.
    """

    text: str
    block: Block
    mm_per_unit: float
    to_root: Similarity
    names: dict[int, str]
    targets: tuple[Target, ...]
    folds: frozenset[int]
    hold: complex | None


SPELLINGS = {"neckline": ("neckline", "neck", "Neckline"), "shoulder": ("shoulder", "SHOULDER"),
             "armhole": ("armhole", "armscye"), "side seam": ("side seam", "side", "Side Seam"),
             "waist": ("waist", "Waist"), "hem": ("hem",), "cap": ("cap",), "wrist": ("wrist",),
             "centre front": ("centre front", "center front", "CF"),
             "centre back": ("centre back", "center back", "cb"),
             "underarm seam": ("underarm seam",), "inseam": ("inseam",),
             "crotch seam": ("crotch seam", "Crotch seam")}
_HEAD = ('xmlns="http://www.w3.org/2000/svg" '
         'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
         'xmlns:dartswing="urn:dartswing:1"')
UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": 25.4 / 96, "none": 25.4 / 96}


class _Writer:
    """Writes marks and the outline of one block in one style."""

    def __init__(self, rng: random.Random, to_user: Similarity, size: float) -> None:
        self.rng, self.to_user, self.size, self.count = rng, to_user, size, 0

    def role(self, words: str, attributes: dict[str, str], simple: bool = False) -> str:
        """Says a role by label, by id where it is one word, or by attributes."""
        rng = self.rng
        self.count += 1
        way = rng.choice(("label", "label", "attribute", "id" if simple else "label"))
        ident = f'id="o{self.count}"'
        if way == "id":
            return f'id="{words}"'
        if way == "attribute":
            return ident + "".join(f' dartswing:{k}="{v}"' for k, v in attributes.items())
        label = rng.choice((words, f" {words} ", words.upper() if simple else words))
        return f'{ident} inkscape:label="{label}"'

    def mark(self, place: complex, role: str, local: Similarity) -> str:
        """A small object whose centre is the place (block millimetres)."""
        rng, z = self.rng, local(self.to_user(place))
        r = abs(local.a * self.to_user.a) * rng.uniform(0.8, 2.5) * self.size
        x, y = z.real, z.imag
        if rng.random() < 0.3:
            arm = f"M{x - r!r} {y!r}h{2 * r!r}M{x!r},{y - r!r}v{2 * r!r}"
            return f'<path {role} d="{arm}" style="stroke:#000"/>'
        return rng.choice((
            f'<circle {role} cx="{x!r}" cy="{y!r}" r="{r!r}"/>',
            f'<ellipse {role} cx="{x!r}" cy="{y!r}" rx="{r!r}" ry="{r / 2!r}"/>',
            f'<rect {role} x="{x - r!r}" y="{y - r / 2!r}" width="{2 * r!r}" height="{r!r}"/>',
            f'<text {role} x="{x!r}" y="{y!r}" font-size="{r!r}">x</text>'))

    def path(self, pieces: list[Points], role: str, local: Similarity, closed: bool,
             extra: str = "") -> str:
        """A path through the pieces (block millimetres)."""
        mapped = [tuple(local(self.to_user(z)) for z in points) for points in pieces]
        data = _path_data(self.rng, mapped, closed)
        return f'<path {role} d="{data}" fill="none" stroke="#000"{extra}/>'


def _outline(writer: _Writer, block: Block, style: str, names: dict[int, str],
             local: Similarity) -> str:
    """The outline as one closed path, or as a group of open paths in any order and direction."""
    rng = writer.rng
    start = rng.randrange(len(block.segments))
    order = block.segments[start:] + block.segments[:start]
    turned_round = rng.random() < 0.5
    if style == "path":
        pieces = [s.points for s in order]
        if turned_round:
            pieces = [points[::-1] for points in reversed(pieces)]
        more, inner = _random_transform(rng) if rng.random() < 0.3 else ("", Similarity())
        role = writer.role("outline", {"role": "outline"}, simple=True)
        return writer.path(pieces, role, inner.inverse().after(local), True,
                           f' transform="{more}"' if more else "")
    groups: list[list[Segment]] = []
    for segment in block.segments[block.mouth:] + block.segments[:block.mouth]:
        if groups and groups[-1][-1].run == segment.run and rng.random() < 0.7:
            groups[-1].append(segment)
        else:
            groups.append([segment])
    members = []
    for group in groups:
        pieces = [s.points for s in group]
        if rng.random() < 0.5:
            pieces = [points[::-1] for points in reversed(pieces)]
        name = "dart" if group[0].run < 0 else names.get(group[0].run, "")
        writer.count += 1
        role = f'id="o{writer.count}"' + (f' inkscape:label="{name}"' if name else "")
        members.append(writer.path(pieces, role, local, False))
    rng.shuffle(members)
    role = writer.role("outline", {"role": "outline"}, simple=True)
    return f"<g {role}>{''.join(members)}</g>"


def to_svg(block: Block, rng: random.Random, *, style: str | None = None, unit: str | None = None,
           targets: tuple[Target, ...] = (), named: bool = True, pose: bool | None = None,
           fold: bool = False, hold: complex | None = None) -> Drawing:
    """Draw the block as a drafter might: any unit, groups, transforms, marks and commands.

    Args:
        block: The block to draw.
        rng: Decides everything left open.
        style: ``path`` or ``group``.
        unit: ``mm``, ``cm``, ``in``, ``px`` or ``none``.
        targets: The marks or slash lines to draw.
        named: Whether seams get names.
        pose: Whether the block may be turned and mirrored; None leaves it to chance.
        fold: Whether the centre seam is marked as lying on the fold.
        hold: A place on the part to hold, in the block's millimetres.
    """
    style, unit = style or rng.choice(("path", "group")), unit or rng.choice(list(UNITS))
    scaling = rng.choice((1.0, 1.0, 0.5, 3.7)) if unit in ("mm", "cm", "in") else 1.0
    mm_per_unit = UNITS[unit] / scaling
    posed = rng.random() < 0.6 if pose is None else pose
    turn = cmath.exp(1j * rng.choice((math.pi / 2, math.pi, rng.uniform(-3.14, 3.14))))
    place = Similarity(turn if posed else 1 + 0j, posed and rng.random() < 0.5)
    corners = [place(z) for s in block.segments for z in s.points]
    low = complex(min(z.real for z in corners), min(z.imag for z in corners)) - 25 - 25j
    high = complex(max(z.real for z in corners), max(z.imag for z in corners)) + 25 + 25j
    origin = rng.choice((0j, complex(rng.uniform(-200, 200), rng.uniform(-200, 200))))
    if unit == "none":
        origin = 0j
    to_root = Similarity(place.a, place.mirrored, origin - low)
    to_user = Similarity(1 / mm_per_unit + 0j).after(to_root)
    names = {run: rng.choice(SPELLINGS[seam]) for run, seam in enumerate(block.runs)} if named \
        else {}
    folds = frozenset(run for run, seam in enumerate(block.runs)
                      if fold and seam.startswith("centre"))
    small = min(1.0, block.scale)
    writer = _Writer(rng, to_user, small)
    layer_text, layer = _random_transform(rng) if rng.random() < 0.5 else ("", Similarity())
    group_text, group = _random_transform(rng) if rng.random() < 0.5 else ("", Similarity())
    in_layer, in_group = layer.inverse(), group.inverse().after(layer.inverse())
    here, there = [_outline(writer, block, style, names, in_group)], []

    def add(text_in_group: str, text_in_layer: str) -> None:
        if style == "path" and rng.random() < 0.5:
            here.append(text_in_group)
        else:
            there.append(text_in_layer)

    def add_mark(where: complex, role: str) -> None:
        state = rng.getstate()
        inside = writer.mark(where, role, in_group)
        rng.setstate(state)
        add(inside, writer.mark(where, role, in_layer))

    add_mark(block.apex, writer.role("apex", {"role": "apex"}, simple=True))
    if hold is not None:
        add_mark(hold, writer.role("hold", {"role": "hold"}, simple=True))
    marked = set(names) | set(folds)
    for run in sorted(marked):
        if style == "group" and run in names and run not in folds and rng.random() < 0.8:
            continue  # the members' own labels say it
        longest = max((s.points for s in block.segments if s.run == run),
                      key=lambda points: abs(points[-1] - points[0]))
        spot = at(longest, 0.5) + rng.uniform(-2, 2) * small * 1j * tangent(longest, False)
        if run in folds:
            role = writer.role(f"seam {names.get(run, block.runs[run])} fold",
                               {"role": "seam", "name": names.get(run, block.runs[run]),
                                "fold": "yes"})
        else:
            role = writer.role(f"seam {names[run]}", {"role": "seam", "name": names[run]})
        add_mark(spot, role)
    placed = []
    for target in targets:
        share = "" if target.share is None else f" {target.share}"
        data = {"role": "target"} | ({"share": share.strip()} if share else {})
        role = writer.role(f"target{share}", data, simple=len(targets) == 1 and not share)
        if target.drawn == "slash":
            line = [(target.place, block.apex)[:: rng.choice((1, -1))]]
            there.append(writer.path(line, role, in_layer, False))
            placed.append(target)
            continue
        own = block.segments[target.segment].points
        t, _ = nearest(own, target.place)
        ahead, behind = at(own, min(1, t + 1e-4)), at(own, max(0, t - 1e-4))
        normal = 1j * (ahead - behind) / abs(ahead - behind)
        spot = target.place
        if target.drawn == "near":
            spot += normal * rng.uniform(-6, 6) * small
        add_mark(spot, role)
        hits = [(*nearest(s.points, spot), i) for i, s in enumerate(block.segments) if s.run >= 0]
        t, _, index = min(hits, key=lambda hit: hit[1])
        placed.append(replace(target, segment=index, place=at(block.segments[index].points, t)))
    rng.shuffle(here)
    rng.shuffle(there)
    inner = "".join(here)
    spread = f' transform="{group_text}"' if group_text else ""
    grouped = f'<g id="pieces"{spread}>{inner}</g>' if group_text or rng.random() < 0.5 else inner
    spread = f' transform="{layer_text}"' if layer_text else ""
    body = (f'<g inkscape:groupmode="layer" inkscape:label="Block"{spread}>'
            f'{grouped}{"".join(there)}</g>')
    size, begin = (high - low) / mm_per_unit, origin / mm_per_unit
    box = f'viewBox="{begin.real!r} {begin.imag!r} {size.real!r} {size.imag!r}"'
    if unit in ("mm", "cm", "in"):
        page = f'width="{size.real / scaling!r}{unit}" height="{size.imag / scaling!r}{unit}" {box}'
    elif unit == "px":
        page = f'width="{size.real!r}{rng.choice(("px", ""))}" height="{size.imag!r}" {box}'
    else:
        page = rng.choice((f'width="{size.real!r}" height="{size.imag!r}"', ""))
    text = (f'<?xml version="1.0" encoding="UTF-8"?>\n<svg {_HEAD} {page}>\n'
            f'<title>Invented block</title>\n{body}\n'
            '<g id="bystander"><path d="M0 0h1"/></g></svg>')
    return Drawing(text, block, mm_per_unit, to_root, names, tuple(placed), folds, hold)
