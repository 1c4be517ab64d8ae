"""What a clean-up found, did and left out: in words, and as JSON."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from drafting_core.block.propose_apex import DRAWN, MEETING
from drafting_core.model.outline import nearest_on
from drafting_core.model.piece_kinds import piece_title, title_for_attributes
from drafting_core.model.seam_names import Seam
from drafting_core.plane.curves import Line
from drafting_core.sheet.trace_sheet import EDGE, PEN, UnusedShape
from drafting_core.text.figures import in_degrees
from drafting_core.text.lengths import (
    in_words,
    parse_length,
    told_exactly,
    told_length,
    unit_of_this_run,
)
from drafting_core.text.words import _, capital, listed, ngettext
from drafting_core.trace.clean_block import CleanBlock, runs_of_seams
from drafting_core.trace.fit_seams import offsets
from drafting_core.trace.plausible_apex import implausible_apex
from drafting_core.trace.verdict import BlockVerdict, SeamInk
from extension.cleaning.clean import Cleaned, CleanUp
from extension.cleaning.judge_blocks import verdict_sentences
from extension.document.namespaces import LABEL
from extension.document.roles import name_of

if TYPE_CHECKING:
    from extension.cleaning.traced_pictures import TracedPicture

#: No block has more seams.
_MOST_SEAMS = 9
#: An angle that was off by less (degrees) is no news: a millimetre on half a metre.
_WORTH_TELLING = 0.1
#: Objects that a sentence names at most.
_MOST_NAMED = 3


class SeamFit(NamedTuple):
    """How truly a seam, or the legs of a dart, follow their trace.

    Attributes:
        name: the seam's name as it is written to the drawing, or ``dart``.
        shown: the same as the drafter reads it; a part that is neither seam nor dart has none.
        nodes: how many segments it has.
        curves: how many of them are curves.
        largest: the largest distance to the trace, in mm.
        rms: the root mean square, in mm.
        at: where the largest distance is, in true mm where the trace lies.
    """

    name: str
    shown: str
    nodes: int
    curves: int
    largest: float
    rms: float
    at: complex


def seam_fits(block: CleanBlock) -> list[SeamFit]:
    """Return how truly each seam follows its trace, in the outline's order."""
    found = []
    for seam, numbers in runs_of_seams(block):
        runs = [block.runs[k] for k in numbers]
        segments = [segment for run in runs for segment in run.segments]
        # A pen's line is rounded at corners, where seams are not: that is no distance.
        points = np.concatenate([run.clear for run in runs])
        away = np.concatenate([np.abs(offsets(run.clear, run.segments)) for run in runs])
        if not len(points):
            points, away = np.array([runs[0].start]), np.zeros(1)
        worst = int(np.argmax(away))
        found.append(
            SeamFit(
                *_names(seam, is_leg=runs[0].leg),
                len(segments),
                sum(not isinstance(segment, Line) for segment in segments),
                float(away[worst]),
                float(np.sqrt(np.mean(away**2))),
                complex(points[worst]),
            )
        )
    return found


def _names(seam: Seam | None, *, is_leg: bool) -> tuple[str, str]:
    if seam is not None:
        return seam.name, seam.shown
    return ("dart", _("dart")) if is_leg else ("", _("part of the outline"))


def block_title(cleaned: Cleaned) -> str:
    """Return a block's name as it is written to the drawing, the same in every language."""
    piece = cleaned.block.piece
    return title_for_attributes("", piece) or "Block" if piece is not None else "Block"


def clean_block_title(cleaned: Cleaned) -> str:
    """Return a block's name as the drafter reads it."""
    piece = cleaned.block.piece
    title = (piece_title("", piece) if piece is not None else "") or _("Block")
    size = cleaned.size
    return _("{piece}, size {size}").format(piece=title, size=size) if size else title


def warnings_of(cleaned: Cleaned) -> list[str]:
    """Return what the drafter should know about a block."""
    block = cleaned.block
    warnings = [capital(words) for words in block.warnings]
    seams = _seam_count(block)
    if not block.outline.darts:
        warnings.append(
            _(
                "No dart was found: two straight legs, equally long, that meet in a sharp corner "
                "inside the outline. If one is drawn, see that its legs are part of the outline."
            )
        )
    if seams > _MOST_SEAMS:
        warnings.append(
            _(
                "The outline has {n} seams, more than a block has: if blocks touch each other on "
                "the sheet, scan them apart."
            ).format(n=seams)
        )
    if block.piece is not None:
        apexes = [opening.apex for opening in block.piece.openings if opening.in_fan]
        implausible = implausible_apex(block.piece, list(dict.fromkeys(apexes)))
        if implausible:
            warnings.append(implausible)
    return warnings


def clean_lines(done: CleanUp) -> list[str]:
    """Return all that is told of a clean-up, line by line."""
    lines = sheet_lines(done)
    for cleaned in done.cleaned:
        lines += block_lines(done, cleaned)
    return lines


def sheet_lines(done: CleanUp) -> list[str]:
    """Return what is told of the whole sheet: its scale, what was left out, and remarks."""
    scale = done.told or [_scale_sentence(done)]
    return [*scale, left_out_sentence(done.left_out), *done.remarks]


def _scale_sentence(done: CleanUp) -> str:
    scale = done.true_mm_per_mm
    marks = listed(name_of(mark.element) for mark in done.scale.marks) if done.scale.marks else ""
    unit = parse_length("1", unit_of_this_run())
    one, true = told_exactly(unit, 5), told_exactly(unit * scale, 5)
    if done.scale.is_photo:
        return _(
            "Scale: {one} of the drawing is truly {scale} in the middle of the block, by {marks}, "
            "which also took the perspective out."
        ).format(one=one, scale=true, marks=marks)
    if done.scale.marks:
        return _("Scale: {one} of the drawing is truly {scale}, by {marks}.").format(
            one=one, scale=true, marks=marks
        )
    return _(
        "Scale: no known length is marked, so the drawing's own size is taken as true: compare "
        "the block's size with the paper."
    )


def left_out_sentence(left: UnusedShape) -> str:
    """Return what was left out, counted."""
    parts = []
    if left.specks:
        parts.append(ngettext("{n} speck", "{n} specks", left.specks).format(n=left.specks))
    if left.small:
        parts.append(
            ngettext("{n} letter or small sign", "{n} letters or small signs", left.small).format(
                n=left.small
            )
        )
    if left.shapes:
        parts.append(
            ngettext("{n} other closed shape", "{n} other closed shapes", left.shapes).format(
                n=left.shapes
            )
        )
    if left.strokes:
        parts.append(
            ngettext("{n} open line", "{n} open lines", left.strokes).format(n=left.strokes)
        )
    if not parts:
        return _("Nothing was left out.")
    return _("Left out: {things}.").format(things=listed(parts))


def block_lines(done: CleanUp, cleaned: Cleaned) -> list[str]:
    """Return what is told of one block, line by line."""
    block = cleaned.block
    width, height = block.size
    lines = [
        _("{name}: {height} high and {width} wide. {made_of}").format(
            name=clean_block_title(cleaned),
            height=told_length(height),
            width=told_length(width),
            made_of=_made_of(cleaned),
        ),
        *verdict_sentences(_verdict(done, cleaned), seam_ink(done, cleaned)),
        _turn_sentence(block),
        ngettext(
            "{before} nodes became {after}: {seams} seam and {darts}.",
            "{before} nodes became {after}: {seams} seams and {darts}.",
            _seam_count(block),
        ).format(
            before=cleaned.nodes,
            after=len(block.segments),
            seams=_seam_count(block),
            darts=ngettext("{n} dart", "{n} darts", len(block.outline.darts)).format(
                n=len(block.outline.darts)
            ),
        ),
        *_apex_sentences(block),
        *_notch_sentences(block),
        *_taken_off_sentences(block),
    ]
    if block.halved is not None:
        lines.append(
            _("The two halves differed by {largest} at most and {rms} root mean square.").format(
                largest=told_length(block.halved.largest), rms=told_length(block.halved.rms, 2)
            )
        )
    lines += [_fit_line(fit) for fit in seam_fits(block)]
    lines += list(_allowance_sentences(block))
    if cleaned.inner:
        lines.append(
            ngettext(
                "{n} line drawn on the block was kept as an inner line.",
                "{n} lines drawn on the block were kept as inner lines.",
                len(cleaned.inner),
            ).format(n=len(cleaned.inner))
        )
    lines += list(_joins(cleaned))
    lines += list(_squares(block))
    return lines + warnings_of(cleaned)


def _verdict(done: CleanUp, cleaned: Cleaned) -> BlockVerdict:
    """Return the verdict on a block."""
    number = next(k for k, one in enumerate(done.cleaned) if one is cleaned)
    return done.verdicts[number]


def seam_ink(done: CleanUp, cleaned: Cleaned) -> list[tuple[str, str, SeamInk]]:
    """Return each seam's and dart's name, as written and as shown, and what of its ink it follows.

    They come in the order of `seam_fits`.
    """
    verdict, block = _verdict(done, cleaned), cleaned.block
    return [
        (*_names(seam, is_leg=block.runs[numbers[0]].leg), verdict.of_runs(numbers))
        for seam, numbers in runs_of_seams(block)
    ]


def _seam_count(block: CleanBlock) -> int:
    return sum(seam is not None for seam, _runs in runs_of_seams(block))


def _made_of(cleaned: Cleaned) -> str:
    named = [e for e in cleaned.made_of if e.get("id") or e.get(LABEL)]
    names = [name_of(element) for element in named[:_MOST_NAMED]]
    more = len(cleaned.made_of) - len(names)
    if more and names:
        names.append(ngettext("{n} more object", "{n} more objects", more).format(n=more))
    elif more:
        names.append(ngettext("{n} object", "{n} objects", more).format(n=more))
    things = listed(names) if names else _("the trace")
    traced = cleaned.block.traced
    if traced.made_of == PEN:
        return _("Taken as the block: the middle of a pen line {pen} wide, {things}.").format(
            pen=told_length(traced.ring.pen), things=things
        )
    if traced.made_of == EDGE:
        return _("Taken as the block: a closed line, {things}.").format(things=things)
    return _("Taken as the block: strokes joined to a closed line, {things}.").format(things=things)


def _turn_sentence(block: CleanBlock) -> str:
    if not block.is_turned:
        return _(
            "Not turned: no straight centre seam was found. Draw a line along the grain and label "
            "it grain to have it turned upright."
        )
    if block.is_guessed:
        return _(
            "Turned by {turn}: the long straight seam at its edge was taken as the centre. If it "
            "is none, draw a line along the grain and label it grain."
        ).format(turn=in_degrees(block.turn, 2))
    return _("Turned by {turn}.").format(turn=in_degrees(block.turn, 2))


def _apex_sentences(block: CleanBlock) -> Iterator[str]:
    for proposal in block.apexes:
        if proposal.why == DRAWN:
            yield _("The apex is the small sign near the dart's point.")
        elif proposal.why == MEETING:
            yield _("The apex is put where the middle lines of the darts meet.")
        else:
            yield _(
                "The apex is put at the dart's own point: if the dart was drawn short of its "
                "pivot, such as the bust point, drag the apex there."
            )


def _allowance_sentences(block: CleanBlock) -> Iterator[str]:
    """Say which of two lines was taken, and what the other gives each seam."""
    if not block.allowances:
        return
    folds = [drawn.seam.shown for drawn in block.allowances if drawn.width == 0.0]
    widths = [
        _("{seam} {width}").format(seam=drawn.seam.shown, width=told_length(drawn.width))
        for drawn in block.allowances
        if drawn.width > 0.0
    ]
    yield _(
        "Two lines are drawn: the inner one was taken as the stitch line, and what lies between "
        "them as the seam allowances: {widths}."
    ).format(widths=listed(widths))
    if folds:
        yield _("Where both lines meet, the edge lies on the fold: {seams}.").format(
            seams=listed(folds)
        )
    for drawn in block.allowances:
        if drawn.width > 0.0 and drawn.is_uneven:
            yield _(
                "The drawn allowance of the {seam} is {least} to {most} wide: its middle was taken."
            ).format(
                seam=drawn.seam.shown,
                least=told_length(drawn.least),
                most=told_length(drawn.most),
            )
def _notch_sentences(block: CleanBlock) -> Iterator[str]:
    if not block.notches:
        return
    places = [
        _("{seam} ({depth} deep)").format(seam=shown, depth=in_words(notch.depth))
        for notch, (_name, shown) in zip(block.notches, _seams_of_notches(block), strict=True)
    ]
    yield _("Notches taken off the edge and written as marks: {places}.").format(
        places=listed(places)
    )


def _taken_off_sentences(block: CleanBlock) -> Iterator[str]:
    if block.taken_off:
        yield _(
            "The traced line is the cut line; the allowance was taken off: {widths}. Darts' legs "
            "stay as they are."
        ).format(
            widths=listed(
                _("{seam} {width}").format(seam=seam.shown, width=told_length(width))
                for seam, width in block.taken_off
            )
        )


def _seams_of_notches(block: CleanBlock) -> list[tuple[str, str]]:
    """Return the name of every notch's seam, as it is written and as the drafter reads it."""
    owners = [
        _names(seam, is_leg=run.leg)
        for seam, run in zip(block.seams, block.runs, strict=True)
        for _segment in run.segments
    ]
    return [owners[nearest_on(block.segments, notch.at).segment] for notch in block.notches]


def _fit_line(fit: SeamFit) -> str:
    shape = (
        _("straight")
        if not fit.curves
        else ngettext("{n} curve", "{n} curves", fit.curves).format(n=fit.curves)
    )
    return _("{seam}: {shape}; {largest} from the trace at most, {rms} rms.").format(
        seam=capital(fit.shown),
        shape=shape,
        largest=told_length(fit.largest, 2),
        rms=told_length(fit.rms, 2),
    )


def _joins(cleaned: Cleaned) -> Iterator[str]:
    traced = cleaned.block.traced
    gaps = [join.size for join in traced.joins if not join.overshoot]
    overshoots = [join.size for join in traced.joins if join.overshoot]
    if gaps:
        yield ngettext("{n} gap closed: {sizes}.", "{n} gaps closed: {sizes}.", len(gaps)).format(
            n=len(gaps), sizes=listed(in_words(size) for size in gaps)
        )
    if traced.doubled:
        yield ngettext(
            "{n} line was drawn twice and is one now.",
            "{n} lines were drawn twice and are one now.",
            traced.doubled,
        ).format(n=traced.doubled)
    if overshoots:
        yield ngettext(
            "{n} overshoot cut: {sizes}.", "{n} overshoots cut: {sizes}.", len(overshoots)
        ).format(n=len(overshoots), sizes=listed(in_words(size) for size in overshoots))


def _squares(block: CleanBlock) -> Iterator[str]:
    for squared in block.squared:
        if math.degrees(squared.off) < _WORTH_TELLING:
            continue
        words = {
            "seam": capital(squared.seam.shown),
            "centre": squared.centre.shown,
            "off": in_degrees(squared.off, 2),
        }
        if squared.bent:
            yield _(
                "{seam} made square at {centre}: it was {off} off. As a straight line it would "
                "have moved that corner further than the tolerance, so it is bent a little there."
            ).format(**words)
        else:
            yield _("{seam} made square at {centre}: it was {off} off.").format(**words)


def clean_report_file(done: CleanUp) -> bytes:
    """Return the report as a JSON file."""
    # Most runs write none.
    import json

    return (json.dumps(report_of(done), indent=2, ensure_ascii=False) + "\n").encode("utf-8")


def report_of(done: CleanUp) -> dict[str, Any]:
    """Return the report, ready for JSON."""
    left = done.left_out
    return {
        "scale": done.true_mm_per_mm,
        "perspective": done.scale.is_photo,
        "lens": done.scale.figure.lens_report() if done.scale.figure is not None else None,
        "left_out": left._asdict(),
        "pictures": [_picture_report(done, picture) for picture in done.trace.pictures],
        "blocks": [_block_report(done, cleaned) for cleaned in done.cleaned],
        "warnings": list(done.remarks),
    }


def _picture_report(done: CleanUp, picture: TracedPicture) -> dict[str, Any]:
    # Most runs trace none.
    from extension.cleaning.picture_words import picture_report

    return picture_report(picture, done.trace.mm)


def _block_report(done: CleanUp, cleaned: Cleaned) -> dict[str, Any]:
    block, verdict = cleaned.block, _verdict(done, cleaned)
    width, height = block.size

    def place(z: complex) -> list[float]:
        at = done.to_units(cleaned, z) * done.trace.mm
        return [at.real, at.imag]

    return {
        "name": block_title(cleaned),
        "verdict": verdict.words,
        "look_at": list(verdict.look_at),
        "unexplained_part": verdict.unexplained,
        "ink": [
            {"name": name, "on_ink_part": ink.on_ink, "beside_part": ink.beside}
            for name, _shown, ink in seam_ink(done, cleaned)
        ],
        "made_of": block.traced.made_of,
        "objects": [str(element.get("id") or "") for element in cleaned.made_of],
        "height_mm": height,
        "width_mm": width,
        "turn_deg": math.degrees(block.turn),
        "nodes_before": cleaned.nodes,
        "nodes_after": len(block.segments),
        "pen_mm": block.traced.ring.pen,
        "seams": [
            {
                "name": fit.name,
                "shape": "curve" if fit.curves else "line",
                "segments": fit.nodes,
                "largest_mm": fit.largest,
                "rms_mm": fit.rms,
                "largest_at_mm": place(fit.at),
            }
            for fit in seam_fits(block)
        ],
        "darts": len(block.outline.darts),
        "size": cleaned.size or None,
        "inner_lines": len(cleaned.inner),
        "allowances": [
            {
                "seam": drawn.seam.name,
                "width_mm": drawn.width,
                "least_mm": drawn.least,
                "most_mm": drawn.most,
                "fold": drawn.width == 0.0,
            }
            for drawn in block.allowances
        ],
        "apexes": [{"at_mm": place(a.at), "why": a.why} for a in block.apexes],
        "notches": [
            {"at_mm": place(notch.at), "depth_mm": notch.depth, "seam": name}
            for notch, (name, _shown) in zip(block.notches, _seams_of_notches(block), strict=True)
        ],
        "taken_off": [{"seam": seam.name, "width_mm": width} for seam, width in block.taken_off],
        "gaps": [
            {
                "at_mm": place(join.at),
                "size_mm": join.size,
                "kind": "overshoot" if join.overshoot else "gap",
            }
            for join in block.traced.joins
        ],
        "doubled_strokes": block.traced.doubled,
        "squared": [
            {
                "seam": squared.seam.name,
                "centre": squared.centre.name,
                "off_deg": math.degrees(squared.off),
                "at_mm": place(squared.at),
                "moved_mm": squared.moved,
                "bent": squared.bent,
            }
            for squared in block.squared
        ],
        "halves": None
        if block.halved is None
        else {"largest_mm": block.halved.largest, "rms_mm": block.halved.rms},
        "warnings": warnings_of(cleaned),
    }
