"""What a hand does to the stitch line of a result with the node tool."""

from __future__ import annotations

import cmath
from collections.abc import Callable

from tests.help.hand.outlines import (
    LEG,
    Bit,
    Outline,
    corner,
    dart,
    longest,
    node_moved,
    normal,
    path_of,
)
from tests.help.hand.results import OURS, SVG, Drawing

Edit = Callable[[Drawing], None]


def legs_shaped(by: float, *, mirrored: bool) -> Edit:
    """Add a node half-way on each leg of a dart and move it aside, in mm."""

    def edit(drawing: Drawing) -> None:
        bits, k = drawing.bits, dart(drawing.bits)[0]
        (end, point), (_, other) = bits[k].points, bits[(k + 1) % len(bits)].points
        inward = point - (end + other) / 2
        aside = 1j * inward / abs(inward) * by / drawing.unit
        nodes = (end + point) / 2 + aside, (point + other) / 2 + (-aside if mirrored else aside)
        first, second = (
            [Bit((a, m), LEG), Bit((m, b), LEG)]
            for a, m, b in ((end, nodes[0], point), (point, nodes[1], other))
        )
        found = _replaced(bits, k, first)
        drawing.draw(_replaced(found, (found.index(first[1]) + 1) % len(found), second))

    return edit


def one_leg_bent(by: float) -> Edit:
    def edit(drawing: Drawing) -> None:
        bits, k = drawing.bits, dart(drawing.bits)[0]
        end, point = bits[k].points
        node = bits[k].at(0.5) + 1j * (point - end) / abs(point - end) * by / drawing.unit
        drawing.draw(_replaced(bits, k, [Bit((end, node), LEG), Bit((node, point), LEG)]))

    return edit


def mouth_end_along_its_leg(by: float) -> Edit:
    def edit(drawing: Drawing) -> None:
        k = dart(drawing.bits)[0]
        end, point = drawing.bits[k].points[0], drawing.bits[k].points[-1]
        step = (end - point) / abs(end - point) * by / drawing.unit
        drawing.draw(node_moved(drawing.bits, k, step))

    return edit


def dart_point_moved(aside: float = 0.0, deeper: float = 0.0) -> Edit:
    def edit(drawing: Drawing) -> None:
        first, second, behind = dart(drawing.bits)
        ends = drawing.bits[first].points[0], drawing.bits[behind].points[0]
        across = (ends[1] - ends[0]) / abs(ends[1] - ends[0])
        inward = drawing.bits[second].points[0] - (ends[0] + ends[1]) / 2
        step = (across * aside + inward / abs(inward) * deeper) / drawing.unit
        drawing.draw(node_moved(drawing.bits, second, step))

    return edit


def mouth_wider(by: float) -> Edit:
    """Turn both legs of a dart about its point, so that they stay equally long."""

    def edit(drawing: Drawing) -> None:
        first, second, behind = dart(drawing.bits)
        bits, point = drawing.bits, drawing.bits[second].points[0]
        for k in (first, behind):
            arm = bits[k].points[0] - point
            other = bits[behind if k == first else first].points[0] - point
            turn = cmath.rect(1.0, by / abs(arm) / drawing.unit / 2)
            turn = turn if abs(arm * turn - other) > abs(arm - other) else turn.conjugate()
            bits = node_moved(bits, k, arm * turn - arm)
        drawing.draw(bits)

    return edit


def longer(by: float, *seams: str) -> Edit:
    """Move all nodes of a seam down, its ends too."""

    def edit(drawing: Drawing) -> None:
        low = {
            z for bit in drawing.bits if bit.seam in seams for z in (bit.points[0], bit.points[-1])
        }
        bits = drawing.bits
        for k, bit in enumerate(drawing.bits):
            if bit.points[0] in low:
                bits = node_moved(bits, k, by * 1j / drawing.unit)
        drawing.draw(bits)

    return edit


def corner_moved(before: str, behind: str, by: complex) -> Edit:
    def edit(drawing: Drawing) -> None:
        k = corner(drawing.bits, before, behind)
        drawing.draw(node_moved(drawing.bits, k, by / drawing.unit))

    return edit


def deep_neckline(drawing: Drawing) -> None:
    """Make a deep V of the neckline: its node at the centre goes down, its curve straightens."""
    k = corner(drawing.bits, "centre front", "neckline")
    bits = node_moved(drawing.bits, k, 90j / drawing.unit)
    seam = bits[k]
    straight = seam._replace(points=(seam.points[0], seam.points[-1]))
    drawing.draw([*bits[:k], straight, *bits[k + 1 :]])


def node_added(seam: str, out: float, at: float = 0.5) -> Edit:
    """Add a node in the longest segment of a seam, as a corner, and move it outward, in mm."""

    def edit(drawing: Drawing) -> None:
        bits = drawing.bits
        k = longest(bits, seam)
        step = out * normal(bits, k, at) / drawing.unit
        found = _replaced(bits, k, list(bits[k].cut(at)))
        drawing.draw(node_moved(found, (k + 1) % len(found), step) if out else found)

    return edit


def made_a_curve(seam: str, out: float) -> Edit:
    """Pull the longest segment of a seam to a curve by its handles."""

    def edit(drawing: Drawing) -> None:
        bits, k = drawing.bits, longest(drawing.bits, seam)
        start, end = bits[k].points[0], bits[k].points[-1]
        step = out * normal(bits, k) / drawing.unit
        handles = start + (end - start) / 3 + step, end + (start - end) / 3 + step
        drawing.draw(_replaced(bits, k, [Bit((start, *handles, end), seam)]))

    return edit


def node_deleted(seam: str) -> Edit:
    """Delete a node within a seam; the editor draws one curve in place of two."""

    def edit(drawing: Drawing) -> None:
        bits = drawing.bits
        k = next(k for k, bit in enumerate(bits) if bit.seam == bits[k - 1].seam == seam)
        first, second = bits[k - 1].points, bits[k].points
        handles = (
            first[0] + 1.9 * (first[1] - first[0]),
            second[-1] + 1.9 * (second[-2] - second[-1]),
        )
        if len(first) == len(second) == 2:
            handles = ()  # type: ignore[assignment]
        whole = Bit((first[0], *handles, second[-1]), seam)
        drawing.draw([bit for bit in _replaced(bits, k, [whole]) if bit != bits[k - 1]])

    return edit


def made_smooth(seam: str) -> Edit:
    """Make a node within a seam smooth: its handles fall in one line."""

    def edit(drawing: Drawing) -> None:
        bits = drawing.bits
        k = next(k for k, bit in enumerate(bits) if bit.seam == bits[k - 1].seam == seam)
        first, second = (_cubic(bit) for bit in (bits[k - 1], bits[k]))
        along = second[2] - first[1]
        along /= abs(along)
        node = second[0]
        first[2] = node - along * abs(node - first[2])
        second[1] = node + along * abs(second[1] - node)
        found = list(bits)
        found[k - 1], found[k] = (
            bit._replace(points=tuple(p)) for bit, p in ((bits[k - 1], first), (bits[k], second))
        )
        drawing.draw(found)

    return edit


def made_a_cusp(seam: str, by: complex) -> Edit:
    """Make a node within a seam a cusp: one of its handles is turned."""

    def edit(drawing: Drawing) -> None:
        bits = drawing.bits
        k = next(k for k, bit in enumerate(bits) if bit.seam == bits[k - 1].seam == seam)
        points = _cubic(bits[k])
        points[1] = points[0] + (points[1] - points[0]) * by
        drawing.draw([*bits[:k], bits[k]._replace(points=tuple(points)), *bits[k + 1 :]])

    return edit


def corner_cut_off(before: str, behind: str, by: float) -> Edit:
    """Cut a corner off: two nodes are added beside it, and it is deleted."""

    def edit(drawing: Drawing) -> None:
        bits = drawing.bits
        k = corner(bits, before, behind)
        one, other = bits[k - 1], bits[k]
        first = one.cut(1 - by / drawing.unit / one.length())[0]
        last = other.cut(by / drawing.unit / other.length())[1]
        between = Bit((first.points[-1], last.points[0]), "either")
        found = list(bits)
        found[k - 1] = first
        drawing.draw(_replaced(found, k, [between, last]))

    return edit


def seam_deleted(seam: str) -> Edit:
    """Delete one end of a straight seam, so that its neighbour runs on to the other."""

    def edit(drawing: Drawing) -> None:
        bits = drawing.bits
        first, last = min(_of(bits, seam)), max(_of(bits, seam))
        before, end = bits[first - 1], bits[last].points[-1]
        found = list(bits)
        found[first - 1] = before._replace(points=(*before.points[:-1], end))
        drawing.draw([bit for k, bit in enumerate(found) if bits[k].seam != seam])

    return edit


def simplified(step: float) -> Edit:
    """Fit the whole outline anew by smooth curves through places a step apart; corners round."""

    def edit(drawing: Drawing) -> None:
        dots: list[tuple[complex, str]] = []
        for bit in drawing.bits:
            count = max(2, int(bit.length() * drawing.unit / step))
            dots += [(bit.at(k / count), bit.seam) for k in range(count)]
        found = []
        for k, (a, seam) in enumerate(dots):
            before, b, behind = (dots[(k + n) % len(dots)][0] for n in (-1, 1, 2))
            found.append(Bit((a, a + (b - before) / 6, b - (behind - a) / 6, b), seam))
        drawing.draw(found)

    return edit


def second_dart(seam: str, wide: float, deep: float, at: float = 0.5) -> Edit:
    """Draw a dart into a seam by hand."""

    def edit(drawing: Drawing) -> None:
        bits = drawing.bits
        k = longest(bits, seam)
        half = wide / 2 / drawing.unit / bits[k].length()
        first, rest = bits[k].cut(at - half)
        last = rest.cut(2 * half / (1 - at + half))[1]
        middle = (first.points[-1] + last.points[0]) / 2
        point = middle - deep * normal(bits, k, at) / drawing.unit
        legs = [Bit((first.points[-1], point), LEG), Bit((point, last.points[0]), LEG)]
        drawing.draw(_replaced(bits, k, [first, *legs, last]))

    return edit


def dart_closed(drawing: Drawing) -> None:
    """Delete the point of a dart and join the ends of its mouth."""
    bits = drawing.bits
    first, _, behind = dart(bits)
    gap = bits[first].points[0] - bits[behind].points[0]
    found = node_moved(bits, behind, gap)
    legs = [k for k in range(len(bits)) if bits[k].seam == LEG]
    gone = {k for k in legs if (k - first) % len(bits) < (behind - first) % len(bits)}
    drawing.draw([bit for k, bit in enumerate(found) if k not in gone])


def dart_closed_and_its_point_deleted(drawing: Drawing) -> None:
    bits, second = drawing.bits, dart(drawing.bits)[1]
    at = bits[second].points[0]
    mark = min(
        drawing.parts("dart-point"),
        key=lambda e: abs(complex(float(e.get("cx")), float(e.get("cy"))) - at),
    )
    dart_closed(drawing)
    mark.getparent().remove(mark)


def reversed_ring(drawing: Drawing) -> None:
    bits = [Bit(bit.points[::-1], bit.seam) for bit in reversed(drawing.bits)]
    drawing.draw(bits)


def started_elsewhere(drawing: Drawing) -> None:
    half = len(drawing.bits) // 2
    drawing.draw([*drawing.bits[half:], *drawing.bits[:half]])


def as_the_editor_writes(drawing: Drawing) -> None:
    """Write the same line as an editor does: in relative steps of eight digits."""
    words, here = [f"m {_short(drawing.bits[0].points[0])}"], drawing.bits[0].points[0]
    for bit in drawing.bits:
        words.append("l" if len(bit.points) == 2 else "c")
        words += [_short(z - here) for z in bit.points[1:]]
        here = bit.points[-1]
    drawing.draw(drawing.bits, " ".join([*words, "z"]))


def broken_and_joined(gap: float) -> Edit:
    """Break the path in pieces that no longer quite meet, some the other way, in mm."""

    def edit(drawing: Drawing) -> None:
        pieces = []
        for k in range(0, len(drawing.bits), 3):
            run = drawing.bits[k : k + 3]
            last = run[-1]
            step = cmath.rect(gap / drawing.unit, 0.7 * k)
            run[-1] = last._replace(points=(*last.points[:-1], last.points[-1] + step))
            pieces.append(path_of(run, closed=False))
        drawing.draw(drawing.bits, " ".join(pieces))

    return edit


def open_by(gap: float) -> Edit:
    """Break the path at its first node, and leave the two ends so far apart, in mm."""

    def edit(drawing: Drawing) -> None:
        last = drawing.bits[-1]
        step = gap / drawing.unit * (last.points[-2] - last.points[-1])
        step /= abs(last.points[-2] - last.points[-1])
        run = [
            *drawing.bits[:-1],
            last._replace(points=(*last.points[:-1], last.points[-1] + step)),
        ]
        drawing.draw(drawing.bits, path_of(run, closed=False))

    return edit


def broken_apart(drawing: Drawing) -> None:
    """Break the path in paths of their own, as break-apart leaves them: without any attribute."""
    home = drawing.stitch.getparent()
    home.remove(drawing.stitch)
    for k, bit in enumerate(drawing.bits):
        home.append(home.makeelement(f"{SVG}path", {"id": f"path{k}", "d": path_of([bit], False)}))


def self_crossing(drawing: Drawing) -> None:
    """Drag a corner across the piece."""
    k = corner(drawing.bits, "shoulder", "armhole")
    drawing.draw(node_moved(drawing.bits, k, (-100 + 330j) / drawing.unit))


def left_open(drawing: Drawing) -> None:
    """Delete a segment."""
    drawing.draw(drawing.bits, path_of(drawing.bits[:-2], closed=False))


def alone(transform: str) -> Edit:
    """Move, turn or flip the stitch line and nothing else."""

    def edit(drawing: Drawing) -> None:
        drawing.stitch.set("transform", transform)

    return edit


def twice(drawing: Drawing) -> None:
    """Duplicate the stitch line."""
    twin = drawing.stitch.makeelement(drawing.stitch.tag, dict(drawing.stitch.attrib))
    twin.set("id", "path99")
    assert twin.get(f"{OURS}self") != "path99"
    drawing.stitch.addnext(twin)


def _of(bits: Outline, seam: str) -> list[int]:
    return [k for k, bit in enumerate(bits) if bit.seam == seam]


def _cubic(bit: Bit) -> list[complex]:
    if len(bit.points) == 4:
        return list(bit.points)
    start, end = bit.points
    return [start, start + (end - start) / 3, end + (start - end) / 3, end]


def _replaced(bits: Outline, k: int, by: Outline) -> Outline:
    return [*bits[:k], *by, *bits[k + 1 :]]


def _short(z: complex) -> str:
    return f"{z.real:.8g},{z.imag:.8g}"
