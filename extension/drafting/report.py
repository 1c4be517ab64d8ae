"""The balance and what became of each dart, as JSON and in words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from drafting_core.dart.finish import NOTABLE_BEND, NOTABLE_DIFFERENCE
from drafting_core.dart.finish_words import fold_sentence
from drafting_core.dart.fullness import Fullness
from drafting_core.finished.pattern_piece import Draft, DrawnDart, JoinedSeam, report_order
from drafting_core.model.piece import DART, EASE, FLARE, GATHERS, TUCK, Opening
from drafting_core.model.seam_names import SEAMS_IN_ORDER, Seam
from drafting_core.model.seam_names import shown_seam_name as shown_seam
from drafting_core.plane.curves import chain_length
from drafting_core.text.figures import in_degrees, significant
from drafting_core.text.lengths import in_words, told_difference, told_length, told_with_difference
from drafting_core.text.words import _
from drafting_core.trueing.trueing import Blend
from extension.reading.piece_names import block_name, shown_name

#: Beyond this the bend has a warning of its own.
NOTABLE_BEND_DEG = math.degrees(NOTABLE_BEND)
#: Legs that bowed by more than this (mm) are told of in the first line of a result.
NOTABLE_BOW = 1.0


def block_report(draft: Draft, true_scale: float, shift: complex = 0j) -> dict[str, object]:
    """Return what the report says of one block.

    Args:
        draft: the drafted block.
        true_scale: true millimetres to a millimetre of the drawing; points are given in the
            drawing's.
        shift: by how much the result lies beside its block, in mm of the drawing.
    """
    result = draft.balance
    blends = [_blend(item, true_scale, shift) for item in draft.blends]
    return {
        "name": block_name(draft),
        "height_mm": draft.height,
        "width_mm": draft.width,
        "seams": [
            {"name": entry.seam.name, "before_mm": entry.before, "after_mm": entry.after}
            for entry in result.seams
        ],
        "openings": _openings(draft, true_scale, shift),
        "angle_before_deg": math.degrees(result.angle_before),
        "angle_after_deg": math.degrees(result.angle_after),
        "area_before_mm2": result.area_before,
        "area_after_mm2": result.area_after,
        "warnings": [*remarks(draft), *draft.warnings],
        **({"fullness": [_fullness(i, draft) for i in draft.fullness]} if draft.fullness else {}),
        **({"blends": blends} if blends else {}),
        **({} if draft.joined is None else {"joined": _joined(draft.joined)}),
    }


def _fullness(item: Fullness, draft: Draft) -> dict[str, object]:
    flat, sewn = _flat_and_sewn(item, draft)
    return {
        "as": item.kind,
        "seam": item.seam.name,
        "width_mm": item.width,
        "flat_mm": flat,
        "sewn_mm": sewn,
        **({"over_mm": item.over} if item.over else {}),
    }


def _flat_and_sewn(item: Fullness, draft: Draft) -> tuple[float, float]:
    """Return the length of a seam with fullness as drawn, and as it is sewn, in mm."""
    flat = draft.piece.seam_lengths()[item.seam]
    taken = sum(
        other.taken or other.width * (other.kind in (GATHERS, EASE))
        for other in draft.fullness
        if other.seam is item.seam
    )
    return flat, flat - taken


def _joined(seam: JoinedSeam) -> dict[str, object]:
    return {
        "seam": seam.name,
        "length_mm": seam.length,
        "other_piece": seam.other_piece,
        "other_mm": seam.other,
        "difference_mm": seam.length - seam.other,
        "fullness_mm": seam.fullness,
    }


def scale_sentence(name: str, scale: float) -> str:
    """Return how a drawing that is not at true size has to be printed, or an empty string."""
    if abs(scale - 1.0) < 1e-3:
        return ""
    return _(
        "{name}: the drawing is at {drawn} % of its true size. Print it at {printed} %; the test "
        "square then measures 50 mm."
    ).format(name=name, drawn=significant(100 / scale, 4), printed=significant(100 * scale, 4))


def joined_sentences(draft: Draft) -> list[str]:
    """Return how the seam between the two pieces of a cut block matches."""
    if draft.joined is None:
        return []
    seam = draft.joined
    said = (
        _(
            "The {seam} is {length} long, darts closed, and {fullness} more to take in; on "
            '"{piece}" it is {other}.'
        )
        if seam.fullness
        else _('The {seam} is {length} long, darts closed; on "{piece}" it is {other}.')
    )
    return [
        said.format(
            seam=shown_seam(seam.name),
            length=in_words(seam.length),
            fullness=in_words(seam.fullness),
            piece=seam.other_piece,
            other=in_words(seam.other),
        )
    ]


def _blend(item: Blend, true_scale: float, shift: complex) -> dict[str, object]:
    at = item.at / true_scale + shift
    return {
        "seam": item.seam.name,
        "at_mm": [at.real, at.imag],
        "at_dart": item.at_dart,
        "turn_deg": math.degrees(item.turn),
        "length_mm": item.length,
        "deviation_mm": item.outcome.deviation,
        "change_mm": item.outcome.change,
    }


def openings_of(draft: Draft) -> list[tuple[Opening, Seam]]:
    """Return every opening with its seam: targets in order, what is left of sources, others."""
    found = [(item.dart.opening, item.dart.seam) for item in draft.darts]
    found += [
        (item.opening, item.seam)
        for item in draft.fullness
        if item.opening is not None and item.kind != TUCK
    ]
    return sorted(found, key=lambda entry: report_order(entry[0]))


def _openings(draft: Draft, true_scale: float, shift: complex) -> list[dict[str, object]]:
    darts = {item.dart.opening: _opening(item, true_scale, shift) for item in draft.darts}
    full = {item.opening: _full_opening(item, draft) for item in draft.fullness if item.opening}
    return [darts.get(opening) or full[opening] for opening, _ in openings_of(draft)]


def _full_opening(item: Fullness, draft: Draft) -> dict[str, object]:
    opening = item.opening
    if opening is None:
        raise ValueError("fullness of an earlier result has no opening")
    start, end = item.ends
    return {
        "seam": item.seam.name,
        "angle_deg": math.degrees(opening.angle),
        "intake_mm": item.intake or abs(end - start),
        "share": opening.share,
        "fold": None,
        "excess": "keep",
        "why": fullness_sentences(item, draft)[0],
        "point_mm": None,
        "bend_deg": 0.0,
        "as": item.kind,
    }


def _opening(item: DrawnDart, true_scale: float, shift: complex) -> dict[str, object]:
    dart = item.dart
    point = dart.point / true_scale + shift
    return {
        "seam": dart.seam.name,
        "angle_deg": math.degrees(dart.opening.angle),
        "intake_mm": dart.intake,
        "share": dart.opening.share,
        "fold": dart.fold.way,
        "excess": dart.excess,
        "why": dart.why,
        "point_mm": [point.real, point.imag],
        "bend_deg": math.degrees(dart.bend) + 0.0,
        "folded": {
            "edge_step_mm": item.folded.edge_step,
            "excess_off_mm": item.folded.excess_off,
        },
    } | ({} if dart.opening.made == DART else {"as": dart.opening.made})


def fullness_sentences(item: Fullness, draft: Draft) -> list[str]:
    """Return what the drafter is told of gathers, ease, a flare or a tuck."""
    flat, sewn = _flat_and_sewn(item, draft)
    seam, width = item.seam.spoken, in_words(item.width)
    told_flat, told_sewn, differ = told_with_difference(flat, sewn)
    if item.over:
        said = (
            _(
                "Gathers on {seam}: from notch to notch gather {long} to {over}. The seam is "
                "{flat} long flat and {sewn} sewn."
            )
            if item.kind == GATHERS
            else _(
                "Ease on {seam}: from notch to notch ease {long} to {over}. The seam is {flat} "
                "long flat and {sewn} sewn."
            )
        )
        lengths = told_with_difference(item.over + item.width, item.over)
        return [
            said.format(
                seam=seam,
                long=lengths[0],
                over=lengths[1],
                flat=told_flat,
                sewn=told_sewn,
            )
        ]
    if item.kind in (GATHERS, EASE):
        said = (
            _(
                "Gathers on {seam}: {width} more than is sewn, where the two notches are; spread "
                "it to both sides of them. The seam is {flat} long flat and {sewn} sewn."
            )
            if item.kind == GATHERS
            else _(
                "Ease on {seam}: {width} more than is sewn, where the two notches are; spread it "
                "to both sides of them. The seam is {flat} long flat and {sewn} sewn."
            )
        )
        if math.isclose(flat - sewn, item.width, abs_tol=1e-6):
            width = differ
        return [said.format(seam=seam, width=width, flat=told_flat, sewn=told_sewn)]
    if item.kind == FLARE:
        return [
            _("The flare makes {seam} {width} wider: {flat}.").format(
                seam=seam, width=width, flat=in_words(flat)
            )
        ]
    length = chain_length(item.paths[0])
    return [
        _(
            "Stitch the tuck on {seam}, {width} wide, for {length} from the seam; beyond that it "
            "opens out."
        ).format(seam=seam, width=width, length=in_words(length))
    ]


def dart_sentences(item: DrawnDart) -> list[str]:
    """Return what the drafter is told of one dart."""
    dart = item.dart
    if dart.opening.made == TUCK:
        where = _("Tuck on {seam}: {width} wide, {angle} at the apex")
    elif not dart.opening.in_fan:
        where = _("Dart on {seam}: {width} wide, {angle} at its own point")
    elif dart.clearance < 0.05:
        where = _("Dart on {seam}: {width} wide, {angle} at the apex, its point on it")
    else:
        where = _(
            "Dart on {seam}: {width} wide, {angle} at the apex, its point {clearance} short of it"
        )
    said = where.format(
        seam=dart.seam.spoken,
        width=in_words(dart.intake),
        angle=in_degrees(dart.opening.angle),
        clearance=in_words(dart.clearance),
    )
    bend = math.degrees(dart.bend)
    if dart.opening.made != TUCK and 0.05 <= bend <= NOTABLE_BEND_DEG:
        said = _("{dart}; the sewn seam bends by {angle}").format(
            dart=said, angle=in_degrees(dart.bend)
        )
    return [f"{said}.", fold_sentence(item.dart.fold), dart.why]


def size_sentence(draft: Draft) -> str:
    """Return the block's size in words, by which a wrong scale is seen."""
    said = _("{name}: the block is {height} high and {width} wide.")
    if draft.straightened > NOTABLE_BOW:
        said = _(
            "{name}: the block is {height} high and {width} wide; legs that bowed by up to {bow} "
            "were made straight."
        )
    line = said.format(
        name=shown_name(draft),
        height=told_length(draft.height),
        width=told_length(draft.width),
        bow=told_length(draft.straightened),
    )
    return " ".join([line, *uneven_legs(draft)])


def uneven_legs(draft: Draft) -> list[str]:
    """Return by how much legs differ on a result that was reshaped by hand; else nothing."""
    if not draft.block.standing:
        return []
    differ = [
        abs(abs(item.dart.ends[0] - item.dart.point) - abs(item.dart.ends[1] - item.dart.point))
        for item in draft.darts
    ]
    most = max(differ, default=0.0)
    if most <= NOTABLE_DIFFERENCE:
        return []
    return [
        _("The legs of a dart differ by {by}, as it was reshaped.").format(
            by=told_difference(most, 1)
        )
    ]


def remarks(draft: Draft) -> list[str]:
    """Return what was decided that the drafter may not expect: names, snapping, rules."""
    unknown = [item.dart for item in draft.darts if not item.dart.seam.is_known]
    found = [*draft.corners_left, *_remarks_but_folds(draft)]
    return [*found, *(fold_sentence(dart.fold) for dart in unknown)]


def _remarks_but_folds(draft: Draft) -> list[str]:
    """Return the remarks but for how darts are folded, which is said of every dart."""
    found = []
    numbers = sorted(
        (seam.name for seam in draft.piece.seams() if seam.name.startswith("seam ")),
        key=lambda name: (len(name), name),
    )
    if draft.names_guessed:
        names = ", ".join(seam.shown for seam in _from_the_top(draft.piece.seams()))
        found.append(
            _("Seam names were guessed from the shape: {names}. Check them.").format(names=names)
        )
    elif numbers:
        found.append(
            _(
                "Without a name: {names}. Name them by marks, so that the rules and allowances of "
                "each seam apply."
            ).format(names=", ".join(map(shown_seam, numbers)))
        )
    if draft.block.grain is None and not any(seam.is_centre for seam in draft.piece.seams()):
        found.append(
            _(
                "No centre seam is named and no grainline is drawn: the grainline is the page's "
                "vertical. See that it is the cloth's."
            )
        )
    found += draft.notes
    return found


def _from_the_top(seams: Iterable[Seam]) -> list[Seam]:
    """Return seams around a piece from the one that rules name first, wherever they began."""
    ring = list(seams)
    order = {kind: number for number, kind in enumerate(SEAMS_IN_ORDER)}
    first = min(range(len(ring)), key=lambda n: order.get(ring[n].kind, len(order)), default=0)
    return [*ring[first:], *ring[:first]]


def turned_sentences(draft: Draft) -> list[str]:
    """Return which allowances are turned back on the piece."""
    allowances = draft.settings.allowances
    return [
        _(
            "{seam}: the allowance of {width} is turned back along the stitch line; its ends are "
            "mirrored there, to lie flat."
        ).format(
            seam=f"{seam.spoken[:1].upper()}{seam.spoken[1:]}",
            width=in_words(allowances.width(seam)),
        )
        for seam in draft.piece.seams()
        if allowances.is_turned(seam) and allowances.width(seam) > 0.0
    ]


def sentences(draft: Draft) -> list[str]:
    """Return everything a drafter is told of one block, a line each; the first two say most."""
    return [size_sentence(draft), *corner_lines(draft), *_sentences_behind_size(draft)]


def corner_lines(draft: Draft) -> list[str]:
    """Return in one line which sharp corners are left where darts were closed, or no line."""
    return [" ".join(draft.corners_left)] if draft.corners_left else []


def _sentences_behind_size(draft: Draft) -> list[str]:
    lines: list[str] = []
    for item in draft.darts:
        lines += dart_sentences(item)
    for full in draft.fullness:
        lines += fullness_sentences(full, draft)
    lines += turned_sentences(draft)
    lines += joined_sentences(draft)
    lines += folded_sentences(draft)
    lines += _remarks_but_folds(draft)
    lines += draft.warnings
    return lines


def folded_sentences(draft: Draft) -> list[str]:
    """Return how the raw edges meet where the darts are folded shut."""
    if not draft.darts:
        return []
    most = max(item.folded.most for item in draft.darts)
    return [_("Folded shut: raw edges meet within {off}.").format(off=told_length(most, 2))]


def note_sentences(draft: Draft, told: Sequence[str] = ()) -> list[str]:
    """Return what the note beside a piece says after its head; an empty one is an empty line."""
    return [
        *_sentences_behind_size(draft),
        *told,
        "",
        _("Measure the 50 mm square before cutting, and sew a trial in cheap cloth first."),
    ]


def terminal_balance(drafts: Sequence[Draft], titles: Sequence[str] = ()) -> str:
    """Return the balance for the terminal: of several drafts as one table after the sentences.

    Args:
        drafts: the drafts, of one block or of several.
        titles: what each of them is called beside the others, where they are of one block; what
            is said of all of them is then said once.
    """
    from extension.drafting.balance_table import balance_of_one, balance_table

    if len(drafts) < 2:
        return "\n".join(
            line for draft in drafts for line in (*sentences(draft), "", *balance_of_one(draft))
        )
    said = [sentences(draft) for draft in drafts]
    paragraphs = said
    if titles:
        common = [line for line in said[0] if all(line in lines for lines in said)]
        own = [[line for line in lines if line not in common] for lines in said]
        headed = ([title, *lines] for title, lines in zip(titles, own, strict=True))
        paragraphs = [common, *headed]
    told = ["\n".join(lines) for lines in paragraphs if lines]
    names = titles or [shown_name(draft) for draft in drafts]
    table = balance_table(drafts, names, of_places=bool(titles))
    return "\n\n".join([*told, table])
