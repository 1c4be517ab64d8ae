"""What the seams of a piece may be called by their shapes, from a given one on in order.

Each reading takes the shapes of all seams, its first one where the reading begins, and answers
with their names, an empty one where the shape does not tell, or None where it does not fit. The
proportions are common practice for fitted blocks, with wide margins; what else is cut so (a
princess panel, a gore, a pocket, a hood) must not fit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from drafting_core.model.seam_names import (
    ARMHOLE,
    CAP,
    CENTRE_BACK,
    CENTRE_FRONT,
    CROTCH_SEAM,
    HEM,
    INSEAM,
    NECKLINE,
    SHOULDER,
    SIDE_SEAM,
    UNDERARM_SEAM,
    WAIST,
    WRIST,
)
from drafting_core.model.seam_shapes import SeamShape, corner_angles
from drafting_core.plane.curves import cross, dot, turn

#: A seam is straight when it strays from its chord by less than this part of it.
STRAIGHT = 0.006
#: An armhole is hollowed by at least the first part of its chord, a neckline by the second.
HOLLOW = 0.06
SHALLOW = 0.045
#: A shoulder that is drawn straight over an open dart peaks by at most this part of its chord
#: when the dart is closed.
PEAKED_SHOULDER = 0.12
#: Any other shoulder, a side seam, and a lower edge with its darts closed stray by at most these.
CURVED_SHOULDER = 0.05
CURVED_SIDE = 0.08
CURVED_EDGE = 0.15
#: Chord by chord a bodice's armhole is longer than its neckline, and its centre longer than its
#: side seam and than its shoulder, by at least these.
ARMHOLE_OVER_NECK = 1.05
CENTRE_OVER_SIDE = 1.08
CENTRE_OVER_SHOULDER = 1.5
#: Its corners inside, in degrees: lower edge and centre are off a right angle by at most the
#: first; centre and neckline, and all others, lie between these.
OFF_SQUARE = 15.0
NECK_ANGLES = (65.0, 125.0)
OTHER_ANGLES = (45.0, 145.0)
#: Depth of the neckline over its width: a front's is at least the first, a back's at most the
#: second; between them the shape does not tell.
FRONT_NECK = 0.75
BACK_NECK = 0.36
#: A neckline takes at most this part of the width that the lower edge has, darts open.
WIDEST_NECK = 0.48
WIDEST_NECK_OF_YOKE = 0.6
#: Without a word from the drafter a front has at least the first, a back at most the second of
#: all its darts' angles together (degrees): a bust takes more shaping than a shoulder blade.
FRONT_SHAPING = 12.0
BACK_SHAPING = 18.0
#: Side seam over armhole, chord by chord: between the first two the lower edge is the waist,
#: from the last on it is a hem; a shorter piece is not read at all.
SHORTEST_SIDE = 0.5
WAIST_LENGTHS = (0.65, 1.3)
HEM_LENGTH = 2.5
#: A shoulder is no strap: it is at least this part of the neckline long.
SHORTEST_SHOULDER = 0.6
#: A skirt's centre is so many times its waist long, and its hem at most so many times as wide.
SKIRT_LENGTHS = (1.35, 5.5)
WIDEST_HEM = 2.0
#: The hip, where a skirt's side seam bulges most, lies in this part of it from the waist.
HIP = 0.49
#: A quarter of a waist without a dart is at least so long (mm): half a centre gore is shorter.
LEAST_WAIST = 165.0
#: Such a skirt is at least so long (mm): half a hood is shorter.
LEAST_SKIRT = 400.0
#: A skirt's hem bows by at most this part of its chord: an upper edge of a hood does more.
SKIRT_HEM = 0.06
#: A sleeve's cap is high between these parts of its chord, and higher than the third where it
#: alone tells that it is one: it then is hollow toward both ends, by this part of the way.
CAP_HEIGHTS = (0.12, 0.6)
HIGH_CAP = 0.2
HOLLOW_FLANK = 0.004
#: Unless it is said to be one, a sleeve is at least so wide (mm): flaps, and sleeves in two parts,
#: may be like it.
LEAST_SLEEVE = 280.0
#: Where its cap alone tells, it narrows to at most this part of its width.
NARROWER = 0.93
#: The underarm seams stray by at most the first, one with its dart closed by the second, and the
#: one beside it by the third; the one is at most so many times as long as the other.
CURVED_UNDERARM = 0.04
DARTED_UNDERARM = 0.11
STRAIGHT_UNDERARM = 0.02
UNEQUAL_UNDERARMS = 1.1
#: They are so many times the cap's chord long; a sleeve from the last on ends at the wrist.
UNDERARM_LENGTHS = (0.25, 2.2)
LONG_SLEEVE = 1.1
#: The wrist is at least this part of the cap's chord wide.
NARROWEST_WRIST = 0.4
#: The corners at either end differ by at most so many degrees.
SLEEVE_ASKEW = 14.0
#: A yoke's armhole is hollow between these, and its shoulder so many times the neckline long.
YOKE_ARMHOLE = (0.02, 0.12)
YOKE_SHOULDERS = (0.8, 2.3)
#: The crotch seam of trousers is hollow by at least this part of its chord, which is between so
#: many times the waist's.
CROTCH_HOLLOW = 0.08
CROTCH_OVER_WAIST = (0.95, 1.85)
#: Its side seam and inseam run together by at most so many degrees.
LEG_TAPER = 28.0
#: A waist of trousers without a dart is at least so long (mm).
LEAST_WAIST_OF_TROUSERS = 140.0


def read_bodice(shapes: Sequence[SeamShape], hint: str, shaping: float) -> list[str] | None:
    """Read six seams as centre, neckline, shoulder, armhole, side seam and lower edge."""
    if not _is_like_a_bodice(shapes):
        return None
    by_shape = _middle_by_neckline(shapes, WIDEST_NECK)
    if by_shape is None:
        return None
    middle = by_shape or hint
    is_doubtful = not hint and (
        (by_shape == CENTRE_FRONT and shaping < FRONT_SHAPING)
        or (by_shape == CENTRE_BACK and shaping > BACK_SHAPING)
    )
    if is_doubtful or (by_shape and hint and by_shape != hint):
        # A bodice it is all the same.
        middle = ""
    return [middle, NECKLINE, SHOULDER, ARMHOLE, SIDE_SEAM, _lower_edge(shapes)]


def _is_like_a_bodice(shapes: Sequence[SeamShape]) -> bool:
    """Tell whether six seams have the lines, the sizes and the corners of a bodice."""
    centre, neck, shoulder, armhole, side, lower = shapes
    angles = corner_angles(shapes)
    # Many draw the shoulder straight with its dart open: closed, it then has a peak there.
    is_peaked = shoulder.drawn_stray <= STRAIGHT
    lines = (
        centre.stray <= STRAIGHT
        and neck.hollow >= SHALLOW
        and shoulder.stray <= (PEAKED_SHOULDER if is_peaked else CURVED_SHOULDER)
        and armhole.hollow >= HOLLOW
        and side.stray <= CURVED_SIDE
        and lower.stray <= CURVED_EDGE
    )
    sizes = (
        armhole.chord >= ARMHOLE_OVER_NECK * neck.chord
        and centre.chord >= CENTRE_OVER_SIDE * side.chord
        and centre.chord >= CENTRE_OVER_SHOULDER * shoulder.chord
        and side.chord >= max(shoulder.chord, SHORTEST_SIDE * armhole.chord)
        and shoulder.chord >= SHORTEST_SHOULDER * neck.chord
    )
    corners = (
        abs(angles[5] - 90.0) <= OFF_SQUARE  # lower edge and centre
        and NECK_ANGLES[0] <= angles[0] <= NECK_ANGLES[1]  # centre and neckline
        and all(OTHER_ANGLES[0] <= angle <= OTHER_ANGLES[1] for angle in angles[1:5])
    )
    return lines and sizes and corners


def _middle_by_neckline(shapes: Sequence[SeamShape], widest: float) -> str | None:
    """Return which centre a bodice has by its neckline's depth, or "" where that does not tell.

    None where it is no neckline at all: it does not rise, or takes more than this part of the
    lower edge.
    """
    centre, neck, lower = shapes[0], shapes[1], shapes[-1]
    corner = turn(centre.arriving, neck.leaving)
    up = neck.closed_leaving * complex(math.cos(corner), -math.sin(corner))
    rise = dot(neck.end - neck.start, up)
    across = abs(cross(up, neck.end - neck.start))
    if rise <= 0.0 or not 0.0 < across <= widest * lower.drawn_chord:
        return None
    depth = rise / across
    return CENTRE_FRONT if depth >= FRONT_NECK else CENTRE_BACK if depth <= BACK_NECK else ""


def _lower_edge(shapes: Sequence[SeamShape]) -> str:
    """Return what a bodice ends in by the length of its side: waist, hem, or "" in between."""
    length = shapes[4].chord / shapes[3].chord
    if WAIST_LENGTHS[0] <= length <= WAIST_LENGTHS[1]:
        return WAIST
    return HEM if length >= HEM_LENGTH else ""


def read_skirt(shapes: Sequence[SeamShape], hint: str, is_said: bool) -> list[str] | None:
    """Read four seams as centre, waist, side seam and hem.

    Args:
        shapes: the seams' shapes.
        hint: the centre's name by the drafter's own words, or an empty string.
        is_said: whether her words say that it is a skirt.
    """
    centre, waist, side, hem = shapes
    angles = corner_angles(shapes)
    # Half a centre gore is as curved, but no quarter of a waist: that is wider, or has darts.
    is_quarter = (
        waist.has_mouth
        or is_said
        or (waist.chord >= LEAST_WAIST and centre.chord >= max(LEAST_SKIRT, 1.6 * waist.chord))
    )
    fits = (
        is_quarter
        and not (centre.has_mouth or side.has_mouth or hem.has_mouth)
        and centre.stray <= STRAIGHT
        and 2 * STRAIGHT <= side.stray <= 0.12
        and side.hollow <= 0.3 * side.stray
        and waist.stray <= 0.15
        and hem.stray <= SKIRT_HEM
        and side.deepest <= HIP
        # The waist rises toward the side, the hem does not: unlike a hood's back.
        and side.chord >= 0.97 * centre.chord
        and hem.hollow <= 0.03
        and 1.08 * waist.chord <= hem.chord <= WIDEST_HEM * waist.chord
        and SKIRT_LENGTHS[0] * waist.chord <= centre.chord <= SKIRT_LENGTHS[1] * waist.chord
        and abs(angles[0] - 90.0) <= 8.0  # centre and waist
        and abs(angles[3] - 90.0) <= 8.0  # hem and centre
        and 60.0 <= angles[1] <= 125.0  # waist and side seam
        and 72.0 <= angles[2] <= 112.0  # side seam and hem
    )
    return [hint, WAIST, SIDE_SEAM, HEM] if fits else None


def read_sleeve(shapes: Sequence[SeamShape], is_said: bool) -> list[str] | None:
    """Read four seams as cap, underarm seam, wrist and underarm seam again.

    The same from either end: a flap or a pocket with a round edge is so too, but its edge is not
    hollow toward its ends, it is no narrower at the other end, and it has no dart at its side.

    Args:
        shapes: the seams' shapes.
        is_said: whether the drafter's words say that it is a sleeve.
    """
    cap, one, wrist, other = shapes
    sides = (one, other)
    shorter, longer = sorted(side.chord for side in sides)
    fits = (
        not (cap.has_mouth or wrist.has_mouth)
        and cap.hollow <= 0.03
        and CAP_HEIGHTS[0] <= cap.stray <= CAP_HEIGHTS[1]
        and abs(cap.deepest - 0.5) <= 0.1
        and wrist.stray <= 0.06
        and NARROWEST_WRIST * cap.chord <= wrist.chord <= 0.97 * cap.chord
        and longer <= UNEQUAL_UNDERARMS * shorter
        and UNDERARM_LENGTHS[0] * cap.chord <= shorter
        and longer <= UNDERARM_LENGTHS[1] * cap.chord
        and _are_underarms(one, other)
        and _is_even(corner_angles(shapes))
    )
    if not fits or not (is_said or _is_surely_a_sleeve(cap, wrist, sides)):
        return None
    return [CAP, UNDERARM_SEAM, WRIST if shorter >= LONG_SLEEVE * cap.chord else "", UNDERARM_SEAM]


def _are_underarms(one: SeamShape, other: SeamShape) -> bool:
    """Tell whether two seams have the lines of the underarm seams of one sleeve."""
    lines = all(
        side.stray <= (DARTED_UNDERARM if side.has_mouth else CURVED_UNDERARM)
        for side in (one, other)
    )
    # Mirrored, not parallel, as the seams of a sleeve in two parts are.
    is_mirrored = abs(one.middle - other.middle) <= 0.02
    return lines and (is_mirrored or one.has_mouth or other.has_mouth)


def _is_even(angles: Sequence[float]) -> bool:
    """Tell whether the corners of a sleeve, from that of cap and underarm on, mirror each other."""
    return (
        abs(angles[0] - angles[3]) <= SLEEVE_ASKEW
        and abs(angles[1] - angles[2]) <= SLEEVE_ASKEW
        and all(92.0 <= angles[k] <= 148.0 for k in (0, 3))
        and all(85.0 <= angles[k] <= 115.0 for k in (1, 2))
    )


def _is_surely_a_sleeve(cap: SeamShape, wrist: SeamShape, sides: Sequence[SeamShape]) -> bool:
    """Tell whether what is like a sleeve is one: its cap is bell-shaped, or it has a dart."""
    is_bell = (
        min(cap.flanks) >= HOLLOW_FLANK
        and cap.stray >= HIGH_CAP
        and wrist.chord <= NARROWER * cap.chord
    )
    # The dart is at the elbow, and the seam beside it straight.
    undarted = [side for side in sides if not side.has_mouth]
    is_darted = len(undarted) == 1 and undarted[0].stray <= STRAIGHT_UNDERARM
    return cap.chord >= LEAST_SLEEVE and (is_bell or is_darted)


def read_yoke(shapes: Sequence[SeamShape], hint: str) -> list[str] | None:
    """Read five seams as centre, neckline, shoulder, armhole and the yoke's own seam."""
    centre, neck, shoulder, armhole, lower = shapes
    angles = corner_angles(shapes)
    fits = (
        not any(shape.has_mouth for shape in shapes[:4])
        and centre.stray <= STRAIGHT
        and neck.hollow >= SHALLOW
        and shoulder.stray <= 0.02
        and YOKE_ARMHOLE[0] <= armhole.hollow <= YOKE_ARMHOLE[1]
        and armhole.stray <= armhole.hollow
        and lower.stray <= 0.1
        and YOKE_SHOULDERS[0] * neck.chord <= shoulder.chord <= YOKE_SHOULDERS[1] * neck.chord
        and 0.35 * lower.chord <= armhole.chord <= 0.85 * lower.chord
        and 0.3 * lower.chord <= centre.chord <= lower.chord
        and abs(angles[4] - 90.0) <= 10.0  # yoke seam and centre
        and 75.0 <= angles[3] <= 105.0  # armhole and yoke seam
        and 78.0 <= angles[2] <= 112.0  # shoulder and armhole
        and 88.0 <= angles[1] <= 140.0  # neckline and shoulder
        and NECK_ANGLES[0] <= angles[0] <= NECK_ANGLES[1]  # centre and neckline
    )
    if not fits:
        return None
    by_shape = _middle_by_neckline(shapes, WIDEST_NECK_OF_YOKE)
    if by_shape is None:
        return None
    middle = by_shape or hint
    if by_shape and hint and by_shape != hint:
        middle = ""
    return [middle, NECKLINE, SHOULDER, ARMHOLE, ""]


def read_trousers(shapes: Sequence[SeamShape], is_said: bool) -> list[str] | None:
    """Read five seams as waist, side seam, hem, inseam and crotch seam.

    Args:
        shapes: the seams' shapes.
        is_said: whether the drafter's words say that they are trousers.
    """
    waist, side, hem, inseam, crotch = shapes
    angles = corner_angles(shapes)
    # A panel of half a leg is as curved, but narrow; so is the half of a front with a deep
    # neckline that is cut in two from the shoulder.
    is_half = waist.has_mouth or is_said or waist.chord >= LEAST_WAIST_OF_TROUSERS
    along = dot(side.end - side.start, inseam.start - inseam.end)
    fits = (
        is_half
        and not any(shape.has_mouth for shape in shapes[1:])
        and waist.stray <= 0.12
        and side.hollow <= 0.03
        and 0.008 <= side.stray <= 0.08
        and side.deepest <= HIP
        and hem.stray <= 0.04
        and inseam.stray <= 0.05
        and crotch.hollow >= CROTCH_HOLLOW
        and crotch.deepest <= 0.48
        and CROTCH_OVER_WAIST[0] * waist.chord <= crotch.chord <= CROTCH_OVER_WAIST[1] * waist.chord
        and side.chord >= 1.6 * waist.chord
        and inseam.chord >= 0.3 * crotch.chord
        and 0.65 * crotch.chord <= side.chord - inseam.chord <= 1.1 * crotch.chord
        and 0.6 * waist.chord <= hem.chord <= 2.0 * waist.chord
        and along >= math.cos(math.radians(LEG_TAPER)) * side.chord * inseam.chord
        and all(75.0 <= angles[k] <= 112.0 for k in (0, 1, 2, 4))
        and 78.0 <= angles[3] <= 130.0  # inseam and crotch seam
    )
    return [WAIST, SIDE_SEAM, HEM, INSEAM, CROTCH_SEAM] if fits else None
