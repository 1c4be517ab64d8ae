"""Affine maps as six numbers, quick to make and to chain: there may be one for every object."""

from __future__ import annotations

import functools
import math
import re
from typing import NamedTuple

from drafting_core.plane.curves import Box

_FUNCTION = re.compile(r"\s*,?\s*([A-Za-z]+)\s*\(([^)]*)\)\s*")
_COUNTS = {
    "matrix": (6,),
    "translate": (1, 2),
    "scale": (1, 2),
    "rotate": (1, 3),
    "skewX": (1,),
    "skewY": (1,),
}


class Affine(NamedTuple):
    """A map of points: ``(a x + c y + e, b x + d y + f)``.

    Attributes:
        a: how much of x goes into x.
        b: how much of x goes into y.
        c: how much of y goes into x.
        d: how much of y goes into y.
        e: the shift of x, in units of the drawing.
        f: the shift of y, likewise.
    """

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __call__(self, z: complex) -> complex:
        """Return where a point goes."""
        x, y = z.real, z.imag
        return complex(self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def after(self, first: Affine) -> Affine:
        """Return the map that does ``first`` and then this one."""
        a, b, c, d, e, f = self
        p, q, r, s, t, u = first
        return Affine(
            *(a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s),
            *(a * t + c * u + e, b * t + d * u + f),
        )

    def box(self, box: Box) -> Box:
        """Return the box about a box that went through it."""
        if self is SAME:
            return box
        a, b, c, d, e, f = self
        if b == 0.0 and c == 0.0 and a > 0.0 and d > 0.0:
            return Box(a * box[0] + e, d * box[1] + f, a * box[2] + e, d * box[3] + f)
        x = (a * box[0], a * box[2])
        y = (c * box[1], c * box[3])
        u = (b * box[0], b * box[2])
        v = (d * box[1], d * box[3])
        return Box(
            *(min(x) + min(y) + e, min(u) + min(v) + f),
            *(max(x) + max(y) + e, max(u) + max(v) + f),
        )

    def text(self) -> str:
        """Return it as a transform with all its digits."""
        return f"matrix({','.join(repr(value + 0.0) for value in self)})"


SAME = Affine()


@functools.lru_cache(maxsize=256)
def affine_of(text: str) -> Affine | None:
    """Return a transform's text as a map, or None where it cannot be read."""
    total, position, text = SAME, 0, text.strip()
    while position < len(text):
        found = _FUNCTION.match(text, position)
        if found is None:
            return None
        position = found.end()
        try:
            numbers = [float(word) for word in re.split(r"[\s,]+", found[2].strip())]
        except ValueError:
            return None
        if len(numbers) not in _COUNTS.get(found[1], ()) or not all(map(math.isfinite, numbers)):
            return None
        total = total.after(_single(found[1], numbers))
    return total


def _single(name: str, n: list[float]) -> Affine:
    if name == "matrix":
        return Affine(*n)
    if name == "translate":
        return Affine(e=n[0], f=n[1] if len(n) > 1 else 0.0)
    if name == "scale":
        return Affine(a=n[0], d=n[-1])
    if name == "skewX":
        return Affine(c=math.tan(math.radians(n[0])))
    if name == "skewY":
        return Affine(b=math.tan(math.radians(n[0])))
    turn = math.radians(n[0])
    cosine, sine = math.cos(turn), math.sin(turn)
    turned = Affine(cosine, sine, -sine, cosine)
    if len(n) == 1:
        return turned
    return Affine(e=n[1], f=n[2]).after(turned).after(Affine(e=-n[1], f=-n[2]))
