"""SVG path data to segments and back, without losing a digit.

The editor's library has a parser too, but it passes over what it cannot read (packed arc flags,
missing numbers) and writes six digits; a pattern needs an error in the first case and all
digits in the second.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Iterator, Sequence

from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.text.errors import OutlineError
from drafting_core.text.words import _

#: An elliptical arc becomes one cubic for at most this turn: a quarter circle of three cubics
#: strays less than a millionth of its radius.
ARC_STEP = math.radians(30.0)

_COMMAND = re.compile(r"\s*,?\s*([MmLlHhVvCcSsQqTtAaZz])")
_NUMBER = re.compile(r"\s*,?\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")
_FLAG = re.compile(r"\s*,?\s*([01])")
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


class Subpath:
    """One subpath: its segments in order and whether it is closed.

    Attributes:
        segments: its segments, in order.
        closed: whether it ends where it starts.
        start: its first point.
    """

    def __init__(
        self, segments: list[Segment] | None = None, closed: bool = False, start: complex = 0j
    ) -> None:
        """Take its segments, or none yet."""
        self.segments: list[Segment] = [] if segments is None else segments
        self.closed, self.start = closed, start

    @property
    def end(self) -> complex:
        """The last point."""
        return self.segments[-1].end if self.segments else self.start


def _commands(data: str) -> Iterator[tuple[str, list[float]]]:
    position, letter = 0, ""
    data = data.rstrip()
    while position < len(data):
        found = _COMMAND.match(data, position)
        if found:
            letter = found[1]
            position = found.end()
        elif not letter or letter in "Zz":
            raise _unreadable(data, position)
        elif letter in "Mm":
            letter = "l" if letter == "m" else "L"
        numbers = []
        for index in range(_COUNTS[letter.upper()]):
            is_flag = letter in "Aa" and index in (3, 4)
            match = (_FLAG if is_flag else _NUMBER).match(data, position)
            if not match:
                raise _unreadable(data, position)
            numbers.append(float(match[1]))
            position = match.end()
        if not all(math.isfinite(number) for number in numbers):
            raise OutlineError(
                _("the path has a coordinate that is not a finite number."),
                remedy=_("Redraw that node, or undo the last change of its size."),
            )
        yield letter, numbers


def _unreadable(data: str, position: int) -> OutlineError:
    rest = data[position : position + 20].strip()
    if re.match(r"[-+,\s]*(nan|inf)", rest, re.IGNORECASE):
        return OutlineError(
            _('the path has a coordinate that is not a finite number ("{text}").').format(
                text=rest
            ),
            remedy=_("Redraw that node, or undo the last change of its size."),
        )
    return OutlineError(
        _('its path data cannot be read from "{text}" on.').format(text=rest)
        if rest
        else _("its path data breaks off."),
        remedy=_("Open the drawing in the editor, redraw that path and save it again."),
    )


def parse(data: str) -> list[Subpath]:
    """Read path data into subpaths of lines and cubics, in the path's own coordinates.

    Quadratic curves become cubics exactly, arcs within a millionth of their radius.

    Raises:
        OutlineError: if the data cannot be read, or a number is not finite.
    """
    subpaths: list[Subpath] = []
    current, handle, previous = 0j, 0j, ""
    path: Subpath | None = None
    for letter, numbers in _commands(data):
        command, origin = letter.upper(), current if letter.islower() else 0j
        if command == "M":
            current = origin + complex(*numbers)
            path = Subpath(start=current)
            subpaths.append(path)
        elif path is None:
            raise _unreadable(data, 0)
        else:
            if path.closed and command != "Z":
                path = Subpath(start=current)
                subpaths.append(path)
            if command == "Z":
                if not path.closed:
                    _close(path)
                current = path.start
            elif command in "LHV":
                current = _add(path, Line(current, _line_end(command, numbers, origin, current)))
            elif command == "A":
                end = origin + complex(numbers[5], numbers[6])
                for segment in arc(current, numbers[0], numbers[1], numbers[2], numbers[3:5], end):
                    _add(path, segment)
                current = end
            else:
                points = [
                    origin + complex(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)
                ]
                segment, handle = _curve(command, points, current, handle, previous)
                current = _add(path, segment)
        previous = command
    return subpaths


def _add(path: Subpath, segment: Segment) -> complex:
    path.segments.append(segment)
    return segment.end


def _close(path: Subpath) -> None:
    if path.end != path.start:
        path.segments.append(Line(path.end, path.start))
    path.closed = True


def _line_end(command: str, numbers: list[float], origin: complex, current: complex) -> complex:
    if command == "H":
        return complex(origin.real + numbers[0], current.imag)
    if command == "V":
        return complex(current.real, origin.imag + numbers[0])
    return origin + complex(*numbers)


def _curve(
    command: str, points: list[complex], current: complex, handle: complex, previous: str
) -> tuple[Cubic, complex]:
    """Return the cubic of a C, S, Q or T command and the handle that a shorthand mirrors."""
    if command == "C":
        return Cubic(current, *points), points[1]
    if command == "S":
        mirrored = 2 * current - handle if previous and previous in "CS" else current
        return Cubic(current, mirrored, *points), points[0]
    if command == "Q":
        control, end = points
    else:
        control = 2 * current - handle if previous and previous in "QT" else current
        end = points[0]
    return (
        Cubic(current, current + (control - current) * 2 / 3, end + (control - end) * 2 / 3, end),
        control,
    )


def arc(
    start: complex, rx: float, ry: float, rotation: float, flags: Sequence[float], end: complex
) -> list[Segment]:
    """Return the cubics of an elliptical arc (SVG 2, appendix B.2: endpoint parameters).

    Args:
        start: its first point.
        rx: the ellipse's radius along its own x axis.
        ry: the ellipse's radius along its own y axis.
        rotation: of the ellipse's x axis, in degrees.
        flags: the large-arc and the sweep flag.
        end: its last point.
    """
    rx, ry = abs(rx), abs(ry)
    if start == end:
        return []
    if rx == 0.0 or ry == 0.0:
        return [Line(start, end)]
    axis = cmath.rect(1.0, math.radians(rotation))

    def to_circle(z: complex) -> complex:
        w = z / axis
        return complex(w.real / rx, w.imag / ry)

    def from_circle(w: complex) -> complex:
        return complex(w.real * rx, w.imag * ry) * axis

    a, b = to_circle(start), to_circle(end)
    half = (b - a) / 2
    if abs(half) > 1.0:
        # Radii too small: both grow until the arc just reaches.
        rx, ry = rx * abs(half), ry * abs(half)
        a, b = to_circle(start), to_circle(end)
        half = (b - a) / 2
    reach = math.sqrt(max(0.0, 1.0 - abs(half) ** 2))
    side = 1.0 if bool(flags[0]) != bool(flags[1]) else -1.0
    centre = (a + b) / 2 + side * reach * 1j * half / abs(half)
    first = cmath.phase(a - centre)
    sweep = cmath.phase((b - centre) / (a - centre))
    if flags[1] and sweep < 0:
        sweep += 2 * math.pi
    elif not flags[1] and sweep > 0:
        sweep -= 2 * math.pi
    count = max(1, math.ceil(abs(sweep) / ARC_STEP - 1e-9))
    step = sweep / count
    handle = 4 / 3 * math.tan(step / 4) * 1j
    segments: list[Segment] = []
    at = start
    for index in range(count):
        u = cmath.rect(1.0, first + step * index)
        v = cmath.rect(1.0, first + step * (index + 1))
        to = end if index == count - 1 else from_circle(centre + v)
        segments.append(
            Cubic(
                at, from_circle(centre + u + handle * u), from_circle(centre + v - handle * v), to
            )
        )
        at = to
    return segments


def number(value: float) -> str:
    """Return a number with 12 decimals: a millionth of what the balance allows."""
    return f"{value + 0.0:.12f}"


def point(z: complex) -> str:
    """Return a point as path data."""
    return f"{number(z.real)},{number(z.imag)}"


def path_data(segments: Sequence[Segment], *, closed: bool) -> str:
    """Return the path data of one subpath."""
    parts = [f"M {point(segments[0].start)}"]
    last = len(segments) - 1
    for index, segment in enumerate(segments):
        if isinstance(segment, Line):
            if not (closed and index == last):
                parts.append(f"L {point(segment.end)}")
        else:
            parts.append(
                f"C {point(segment.control1)} {point(segment.control2)} {point(segment.end)}"
            )
    if closed:
        parts.append("Z")
    return " ".join(parts)


def polyline_data(points: Sequence[complex]) -> str:
    """Return the path data of an open polyline."""
    return "M " + " L ".join(point(z) for z in points)
