"""Invented pattern blocks at random, and the drawings a drafter might make of them.

Millimetres, complex points ``x + iy`` with y pointing down. In a block's own frame the centre
seam is the straight left edge, the neckline (or waist) is at the top and the outline runs
clockwise as seen on the page. Proportions are invented; where they follow the bust girth they
stay within the plausible range of the 7th Size Korea survey, 2015 (computed aggregates).
"""

from __future__ import annotations

import cmath
import math
import random
from dataclasses import dataclass, field, replace

from shapely.geometry import LineString, Polygon

Points = tuple[complex, ...]


@dataclass(frozen=True)
class Segment:
    """A line (two points) or cubic (four), the true seam's name and the number of its run."""

    points: Points
    seam: str
    run: int


@dataclass(frozen=True)
class Block:
    """A drawn block: closed outline in order, one dart about the apex, its true angle (radians).

    ``mouth`` is the index of the first dart leg in ``segments`` (the second follows it).
    """

    kind: str
    segments: tuple[Segment, ...]
    apex: complex
    source_seam: str
    mouth: int
    angle: float
    scale: float
    runs: tuple[str, ...]
    traits: frozenset[str] = field(default_factory=frozenset)

    @property
    def mouth_ends(self) -> tuple[complex, complex]:
        """The two ends of the source's mouth, in outline order."""
        return self.segments[self.mouth].points[0], self.segments[self.mouth + 1].points[-1]


def at(points: Points, t: float) -> complex:
    """The point of a line or cubic at parameter ``t``."""
    if len(points) == 2:
        return points[0] + (points[1] - points[0]) * t
    a, b, c, d = points
    s = 1 - t
    return s * s * s * a + 3 * s * s * t * b + 3 * s * t * t * c + t * t * t * d


def split(points: Points, t: float) -> tuple[Points, Points]:
    """Both parts of a line or cubic cut at ``t`` (de Casteljau)."""
    if len(points) == 2:
        cut = at(points, t)
        return (points[0], cut), (cut, points[1])
    a, b, c, d = points
    ab, bc, cd = a + (b - a) * t, b + (c - b) * t, c + (d - c) * t
    abc, bcd = ab + (bc - ab) * t, bc + (cd - bc) * t
    cut = abc + (bcd - abc) * t
    return (a, ab, abc, cut), (cut, bcd, cd, d)


def tangent(points: Points, end: bool) -> complex:
    """Unit tangent at the start or the end."""
    ordered = points[::-1] if end else points
    for other in ordered[1:]:
        if abs(other - ordered[0]) > 1e-9:
            way = (ordered[0] - other) if end else (other - ordered[0])
            return way / abs(way)
    raise ValueError("a segment without length")


def flatten(segments: list[Points], pieces: int = 24) -> list[complex]:
    """Sample points along closed segments, without the repeated end."""
    out: list[complex] = []
    for points in segments:
        count = 1 if len(points) == 2 else pieces
        out += [at(points, k / count) for k in range(count)]
    return out


def turned(points: Points, centre: complex, angle: float) -> Points:
    """The points turned about a centre by an angle in radians."""
    factor = cmath.exp(1j * angle)
    return tuple(centre + (z - centre) * factor for z in points)


def _curve(rng: random.Random, p: complex, q: complex, start: float, end: float) -> list[Points]:
    """A smooth seam from p to q; tangents relative to the chord, as 1-3 cubics or lines."""
    chord = q - p
    if start == end == 0.0:
        line: list[Points] = [(p, q)]
        return list(split(line[0], rng.uniform(0.3, 0.7))) if rng.random() < 0.15 else line
    reach = abs(chord) * rng.uniform(0.3, 0.42)
    way = chord / abs(chord)
    cubic: Points = (p, p + way * cmath.exp(1j * start) * reach,
                     q - way * cmath.exp(1j * end) * reach, q)
    if abs(start) + abs(end) < 1.2 and rng.random() < 0.15:  # an elevated quadratic
        middle = p + (chord / 2) + chord * 1j * math.tan(start) / 2
        cubic = (p, p + (middle - p) * 2 / 3, q + (middle - q) * 2 / 3, q)
    pieces: list[Points] = [cubic]
    for _ in range(rng.choice((0, 0, 1, 2))):
        last = pieces.pop()
        pieces += split(last, rng.choice((0.5, rng.uniform(0.35, 0.65))))
    return pieces


@dataclass
class _Frame:
    """What a kind of block is made of before its dart is opened."""

    kind: str
    corners: list[complex]
    seams: list[str]
    bends: list[tuple[float, float]]
    apex: complex
    source: int
    where: float
    angle: float
    spread: float
    follow: tuple[float, ...]
    lowered: float = 0.0


def _front(rng: random.Random, source: str) -> _Frame:
    bust = rng.uniform(760, 1320)
    neck, drop = bust * rng.uniform(0.066, 0.08), bust * rng.uniform(0.075, 0.1)
    slope, length = math.radians(rng.uniform(16, 27)), bust * rng.uniform(0.115, 0.14)
    tip = neck + length * cmath.exp(1j * slope)
    width = bust * rng.uniform(0.25, 0.275)
    under = complex(width, bust * rng.uniform(0.215, 0.24))
    reach, apart = bust * rng.uniform(0.265, 0.319), bust * rng.uniform(0.085, 0.115)
    apex = complex(apart, math.sqrt(reach**2 - (apart - neck) ** 2))
    waist = bust * rng.uniform(0.43, 0.47)
    hip = source not in ("waist", "side seam") and rng.random() < 0.3
    side = complex(width * rng.uniform(0.86, 0.97), waist - bust * rng.uniform(0, 0.015))
    if hip:
        side = complex(width * rng.uniform(0.97, 1.08), waist + bust * rng.uniform(0.12, 0.22))
    foot = complex(0, side.imag + bust * rng.uniform(0.0, 0.02))
    curved = rng.random() < 0.6
    bow = rng.uniform(0.03, 0.12) if curved else 0.0
    side_bow = rng.choice((0.0, 0.0, rng.uniform(0.03, 0.14)))
    seams = ["neckline", "shoulder", "armhole", "side seam", "hem" if hip else "waist",
             "centre front"]
    bends = [(rng.uniform(0.55, 0.8), -rng.uniform(0.55, 0.8)), (0.0, 0.0),
             (rng.uniform(0.3, 0.6), -rng.uniform(0.7, 1.05)), (side_bow, -side_bow),
             (-bow, bow), (0.0, 0.0)]
    place = {"neckline": (0, 0.0, (1, 0.9, 0.5, 0.15)), "shoulder": (1, 0.0, (1, 0.55, 0.1)),
             "armhole": (2, 0.4, (1, 0.4)), "side seam": (3, 0.5, (1,)),
             "waist": (4, 1.0, (1, 0.45, 0.1)), "hem": (4, 1.0, (1, 0.45, 0.1))}
    number, spread, follow = place[source]
    where = rng.uniform(0.3, 0.7)
    lowered = rng.choice((0.0, 0.0, rng.uniform(10, 40)))
    return _Frame("front", [complex(0, drop), neck + 0j, tip, under, side, foot], seams, bends,
                  apex, number, where, math.radians(rng.uniform(12, 36)), spread, follow, lowered)


def _back(rng: random.Random, source: str) -> _Frame:
    bust = rng.uniform(760, 1320)
    neck, drop = bust * rng.uniform(0.07, 0.082), bust * rng.uniform(0.018, 0.027)
    tip = neck + bust * rng.uniform(0.12, 0.145) * cmath.exp(1j * math.radians(rng.uniform(14, 24)))
    width = bust * rng.uniform(0.235, 0.26)
    waist = bust * rng.uniform(0.44, 0.48)
    corners = [complex(0, drop), neck + 0j, tip, complex(width, bust * rng.uniform(0.215, 0.24)),
               complex(width * rng.uniform(0.82, 0.95), waist), complex(0, waist)]
    bow = rng.choice((0.0, rng.uniform(0.02, 0.08)))
    bends = [(rng.uniform(0.2, 0.3), -rng.uniform(0.3, 0.5)), (0.0, 0.0),
             (rng.uniform(0.25, 0.45), -rng.uniform(0.7, 1.0)), (0.0, 0.0), (-bow, bow),
             (0.0, 0.0)]
    seams = ["neckline", "shoulder", "armhole", "side seam", "waist", "centre back"]
    where = rng.uniform(0.35, 0.65)
    if source == "shoulder":
        mouth = corners[1] + (corners[2] - corners[1]) * where
        apex = mouth + bust * rng.uniform(0.08, 0.11) * cmath.exp(1j * rng.uniform(1.5, 1.75))
        return _Frame("back", corners, seams, bends, apex, 1, where,
                      math.radians(rng.uniform(7, 15)), 0.0, (1, 0.2))
    apex = complex(corners[4].real * rng.uniform(0.42, 0.55), waist - bust * rng.uniform(0.15, 0.2))
    return _Frame("back", corners, seams, bends, apex, 4, 1 - apex.real / corners[4].real,
                  math.radians(rng.uniform(7, 16)), 1.0, (1, 0.3))


def _skirt(rng: random.Random, source: str) -> _Frame:
    hip = rng.uniform(820, 1350)
    waist, length = hip * rng.uniform(0.17, 0.2), rng.uniform(420, 760)
    top = complex(waist, -hip * rng.uniform(0.005, 0.02))
    foot = complex(hip * rng.uniform(0.26, 0.3), length)
    bow = rng.uniform(0.03, 0.12)
    centre = rng.choice(("centre front", "centre back"))
    apex = complex(waist * rng.uniform(0.4, 0.6), rng.uniform(85, 150))
    return _Frame("skirt", [complex(0, 0), top, foot, complex(0, length)],
                  ["waist", "side seam", "hem", centre],
                  [(bow, -bow), (-rng.uniform(0.1, 0.2), rng.uniform(0.05, 0.1)),
                   rng.choice(((0.0, 0.0), (0.05, -0.05))), (0.0, 0.0)],
                  apex, 0, apex.real / waist, math.radians(rng.uniform(7, 17)), 0.0, (1,))


def _sleeve(rng: random.Random, source: str) -> _Frame:
    width, length = rng.uniform(300, 460), rng.uniform(380, 480)
    inset = width * rng.uniform(0.08, 0.2)
    where = rng.uniform(0.4, 0.6)
    right, wrist = complex(width, 0), complex(width - inset, length)
    mouth = right + (wrist - right) * where
    apex = mouth - width * rng.uniform(0.2, 0.32)
    return _Frame("sleeve", [0j, right, wrist, complex(inset, length)],
                  ["cap", "underarm seam", "wrist", "underarm seam"],
                  [(-1.0, 1.0), (0.0, 0.0), (0.0, 0.0), (0.0, 0.0)],
                  apex, 1, where, math.radians(rng.uniform(7, 16)), 0.5, (1,))


def _trousers(rng: random.Random, source: str) -> _Frame:
    hip = rng.uniform(820, 1350)
    waist, length, rise = hip * rng.uniform(0.17, 0.2), rng.uniform(880, 1080), hip * 0.26
    beyond = hip * rng.uniform(0.05, 0.1)
    top = complex(waist, -hip * rng.uniform(0.005, 0.02))
    foot, inner = complex(hip * rng.uniform(0.2, 0.23), length), complex(hip * 0.02, length)
    bow, slope = rng.uniform(0.03, 0.1), math.atan2(rise, beyond)
    apex = complex(waist * rng.uniform(0.4, 0.6), rng.uniform(75, 120))
    return _Frame("trousers", [0j, top, foot, inner, complex(-beyond, rise)],
                  ["waist", "side seam", "hem", "inseam", "crotch seam"],
                  [(bow, -bow), (-rng.uniform(0.05, 0.12), rng.uniform(0.02, 0.06)), (0.0, 0.0),
                   (0.06, -0.06), (slope * 0.85, -(math.pi / 2 - slope) * 0.9)],
                  apex, 0, apex.real / waist, math.radians(rng.uniform(7, 14)), 0.0, (1,))


SOURCES = {"front": ("waist", "shoulder", "side seam", "armhole", "neckline", "hem"),
           "back": ("shoulder", "waist"), "skirt": ("waist",), "sleeve": ("underarm seam",),
           "trousers": ("waist",)}
_FRAMES = {"front": _front, "back": _back, "skirt": _skirt, "sleeve": _sleeve,
           "trousers": _trousers}


def _open(rng: random.Random, frame: _Frame, scale: float) -> Block | None:
    """Open the closed seam at its dart, then draw the other seams between the corners."""
    apex, k, count = frame.apex, frame.source, len(frame.corners)
    closed = _curve(rng, frame.corners[k], frame.corners[(k + 1) % count], *frame.bends[k])
    if len(closed) == 1:
        first, second = [split(closed[0], frame.where)[0]], [split(closed[0], frame.where)[1]]
    else:
        cut = rng.randrange(len(closed))
        one, two = split(closed[cut], 0.5)
        first, second = [*closed[:cut], one], [two, *closed[cut + 1:]]
    mouth = second[0][0]
    if rng.random() < 0.3:
        kink = math.radians(rng.uniform(-4, 4))
        second = [turned(points, mouth, kink) for points in second]
    back, onward = -frame.spread * frame.angle, (1 - frame.spread) * frame.angle
    first = [turned(points, apex, back) for points in first]
    second = [turned(points, apex, onward) for points in second]
    corners = list(frame.corners)
    for n, weight in enumerate(frame.follow):
        for i, turn in (((k - n) % count, back), ((k + 1 + n) % count, onward)):
            if turn and not (frame.seams[i - 1].startswith("centre")
                             or frame.seams[i].startswith("centre")):
                corners[i] = turned((corners[i],), apex, turn * weight)[0]
    corners[k], corners[(k + 1) % count] = first[0][0], second[-1][-1]
    ray = (cmath.exp(1j * (back + frame.angle / 2)) * (mouth - apex)) / abs(mouth - apex)
    point = apex + ray * (frame.lowered if frame.lowered < abs(mouth - apex) * 0.4 else 0.0)
    segments: list[Segment] = []
    leg = 0
    for i, seam in enumerate(frame.seams):
        if i == k:
            segments += [Segment(points, seam, i) for points in first]
            leg = len(segments)
            segments += [Segment((first[-1][-1], point), "dart", -1),
                         Segment((point, second[0][0]), "dart", -1)]
            segments += [Segment(points, seam, i) for points in second]
        else:
            pieces = _curve(rng, corners[i], corners[(i + 1) % count], *frame.bends[i])
            segments += [Segment(points, seam, i) for points in pieces]
    sized = tuple(Segment(tuple(z * scale for z in s.points), s.seam, s.run) for s in segments)
    block = Block(frame.kind, sized, apex * scale, frame.seams[k], leg, frame.angle, scale,
                  tuple(frame.seams), frozenset({"lowered"} if point != apex else ()))
    return block if _plausible(block) else None


def _plausible(block: Block) -> bool:
    """True corners turn clearly, nothing else does, the shape is simple, the mouth in sight."""
    shape = Polygon([(z.real, z.imag) for z in flatten([s.points for s in block.segments])])
    if not shape.is_valid:
        return False
    solid = [s for s in block.segments if s.run >= 0]
    for before, after in zip(solid, solid[1:] + solid[:1], strict=True):
        way_in, way_out = tangent(before.points, True), tangent(after.points, False)
        if abs(before.points[-1] - after.points[0]) > 1e-9:  # across the mouth: shut it first
            way_out *= cmath.exp(-1j * block.angle)
        turn = abs(math.degrees(cmath.phase(way_out / way_in)))
        if (turn < 40) if before.run != after.run else (turn > 12):
            return False
    for start, end in zip(block.mouth_ends, (0.02, -0.02), strict=True):
        ray = (start - block.apex) * cmath.exp(-1j * end)
        line = LineString([(block.apex.real, block.apex.imag),
                           ((block.apex + ray * 0.97).real, (block.apex + ray * 0.97).imag)])
        if not shape.buffer(0.5 * block.scale).contains(line):
            return False
    for run in range(len(block.runs)):
        halves = [s for s in solid if s.run == run]
        if sum(abs(s.points[0] - s.points[-1]) for s in halves) < 30 * block.scale:
            return False
    gap = min(abs(z - c.points[0]) for z in block.mouth_ends for i, c in enumerate(solid)
              if solid[i - 1].run != c.run)
    return gap > 14 * block.scale


def random_block(rng: random.Random, kind: str | None = None, source: str | None = None,
                 scale: float | None = None) -> Block:
    """A plausible block of the kind, a key of ``SOURCES``, its dart open in the source seam."""
    chosen = kind or rng.choice(("front", "front", "front", "back", "skirt", "sleeve"))
    size = scale or rng.choice((0.25, rng.uniform(0.9, 1.1), 1.0, 1.0, rng.uniform(1.1, 1.35)))
    for _ in range(4000):
        seam = source or rng.choice(SOURCES[chosen])
        frame = _FRAMES[chosen](rng, seam)
        block = _open(rng, frame, size) if frame.seams[frame.source] == seam else None
        if block:
            return block
    raise RuntimeError(f"no plausible {chosen} with a dart on {source}")


def with_unequal_legs(block: Block, by: float) -> Block:
    """The block with its first mouth end moved outward along its leg by some millimetres."""
    parts = list(block.segments)
    old = parts[block.mouth].points[0]
    new = old + (old - block.apex) / abs(old - block.apex) * by
    before = parts[block.mouth - 1]
    parts[block.mouth - 1] = replace(before, points=(*before.points[:-1], new))
    parts[block.mouth] = replace(parts[block.mouth], points=(new, block.apex))
    parts[block.mouth + 1] = replace(parts[block.mouth + 1],
                                     points=(block.apex, parts[block.mouth + 1].points[1]))
    return replace(block, segments=tuple(parts), traits=frozenset({"unequal"}))


def with_second_dart(block: Block, rng: random.Random) -> Block | None:
    """The block with a small dart of its own point on another seam, smooth when shut, or None."""
    choices = [i for i, s in enumerate(block.segments)
               if s.run >= 0 and s.seam in ("waist", "hem", "shoulder") and
               s.seam != block.source_seam and
               abs(s.points[-1] - s.points[0]) > 90 * block.scale]
    if not choices:
        return None
    index, angle = rng.choice(choices), math.radians(rng.uniform(5, 9))
    own = block.segments[index]
    head, tail = split(own.points, rng.uniform(0.45, 0.55))
    point = head[-1] + 1j * tangent(head, True) * rng.uniform(70, 100) * block.scale
    parts = list(block.segments)
    ahead = not (block.runs[(own.run + 1) % len(block.runs)].startswith("centre"))
    runs = (own.run + (1 if ahead else -1)) % len(block.runs)
    if runs == block.runs.index(block.source_seam):
        return None
    spin = angle if ahead else -angle
    if ahead:
        tail = turned(tail, point, spin)
    else:
        head = turned(head, point, spin)
    step, k = (1, index + 1) if ahead else (-1, index - 1)
    while parts[k % len(parts)].run == own.run:
        j = k % len(parts)
        parts[j] = replace(parts[j], points=turned(parts[j].points, point, spin))
        k += step
    beside = [j for j, s in enumerate(parts) if s.run == runs]
    near, far = (parts[beside[0]].points[0], parts[beside[-1]].points[-1]) if ahead else (
        parts[beside[-1]].points[-1], parts[beside[0]].points[0])
    factor = (turned((near,), point, spin)[0] - far) / (near - far)
    for j in beside:
        parts[j] = replace(parts[j], points=tuple(far + (z - far) * factor
                                                  for z in parts[j].points))
    legs = [Segment((head[-1], point), "dart", -1), Segment((point, tail[0]), "dart", -1)]
    parts[index:index + 1] = [replace(own, points=head), *legs, replace(own, points=tail)]
    mouth = block.mouth + (3 if index < block.mouth else 0)
    changed = replace(block, segments=tuple(parts), mouth=mouth, traits=frozenset({"second"}))
    shape = Polygon([(z.real, z.imag) for z in flatten([s.points for s in parts])])
    return changed if shape.is_valid else None


def in_sight(block: Block, place: complex) -> bool:
    """Whether a straight slash from the place to the apex stays on the cloth."""
    shape = Polygon([(z.real, z.imag) for z in flatten([s.points for s in block.segments], 200)])
    ends = [place + (block.apex - place) * share for share in (0.002, 0.97)]
    return bool(shape.contains(LineString([(z.real, z.imag) for z in ends])))


def random_place(block: Block, rng: random.Random, seams: tuple[str, ...] = (),
                 apart: tuple[complex, ...] = ()) -> tuple[int, float, complex]:
    """A target clear of corners and mouths: (segment, parameter, point)."""
    solid = [i for i, s in enumerate(block.segments)
             if s.run >= 0 and (not seams or s.seam in seams)]
    clear = (block.segments[block.mouth].points[0], block.segments[block.mouth + 1].points[1])
    starts = [s.points[0] for i, s in enumerate(block.segments)
              if s.run >= 0 and block.segments[i - 1].run != s.run]
    for _ in range(600):
        index, t = rng.choice(solid), rng.uniform(0.05, 0.95)
        place = at(block.segments[index].points, t)
        if min(abs(place - z) for z in starts) < max(4.0, 10 * block.scale):
            continue
        rays = [abs(cmath.phase((place - block.apex) / (z - block.apex))) for z in clear + apart]
        if min(rays) > 0.35 and abs(place - block.apex) > 45 * block.scale and in_sight(
                block, place):
            return index, t, place
    raise RuntimeError("no place for a target")


def nearest(points: Points, place: complex) -> tuple[float, float]:
    """Parameter and distance of the point of a line or cubic nearest to a place."""
    if len(points) == 2:
        run = points[1] - points[0]
        t = ((place - points[0]) * run.conjugate()).real / abs(run) ** 2
        t = min(1.0, max(0.0, t))
        return t, abs(at(points, t) - place)
    a, b, c, d = points
    best = (0.0, math.inf)
    rough = sorted((abs(at(points, k / 40) - place), k / 40) for k in range(41))[:3]
    for _, t in rough:
        for _ in range(30):
            off = at(points, t) - place
            first = 3 * ((1 - t) ** 2 * (b - a) + 2 * t * (1 - t) * (c - b) + t * t * (d - c))
            second = 6 * ((1 - t) * (c - 2 * b + a) + t * (d - 2 * c + b))
            slope = (off * first.conjugate()).real
            bend = abs(first) ** 2 + (off * second.conjugate()).real
            step = slope / (bend if bend > 0 else abs(first) ** 2)
            moved = min(1.0, max(0.0, t - step))
            if abs(moved - t) < 1e-15:
                break
            t = moved
        best = min(best, (t, abs(at(points, t) - place)), key=lambda found: found[1])
    return best
