"""Rigid motions of the plane: turns and shifts, to be done one after the other and undone.

And which of the two ways along a line is the one to read.
"""

from __future__ import annotations

#: A line is steep where a unit of it goes less than this across: it is over 70° off the level.
_STEEP = 0.342


class Motion:
    """A turn about the origin, then a shift.

    Attributes:
        spin: the turn, as a complex number of length 1.
        shift: the shift in mm.
    """

    __slots__ = ("shift", "spin")

    def __init__(self, spin: complex, shift: complex) -> None:
        """Take the turn and the shift; they do not change any more."""
        self.spin, self.shift = spin, shift

    def __eq__(self, other: object) -> bool:
        """Tell whether another motion does the same."""
        return isinstance(other, Motion) and (self.spin, self.shift) == (other.spin, other.shift)

    def __hash__(self) -> int:
        """Return the same number for motions that do the same."""
        return hash((self.spin, self.shift))

    def __call__(self, z: complex) -> complex:
        """Return a point moved."""
        return z * self.spin + self.shift

    def after(self, first: Motion) -> Motion:
        """Return the motion that does ``first`` and then this one."""
        return Motion(self.spin * first.spin, self.shift + self.spin * first.shift)

    def undone(self) -> Motion:
        """Return the motion back."""
        spin = self.spin.conjugate()
        return Motion(spin, -spin * self.shift)


STILL = Motion(1 + 0j, 0j)


def laying(point: complex, direction: complex, on: complex, along: complex) -> Motion:
    """Return the motion that lays a point on another, and a direction there on another.

    Args:
        point: the point that is moved.
        direction: a unit vector at it.
        on: where it goes.
        along: the unit vector that ``direction`` becomes.
    """
    spin = along / direction
    spin /= abs(spin)
    return Motion(spin, on - spin * point)


def readable(along: complex) -> complex:
    """Return the way along a line in which a text on it is read: this one or the opposite.

    The one rule for every text that is drawn, as the page is seen (y points down): it is read
    from below, and where the line is steep from the right.

    Args:
        along: the unit vector along the line.
    """
    if abs(along.real) >= _STEEP:
        return along if along.real > 0.0 else -along
    return along if along.imag < 0.0 else -along
