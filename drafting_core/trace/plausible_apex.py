"""Whether a front's apex lies where a bust can be: what tells a wrong scale of a scan.

Source of the proportions: 7th Size Korea survey, 2015, computed aggregates for women from 20 to
69 (n = 2,289), 5th to 95th percentile: distance of the bust points over the bust girth 0.17 to
0.23; neck side to bust point over the bust girth 0.265 to 0.319. Used for plausibility only.
"""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.model.piece import Piece
from drafting_core.model.piece_kinds import FRONT, piece_kind
from drafting_core.model.seam_names import CENTRE_FRONT, NECKLINE, SHOULDER
from drafting_core.model.stretches import stretches
from drafting_core.plane.curves import cross, unit
from drafting_core.text.lengths import span_in_words, told_length
from drafting_core.text.words import _

_APART = (0.17, 0.23)
_NECK_TO_BUST = (0.265, 0.319)
#: Bust girths that fitted blocks are drafted for (mm): common practice, with a wide margin about
#: the 760 to 1,040 mm of the survey's table.
_GIRTHS = (650.0, 1500.0)


def implausible_apex(piece: Piece, apexes: Sequence[complex]) -> str:
    """Return a warning if a front's only apex cannot be a bust point, else an empty string.

    Distances are measured within the part of the piece between two darts, so that a dart's place
    does not change them.

    Args:
        piece: the block with its seams named, in true mm.
        apexes: its apexes.
    """
    if piece_kind(piece) != FRONT or len(apexes) != 1:
        return ""
    seams = {stretch.seam.kind: stretch for stretch in stretches(piece)}
    if not {NECKLINE, SHOULDER, CENTRE_FRONT} <= seams.keys():
        return ""
    neck, shoulder = (seams[kind].ends(piece) for kind in (NECKLINE, SHOULDER))
    side = min(neck, key=lambda z: min(abs(z - end) for end in shoulder))
    start, end = seams[CENTRE_FRONT].ends(piece)
    from_neck = abs(apexes[0] - side)
    from_centre = abs(cross(unit(end - start), apexes[0] - start))
    girths = [
        (from_neck / _NECK_TO_BUST[1], from_neck / _NECK_TO_BUST[0]),
        (2 * from_centre / _APART[1], 2 * from_centre / _APART[0]),
        _GIRTHS,
    ]
    if max(low for low, _high in girths) <= min(high for _low, high in girths):
        return ""
    return _(
        "The apex lies {neck} from the neck's side, which goes with a bust girth of {girth}, and "
        "{centre} from the centre front, which goes with {girth_centre}: check the scale and the "
        "apex."
    ).format(
        neck=told_length(from_neck, 0),
        girth=span_in_words(*girths[0]),
        centre=told_length(from_centre, 0),
        girth_centre=span_in_words(*girths[1]),
    )
