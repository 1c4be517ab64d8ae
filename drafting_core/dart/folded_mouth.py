"""A mouth that is folded shut: how its other side is laid on the side of the fold.

Common practice of the trade: the allowances are drawn, the dart is folded, and the excess is cut
along the cut line through all layers. So the allowance at a dart is that of the seam as it is
sewn. Lengths are mm, angles radians.
"""

from __future__ import annotations

import cmath
import math
from functools import cached_property

from drafting_core.model.piece import Sides
from drafting_core.plane.curves import PointMap, Segment, cross, dot, reflection_in
from drafting_core.plane.motions import Motion, laying

#: Legs that stand at less than this to each other (radians) are parallel: those of a tuck.
PARALLEL = 1e-7


class FoldedMouth:
    """A mouth in the outline, and the side to which its excess is folded.

    Attributes:
        ends: its ends in the direction of the outline.
        outward: at each end the unit vector along the leg, extended out of the piece.
        leg: 0 where the excess is folded over the first end, else 1.
        cap: the stitch line across it, as the folded excess lies on the seam.
        is_curved: whether its legs are curved: one is then laid on the other by its end and its
            direction there, wherever the turn that does so has its centre.
        window: the sides of its trim window from the vertex out, where its excess is cut away.
        name: the seam that it is on, as it is spoken of.
        dart: the number of its dart among those of the piece; None for a tuck that stands.
    """

    def __init__(
        self,
        ends: tuple[complex, complex],
        outward: tuple[complex, complex],
        leg: int,
        cap: tuple[Segment, ...] = (),
        *,
        is_curved: bool = False,
        window: Sides | None = None,
        name: str = "",
        dart: int | None = None,
    ) -> None:
        """Take what is known of the mouth; it does not change any more."""
        self.ends, self.outward, self.leg, self.cap = ends, outward, leg, cap
        self.is_curved, self.window, self.name, self.dart = is_curved, window, name, dart

    def with_ends(self, ends: tuple[complex, complex]) -> FoldedMouth:
        """Return the same mouth between other ends, with no cap."""
        return FoldedMouth(
            ends, self.outward, self.leg,
            is_curved=self.is_curved, window=self.window, name=self.name, dart=self.dart,
        )  # fmt: skip

    @property
    def fold_end(self) -> complex:
        """The mouth end on the fold's side."""
        return self.ends[self.leg]

    @property
    def ray(self) -> complex:
        """The unit vector out along the leg on the fold's side."""
        return self.outward[self.leg]

    @property
    def away(self) -> float:
        """The sense of angles from the leg over the fold's side: -1 or 1."""
        return -1.0 if self.leg == 0 else 1.0

    @cached_property
    def hinge(self) -> complex | None:
        """Where the legs, extended, meet; None where they are parallel."""
        (first, second), (u, v) = self.ends, self.outward
        under = cross(u, v)
        if abs(under) < PARALLEL:
            return None
        return first + u * (cross(second - first, v) / under)

    @cached_property
    def angle(self) -> float:
        """The angle between the legs; 0 where they are parallel."""
        return 0.0 if self.hinge is None else abs(cmath.phase(self.outward[1] / self.outward[0]))

    @cached_property
    def shut(self) -> Motion:
        """The motion that lays the other side on the fold's side."""
        other, along = self.ends[1 - self.leg], self.outward[1 - self.leg]
        if self.is_curved:
            return laying(other, along, self.fold_end, self.ray)
        if self.hinge is not None:
            spin = self.ray / along
            spin /= abs(spin)
            return Motion(spin, self.hinge - spin * self.hinge)
        # The legs of a tuck: straight across.
        across = 1j * self.ray
        shift = across * dot(self.fold_end - other, across)
        return Motion(1 + 0j, shift)

    @property
    def back(self) -> Motion:
        """The motion from the frame of what lies behind the mouth to that of what is before it."""
        return self.shut if self.leg == 0 else self.shut.undone()

    @cached_property
    def half(self) -> float:
        """How far the excess reaches over the fold's side, as `reach` tells it."""
        if self.hinge is not None:
            return self.angle / 2
        return abs(dot(self.ends[1] - self.ends[0], 1j * self.ray)) / 2

    def reach(self, z: complex) -> float:
        """Return how far a point lies over the fold's side: an angle, of a tuck a distance."""
        if self.hinge is not None:
            return self.away * cmath.phase((z - self.hinge) / self.ray)
        return self.away * dot(z - self.fold_end, 1j * self.ray)

    def line_at(self, reach: float) -> tuple[complex, complex]:
        """Return origin and direction of the line on which all points have a reach."""
        if self.hinge is not None:
            return self.hinge, self.ray * cmath.rect(1.0, self.away * reach)
        return self.fold_end + 1j * self.ray * self.away * reach, self.ray

    def out(self, z: complex) -> float:
        """Return how far out a point lies: from the hinge, of a tuck from the mouth."""
        if self.hinge is not None:
            return abs(z - self.hinge) * math.copysign(1.0, dot(z - self.hinge, self.ray))
        return dot(z - self.fold_end, self.ray)

    @cached_property
    def mirror(self) -> PointMap:
        """The mirror image in the leg on the fold's side: the excess, folded over it."""
        return reflection_in(self.fold_end, self.ray)

    @cached_property
    def swing(self) -> Motion:
        """The motion from the fold's side onto the other: `shut` undone."""
        return self.shut.undone()
