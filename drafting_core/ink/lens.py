"""A photo's lens measured by lines that are known to be straight, and taken out.

The lens is the first radial term of D. C. Brown (Close-range camera calibration, Photogrammetric
Engineering 37, 1971), as cameras' makers and calibrations state it: a point that belongs at the
distance r from the picture's middle is seen at r · (1 + k · (r/R)²), R half of the picture's
diagonal. Where the known lines lie on the sheet tells the perspective with it, so that both are
found together by least squares, every point of the ink weighted by the trace's own noise. What the
lines cannot tell well (a small sheet in a large picture) the spread of the solution says.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drafting_core.ink.known_lines import KnownInk
from drafting_core.ink.polylines import Numbers, Points
from drafting_core.ink.rectify import PlaneMap, four_point_map

#: A lens bends by at most this part at the picture's corner, be the page somewhat larger.
_MOST_SHARE = 0.1
#: The lens' middle lies off the picture's by about this part of half its diagonal: what is known
#: of it beforehand, pictures being cropped and pages another size; the ink tells it better, …
_OFF_MIDDLE = 0.1
#: … or by this where the picture's middle is but guessed.
_MIDDLE_GUESSED = 0.25
#: Beyond so many half diagonals the lens is taken to bend no more than there.
_FARTHEST = 1.5
#: Points of one line near each other err alike, so that they tell less than as many others.
_ALIKE = 4.0
#: A lens is taken out where its bow exceeds so many times the trace's own noise, …
_BOW_OVER_NOISE = 3.0
#: … and where what it leaves is no more than so many times that, or half of what was.
_EXPLAINED = 2.0
#: What is told of a measure's spread: so many standard deviations.
_SPREAD = 2.0


class Frame(NamedTuple):
    """A picture: its middle, and half of its diagonal, in the trace's units.

    Attributes:
        middle: its middle.
        reach: half of its diagonal.
        is_known: whether they are the picture's own, not those of what is drawn.
    """

    middle: complex
    reach: float
    is_known: bool = True


class Lens(NamedTuple):
    """A lens.

    Attributes:
        middle: where it looks straight ahead, in the trace's units.
        reach: half of the picture's diagonal.
        share: by which part of it points at that distance are seen too far outside; below 0 for
            a barrel, above for a pincushion.
    """

    middle: complex
    reach: float
    share: float

    def straightened(self, points: Points) -> Points:
        """Return where points of the picture belong."""
        away = (points - self.middle) / self.reach
        seen = np.abs(away)
        farthest = _FARTHEST
        if self.share < 0.0:
            # Where a barrel would fold the picture over.
            farthest = min(farthest, 0.6 / np.sqrt(-3.0 * self.share))
        bounded = np.minimum(seen, farthest)
        r = bounded.copy()
        for _step in range(6):
            r -= (r * (1.0 + self.share * r * r) - bounded) / (1.0 + 3.0 * self.share * r * r)
        factor = np.where(bounded > 1e-12, r / np.maximum(bounded, 1e-12), 1.0)
        return np.asarray(self.middle + self.reach * away * factor)

    def bent(self, points: Points) -> Points:
        """Return where points are seen in the picture."""
        away = (points - self.middle) / self.reach
        r = np.minimum(np.abs(away), _FARTHEST)
        return np.asarray(self.middle + self.reach * away * (1.0 + self.share * r * r))


class LensMap(NamedTuple):
    """The map from a picture through a lens to the flat sheet.

    Attributes:
        lens: what is taken out first.
        plane: the perspective, taken out then.
    """

    lens: Lens
    plane: PlaneMap

    @property
    def matrix(self) -> NDArray[np.float64]:
        """The perspective's homography, shape (3, 3)."""
        return self.plane.matrix

    def __call__(self, points: Points) -> Points:
        """Return points sent through the map, shape kept."""
        return self.plane(self.lens.straightened(points))

    def at(self, point: complex) -> complex:
        """Return one point sent through the map."""
        return complex(self(np.array([point]))[0])

    def scale_at(self, point: complex) -> float:
        """Return the length that a unit gets at a place: the root of what its area gets."""
        straight = complex(self.lens.straightened(np.array([point]))[0])
        return self.plane.scale_at(straight)

    @property
    def inverse(self) -> BackMap:
        """The map back."""
        return BackMap(self.lens, self.plane.inverse)


class BackMap(NamedTuple):
    """The map from the flat sheet back to the picture.

    Attributes:
        lens: through which the sheet is seen.
        plane: the perspective in which it is seen, before the lens.
    """

    lens: Lens
    plane: PlaneMap

    def __call__(self, points: Points) -> Points:
        """Return points sent through the map, shape kept."""
        return self.lens.bent(self.plane(points))

    def at(self, point: complex) -> complex:
        """Return one point sent through the map."""
        return complex(self(np.array([point]))[0])


class Flattened(NamedTuple):
    """How a picture becomes flat by the ink along known lines.

    Attributes:
        to_true: the map that was chosen.
        through_lens: the map with the lens in it, chosen or not.
        bow: by how much a known line bows at the most, in mm.
        noise: by how much the ink strays from smooth curves (standard deviation, mm).
        left: the same from the known lines, as the chosen map sees them (root mean square, mm).
        is_bent: whether the lens is taken out.
        spread: how the solution may vary: maps as likely as it, one for each thing not known.
    """

    to_true: PlaneMap | LensMap
    through_lens: LensMap
    bow: float
    noise: float
    left: float
    is_bent: bool
    spread: tuple[LensMap, ...]

    def off_at(self, points: Points) -> float:
        """Return by how much points may come out wrong in shape, in mm, as far as can be known.

        Args:
            points: in the trace's units, shape (n,).
        """
        told = self.through_lens(points)
        off = np.zeros(len(points))
        for other in self.spread:
            off += np.abs(shape_change(told, other(points))) ** 2
        off = _SPREAD * np.sqrt(off)
        if not self.is_bent:
            off += np.abs(shape_change(told, self.to_true(points)))
        return float(off.max())


def shape_change(one: Points, other: Points) -> Points:
    """Return what is left between two sets of points when the one is laid upon the other.

    Turned and shifted as is best by least squares; shape (n,), in mm.
    """
    a, b = one - one.mean(), other - other.mean()
    factor = np.vdot(a, b)
    factor /= abs(factor) or 1.0
    return np.asarray(b - factor * a)


def off_by_a_lens(
    corners: Points, points: Points, frame: Frame, plane: PlaneMap, share: float
) -> float:
    """Return by how many mm points come out wrong in shape through a lens that is not taken out.

    Args:
        corners: of the known rectangle, in the trace's units.
        points: of the block, the same.
        frame: the picture.
        plane: the map that was found without the lens.
        share: of the lens, see `Lens`.
    """
    lens = Lens(frame.middle, frame.reach, share)
    truly = four_point_map(list(lens.straightened(corners)), list(plane(corners)))
    return float(np.abs(shape_change(LensMap(lens, truly)(points), plane(points))).max())


def made_flat(lines: Sequence[KnownInk], plane: PlaneMap, frame: Frame) -> Flattened:
    """Return how a picture becomes flat by the ink along known lines.

    Args:
        lines: the known lines as found in the ink, their points in the trace's units.
        plane: the map by the marked corners, from which the search begins.
        frame: the picture.
    """
    noise = float(np.sqrt(np.mean([line.noise**2 for line in lines])))
    bow = max(line.bow for line in lines)
    counts = [len(ink.points) for ink in lines]
    problem = _Problem(
        np.concatenate([ink.points for ink in lines]),
        np.repeat([ink.line.start for ink in lines], counts),
        np.repeat([ink.line.along for ink in lines], counts),
        frame,
        noise,
        plane,
    )
    without = _solved(problem, with_lens=False)
    found = _solved(problem, with_lens=True)
    explains = found.left <= max(_EXPLAINED * noise, 0.5 * without.left)
    is_bent = bow > _BOW_OVER_NOISE * noise and explains
    chosen = found if is_bent else without
    return Flattened(
        found.to_true if is_bent else without.to_true.plane,
        found.to_true,
        bow,
        noise,
        chosen.left,
        is_bent,
        found.spread,
    )


class _Solution(NamedTuple):
    to_true: LensMap
    left: float
    spread: tuple[LensMap, ...]


class _Problem(NamedTuple):
    """What the least squares begin with.

    The unknowns are the eight numbers of the homography from the picture (its middle at 0, half
    its diagonal 1) to mm, then the lens' share and its middle.

    Attributes:
        points: of the ink, in the trace's units, shape (n,).
        starts: where the line of each of them starts, in mm.
        along: the direction of its line.
        frame: the picture.
        noise: of the points (mm).
        plane: the map by the marked corners.
    """

    points: Points
    starts: Points
    along: Points
    frame: Frame
    noise: float
    plane: PlaneMap

    @property
    def start(self) -> Numbers:
        """The unknowns as the marked corners have them, without a lens."""
        middle, reach = self.frame.middle, self.frame.reach
        back = np.array([[reach, 0, middle.real], [0, reach, middle.imag], [0, 0, 1.0]])
        matrix = self.plane.matrix @ back
        return np.append((matrix / matrix[2, 2]).reshape(9)[:8], [0.0, 0.0, 0.0])

    def map_of(self, unknowns: Numbers) -> LensMap:
        """Return the map that some unknowns stand for."""
        middle, reach = self.frame.middle, self.frame.reach
        there = np.array(
            [[1 / reach, 0, -middle.real / reach], [0, 1 / reach, -middle.imag / reach], [0, 0, 1]]
        )
        share, x, y = unknowns[8:]
        lens = Lens(middle + complex(x, y) * reach, reach, float(share))
        return LensMap(lens, PlaneMap(np.append(unknowns[:8], 1.0).reshape(3, 3) @ there))

    def residuals(self, unknowns: Numbers) -> Numbers:
        """Return how far each point of the ink comes to lie from its line, in mm."""
        flat = self.map_of(unknowns)(self.points)
        return np.asarray(((flat - self.starts) * np.conj(self.along)).imag)


def _solved(problem: _Problem, *, with_lens: bool) -> _Solution:
    """Return the solution by damped least squares (Levenberg and Marquardt)."""
    off = _OFF_MIDDLE if problem.frame.is_known else _MIDDLE_GUESSED
    free = np.arange(11) if with_lens else np.arange(8)

    def weighted(unknowns: Numbers) -> Numbers:
        ink = problem.residuals(unknowns) / (problem.noise * np.sqrt(_ALIKE))
        # Not known, but not anything either: the lens' middle and, loosely, its share.
        return np.concatenate([ink, unknowns[9:] / off, unknowns[8:9] / _MOST_SHARE])

    unknowns, damping = problem.start, 1e-3
    values = weighted(unknowns)
    for _step in range(100):
        slope = _slope(weighted, unknowns, free)
        normal, down = slope.T @ slope, slope.T @ values
        step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -down)
        tried = unknowns.copy()
        tried[free] += step
        tried[8] = np.clip(tried[8], -_MOST_SHARE, _MOST_SHARE)
        new = weighted(tried)
        gain = float(values @ values - new @ new)
        if gain > 0:
            unknowns, values, damping = tried, new, damping / 8
            if gain < 1e-9 * float(values @ values):
                break
        else:
            damping *= 8
            if damping > 1e8:
                break
    left = problem.residuals(unknowns)
    slope = _slope(weighted, unknowns, free)
    # What is left beyond the noise is not known either.
    more = max(1.0, float(np.mean(left**2)) / problem.noise**2)
    spread = []
    for way in _root_of_spread(slope.T @ slope).T * np.sqrt(more):
        other = unknowns.copy()
        other[free] += way
        spread.append(problem.map_of(other))
    return _Solution(problem.map_of(unknowns), float(np.sqrt(np.mean(left**2))), tuple(spread))


def _root_of_spread(normal: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a root of the inverse of a normal matrix: its columns add up to the covariance."""
    size = 1.0 / np.sqrt(np.diag(normal))
    even = np.linalg.cholesky(normal * size[:, None] * size[None, :])
    return np.asarray(size[:, None] * np.linalg.inv(even).T)


def _slope(
    function: Callable[[Numbers], Numbers], at: Numbers, free: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Return the derivatives of a function, by differences: a column for each free unknown."""
    columns = []
    for k in free:
        step = 1e-5 * max(1.0, abs(float(at[k])))
        up, down = at.copy(), at.copy()
        up[k] += step
        down[k] -= step
        columns.append((function(up) - function(down)) / (2 * step))
    return np.column_stack(columns)
