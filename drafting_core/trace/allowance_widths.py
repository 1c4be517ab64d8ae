"""The seam allowances that a drawn cut line gives: how far it lies from each seam."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.polylines import NearPoints, Numbers, Points, resampled
from drafting_core.model.outline import flattened
from drafting_core.model.seam_names import Seam
from drafting_core.trace.seam_runs import SeamRun

#: Points looked at along a seam are so far apart (mm).
_STEP = 1.0
#: The cut line is looked for within this distance (mm).
_REACH = 60.0
#: Near a seam's ends the nearest place may lie on the next seam's cut line: so many widths, and so
#: much (mm), are left out there.
_ENDS, _MORE = 1.2, 3.0
#: A seam with its cut line nearer than this (mm) lies on the fold of the cloth.
_ON_FOLD = 1.5
#: A width is given to the nearest of these (mm), as they are drawn, …
_GRADUATION = 0.5
#: … and a word is said where it differs by more than this along the seam (mm).
_UNEVEN = 1.5


class SeamAllowance(NamedTuple):
    """The allowance that is drawn along a seam.

    Attributes:
        seam: the seam.
        width: in mm, 0 on the fold.
        least: the smallest distance of the cut line in mm, the seam's ends left out.
        most: the largest.
    """

    seam: Seam
    width: float
    least: float
    most: float

    @property
    def is_uneven(self) -> bool:
        """Whether it is so much wider at one place than at another that one should look."""
        return self.most - self.least > _UNEVEN


def seam_allowances(
    runs: Sequence[SeamRun], seams: Sequence[Seam | None], cut_line: Points
) -> list[SeamAllowance]:
    """Return the allowance of every seam, in the outline's order.

    Args:
        runs: the outline's seams and legs from corner to corner.
        seams: the seam of each, None for legs.
        cut_line: the drawn cut line, closed, shape (n,), in mm.
    """
    near = NearPoints(resampled(cut_line, _STEP / 4, closed=True), _REACH)
    found: dict[Seam, list[Numbers]] = {}
    for run, seam in zip(runs, seams, strict=True):
        if seam is not None:
            found.setdefault(seam, []).append(_widths(run, near))
    return [_allowance(seam, np.concatenate(parts)) for seam, parts in found.items()]


def _widths(run: SeamRun, near: NearPoints) -> Numbers:
    """Return the distances of the cut line along a run, its ends left out; shape (n,), in mm."""
    line = np.array([*flattened(run.segments, 24), run.segments[-1].end])
    points = resampled(line, _STEP, closed=False)
    _number, away = near.nearest(points)
    away = np.where(np.isfinite(away), away, _REACH)
    margin = int((_ENDS * float(np.median(away)) + _MORE) / _STEP)
    margin = min(margin, (len(points) - 3) // 2)
    return np.asarray(away[margin : len(away) - margin] if margin > 0 else away)


def _allowance(seam: Seam, widths: Numbers) -> SeamAllowance:
    usual = float(np.median(widths))
    if usual <= _ON_FOLD:
        return SeamAllowance(seam, 0.0, float(widths.min()), float(widths.max()))
    width = round(usual / _GRADUATION) * _GRADUATION
    least, most = (float(np.percentile(widths, share)) for share in (3, 97))
    return SeamAllowance(seam, width, least, most)


def say_allowances(allowances: Sequence[SeamAllowance], said: Mapping[Seam, bool]) -> None:
    """Give seams their drawn allowances, where the drafter said nothing else of them.

    Args:
        allowances: what is drawn.
        said: for seams that she marked, True.
    """
    for drawn in allowances:
        seam = drawn.seam
        if said.get(seam) and (seam.allowance is not None or seam.fold):
            continue
        if drawn.width == 0.0:
            seam.fold = True
        else:
            seam.allowance = drawn.width
