"""What a page of sewing notes says of a piece and of each dart: where it is, which way, and why.

Sources: legs, fold and trimming are as drafted. Slashing a deep dart open only in bulky cloth,
stopping 1/2 to 1 in from the point, and trimming sheer cloth, overcasting or binding it: read in
ICAR eCourse, *General rules for stitching a dart*, 2011. Deep darts slashed, pressed open and
neatened: read in *CITS Dress Making, Trade Practical*, p. 185. Common practice without a source:
the finishes of woven, fine and knit cloth; how close to its second row a sheer dart is trimmed;
clipping a hollow allowance; clipping and pressing the seam of two parts; what counts as deep, as
small and as straight.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.dart.excess import KEEP
from drafting_core.dart.finish_words import CLOTH_WORDS, fold_sentence, verdict_sentence
from drafting_core.dart.folding import CENTRE, COURSE, DOWN, SEAM, Fold
from drafting_core.dart.fullness import Fullness
from drafting_core.finished.pattern_piece import Draft, DrawnDart
from drafting_core.model.piece import EASE, FLARE, GATHERS, TUCK
from drafting_core.model.seam_names import spoken_name
from drafting_core.plane.curves import Line, Segment, chain_length
from drafting_core.sewing.dart_steps import (
    SECOND_ROW,
    DartCloth,
    dart_cloth,
    tuck_cloth,
    whole_cut_line,
)
from drafting_core.text.figures import in_degrees
from drafting_core.text.lengths import INCH, in_words, span_in_words
from drafting_core.text.words import N_, _, ngettext
from extension.drafting.report import (
    fullness_sentences,
    joined_sentences,
    turned_sentences,
)
from extension.finished.cut_count import CutCount, count_of
from extension.reading.piece_names import shown_name
from extension.sewing.fullness import rows_step, tuck_fold, tuck_steps
from extension.sewing.steps import Step, dart_steps

#: A kept dart with a wider mouth than this is bulky in a thick cloth (mm): common practice.
DEEP = 50.0
#: A clearance below this is none as far as a page is concerned (mm).
_NO_CLEARANCE = 0.05
#: A dart with a narrower mouth is too small to stitch well (mm): common practice.
SMALL = 6.0
#: How close to the second row a sheer dart is trimmed after sewing, at most (mm): common practice.
_CLOSER = 6.0
#: A seam that strays from its chord by a larger share of it is curved: pressed over a ham.
_HOLLOW = 0.03
#: Edges that end this near to one another are one seam (mm).
_JOINED = 1e-3
_FINISHES = {
    "woven": N_(
        "Finish the raw edges: overcast them, or zigzag both layers together; in a firm cloth "
        "pinking is enough."
    ),
    "fine": N_(
        "Finish the raw edges with a narrow zigzag, or bind them; take a fine needle and short "
        "stitches."
    ),
    "sheer": N_(
        "Finish the raw edges by overcasting both layers together, or bind them: they show through."
    ),
    "knit": N_(
        "Finish the raw edges with a narrow zigzag or an overlock stitch, both of which "
        "stretch with the cloth."
    ),
}
_KINDS = {
    GATHERS: N_("Gathers on {seam}"),
    EASE: N_("Ease on {seam}"),
    FLARE: N_("Flare on {seam}"),
    TUCK: N_("Tuck on {seam}"),
}


#: What a page to be handed out says of a fold in fewer words than the report, by its way, its rule
#: and whether the middle of the piece counts as the centre.
_SHORTER = {
    (CENTRE, COURSE, False): N_("Excess folded toward the centre, since the dart runs lengthwise."),
    (DOWN, COURSE, False): N_("Excess folded down, since the dart runs crosswise."),
    (CENTRE, SEAM, True): N_(
        "Excess folded toward the centre (here the middle of the piece), since it is on {seam}."
    ),
    (CENTRE, COURSE, True): N_(
        "Excess folded toward the centre (here the middle of the piece), since the dart runs "
        "lengthwise."
    ),
}


class Section(NamedTuple):
    """What a page says of one dart, or of one place with fullness.

    Attributes:
        number: its number on the page.
        title: what it is and where.
        sentences: what is said of it.
        steps: the steps that have a picture.
        cloth: the cloth about it, for the pictures; None of gathers and the like.
        item: the dart or the fullness itself.
    """

    number: int
    title: str
    sentences: tuple[str, ...]
    steps: tuple[Step, ...]
    cloth: DartCloth | None
    item: DrawnDart | Fullness

    @property
    def course(self) -> tuple[str, ...]:
        """What tells how it is sewn: sections with the same are sewn alike."""
        kind = self.item.kind if isinstance(self.item, Fullness) else ""
        return (kind, *(step.kind for step in self.steps))


def heading(draft: Draft) -> str:
    """Return the page's heading: the piece and its size."""
    said = _("{name}, size {size}: sewing notes") if draft.block.size else _("{name}: sewing notes")
    return said.format(name=shown_name(draft), size=draft.block.size)


def under_heading(draft: Draft) -> str:
    """Return what stands under the heading; the field ``scale`` is still to be filled in."""
    return _(
        "For {cloth}. The large picture is drawn {scale} and is not for cutting: cut by the "
        "pattern of this piece."
    ).format(cloth=_(CLOTH_WORDS[draft.settings.cloth]), scale="{scale}")


def foot() -> str:
    """Return the foot of every page."""
    return _("Sew a trial in cheap cloth first. The piece is cut by its pattern, not by this page.")


def general(draft: Draft, sections: Sequence[Section], mate: Draft | None = None) -> list[str]:
    """Return what holds for the whole piece.

    Args:
        draft: the piece.
        sections: what its page says of its darts.
        mate: the piece that it was one with before the block was cut in two.
    """
    said = []
    if any(section.steps for section in sections):
        said.append(
            _(
                "The small pictures show the wrong side of the cloth (grey) as it lies under the "
                "pattern; the right side is white. Hidden edges are dashed."
            )
        )
    said += _other_half(draft, sections)
    if not sections:
        said.append(_("This piece has no dart to sew: its shape lies in its seams."))
    said += joined_sentences(draft)
    if draft.joined is not None:
        pieces = [one for one in (draft, mate) if one is not None]
        is_straight = not any(_is_curved(one, draft.joined.name) for one in pieces)
        said.append(
            _("Pin that seam right sides together, notch to notch. Press it flat toward one side.")
            if is_straight
            else _(
                "Pin that seam right sides together, notch to notch; where it is hollow clip its "
                "allowance to let it spread. Press it open over a pressing ham."
            )
        )
    said += turned_sentences(draft)
    return said


def _other_half(draft: Draft, sections: Sequence[Section]) -> list[str]:
    """Return what is to be known of the mirrored half, or of the other piece of a pair."""
    if not sections:
        return []
    count = count_of(draft)
    is_pair = count == CutCount(2, on_fold=False)
    if not (count.on_fold or is_pair):
        return []
    darts = sum(isinstance(section.item, DrawnDart) for section in sections)
    has_arrow = darts or any(_is_tuck(section.item) for section in sections)
    if is_pair:
        return [
            _(
                "The other piece of a pair is sewn as the mirror image, its arrows as in a mirror: "
                "toward the centre stays toward the centre, and down stays down."
            )
            if has_arrow
            else _("The other piece of a pair is sewn as the mirror image.")
        ]
    if not darts:
        return [_("Cut on the fold, the piece has another half, sewn as the mirror image.")]
    return [
        ngettext(
            "Cut on the fold, the piece has the same dart in its other half: sew it as the mirror "
            "image, its arrow as in a mirror.",
            "Cut on the fold, the piece has the same darts in its other half: sew them as the "
            "mirror image, their arrows as in a mirror.",
            darts,
        )
    ]


def _is_tuck(item: DrawnDart | Fullness) -> bool:
    return isinstance(item, Fullness) and item.kind == TUCK


def _is_curved(draft: Draft, name: str) -> bool:
    """Tell whether the seam in which a cut block meets is too curved to be pressed flat."""
    edges = [edge.segment for edge in draft.piece.edges() if edge.seam.shown == name]
    for run in _chains(edges):
        chord = Line(run[0].start, run[-1].end)
        samples = (segment.point(k / 8) for segment in run for k in range(9))
        if max(abs(chord.point(chord.nearest(z)) - z) for z in samples) > _HOLLOW * chord.length():
            return True
    return False


def _chains(segments: Sequence[Segment]) -> list[list[Segment]]:
    found: list[list[Segment]] = []
    for segment in segments:
        if found and abs(found[-1][-1].end - segment.start) < _JOINED:
            found[-1].append(segment)
        else:
            found.append([segment])
    return found


def sections(draft: Draft) -> list[Section]:
    """Return what is to be said of every dart, and of every place with fullness, numbered."""
    found: list[Section] = []
    ring = whole_cut_line(draft)
    for item in draft.darts:
        if item.dart.opening.made != TUCK:
            cloth = dart_cloth(item, ring)
            found.append(_dart(len(found) + 1, item, cloth, draft))
    for full in draft.fullness:
        found.append(_fullness(len(found) + 1, full, draft, ring))
    return found


def _dart(number: int, item: DrawnDart, cloth: DartCloth, draft: Draft) -> Section:
    dart = item.dart
    kind = draft.settings.cloth
    is_small = dart.intake < SMALL
    sentences = [_measures(item)]
    if is_small:
        sentences.append(
            _(
                "An intake under {least} is too small to stitch well: ease it into the seam "
                "instead, or stitch it all the same, {length} from the seam to the point, as you "
                "choose."
            ).format(least=in_words(SMALL), length=in_words(chain_length(cloth.stitched)))
        )
    sentences += [_fold(dart.fold), verdict_sentence(dart.verdict, finishing=False)]
    sentences += _edges(item, cloth, kind)
    if kind == "woven" and dart.excess == KEEP and dart.intake > DEEP and not cloth.is_curved:
        sentences.append(
            _(
                "The dart is deep: should its fold turn out bulky in a thick cloth, slash it open, "
                "stop {distance} from the point, press it open and neaten the edges."
            ).format(distance=span_in_words(INCH / 2, INCH))
        )
    sentences += dart.warnings
    return Section(
        number,
        _("Dart {number}: {place}").format(number=number, place=_place(item, draft)),
        tuple(sentences),
        () if is_small else tuple(dart_steps(item, cloth, draft)),
        cloth,
        item,
    )


def _edges(item: DrawnDart, cloth: DartCloth, kind: str) -> list[str]:
    """Return how the raw edges of a dart are finished that is trimmed, or cut open."""
    if cloth.window is None and not cloth.is_curved:
        return []
    said = []
    closest = SECOND_ROW + _CLOSER
    if kind == "sheer" and cloth.window is not None and item.dart.trim_allowance > closest:
        said.append(
            _(
                "After sewing, trim a sheer dart closer: to {distance} beside the second row of "
                "stitches."
            ).format(distance=span_in_words(_CLOSER / 2, _CLOSER))
        )
    said.append(_(_FINISHES[kind]))
    if cloth.is_curved:
        said.append(
            _("Clip the allowance where the seam is hollow, nearly to the stitches, to lie flat.")
        )
    return said


def _fold(fold: Fold) -> str:
    """Return which way a dart's excess is folded and why, in fewer words than the report's."""
    shorter = _SHORTER.get((fold.way, fold.rule, fold.by_middle))
    return _(shorter).format(seam=spoken_name(fold.seam)) if shorter else fold_sentence(fold)


def _place(item: DrawnDart, draft: Draft) -> str:
    """Return where a dart is: its seam, or the meeting of two."""
    piece, opening = draft.piece, item.dart.opening
    k = piece.openings.index(opening)
    before = piece.runs[k][-1].seam
    after = piece.runs[(k + 1) % len(piece.runs)][0].seam
    if before is after:
        return item.dart.seam.shown
    return _("where {one} and {other} meet").format(one=before.spoken, other=after.spoken)


def _measures(item: DrawnDart) -> str:
    """Return a dart's intake and angle, how far its point is from the apex, and a notable bend."""
    dart = item.dart
    if dart.clearance < _NO_CLEARANCE:
        said = _("Intake {intake}, {angle} between the legs.")
    elif dart.bends_notably:
        said = _(
            "Intake {intake}, {angle} between the legs; the point is {clearance} short of the "
            "apex, so the sewn seam bends by {bend} at the dart."
        )
    else:
        said = _(
            "Intake {intake}, {angle} between the legs; the point is {clearance} short of the apex."
        )
    return said.format(
        intake=in_words(dart.intake),
        angle=in_degrees(dart.point_angle),
        clearance=in_words(dart.clearance),
        bend=in_degrees(dart.bend),
    )


def _fullness(number: int, item: Fullness, draft: Draft, ring: Sequence[Segment]) -> Section:
    title = _("{number}: {what}").format(
        number=number, what=_(_KINDS[item.kind]).format(seam=item.seam.spoken)
    )
    cloth = None
    sentences = list(fullness_sentences(item, draft))
    steps: tuple[Step, ...] = ()
    if item.kind == TUCK:
        cloth = tuck_cloth(item, ring)
        sentences.append(tuck_fold(item, draft))
        steps = tuck_steps(cloth, item, draft)
    elif item.kind in (GATHERS, EASE):
        steps = (rows_step(item, draft),)
    else:
        sentences.append(_("There is nothing to sew here: the width hangs free."))
    return Section(number, title, tuple(sentences), steps, cloth, item)
