"""The balance and what became of each dart, as JSON and in words."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

from drafting_core.finish import NOTABLE_BEND
from drafting_core.fullness import Fullness
from drafting_core.lengths import in_words
from drafting_core.pattern_piece import Draft, DrawnDart, JoinedSeam, report_order
from drafting_core.piece import DART, EASE, FLARE, GATHERS, TUCK, Opening
from drafting_core.piece_kinds import piece_title
from drafting_core.seam_names import Seam
from drafting_core.trueing import Blend

#: Beyond this the bend has a warning of its own.
NOTABLE_BEND_DEG = math.degrees(NOTABLE_BEND)


def block_name(draft: Draft) -> str:
    """Return the piece's name: the drafter's, else its kind, else "Block"."""
    return piece_title(draft.block.name, draft.piece) or "Block"


def block_report(draft: Draft, true_scale: float) -> dict[str, object]:
    """Return what the report says of one block.

    Args:
        draft: the drafted block.
        true_scale: true millimetres to a millimetre of the drawing; points are given in the
            drawing's.
    """
    result = draft.balance
    blends = [_blend(item, true_scale) for item in draft.blends]
    return {
        "name": block_name(draft),
        "height_mm": draft.height,
        "width_mm": draft.width,
        "seams": [
            {"name": entry.seam.name, "before_mm": entry.before, "after_mm": entry.after}
            for entry in result.seams
        ],
        "openings": _openings(draft, true_scale),
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
    return (
        f"{name}: the drawing is at {100 / scale:.4g} % of its true size. Print it at "
        f"{100 * scale:.4g} %; the test square then measures 50 mm."
    )


def joined_sentences(draft: Draft) -> list[str]:
    """Return how the seam between the two pieces of a cut block matches."""
    if draft.joined is None:
        return []
    seam = draft.joined
    eased = f", and {in_words(seam.fullness)} more to take in" if seam.fullness else ""
    return [
        f"The {seam.name} is {in_words(seam.length)} long, darts closed{eased}; on "
        f'"{seam.other_piece}" it is {in_words(seam.other)}.'
    ]


def _blend(item: Blend, true_scale: float) -> dict[str, object]:
    at = item.at / true_scale
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


def _openings(draft: Draft, true_scale: float) -> list[dict[str, object]]:
    darts = {item.dart.opening: _opening(item, true_scale) for item in draft.darts}
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
        "intake_mm": abs(end - start),
        "share": opening.share,
        "fold": None,
        "excess": "keep",
        "why": fullness_sentences(item, draft)[0],
        "point_mm": None,
        "bend_deg": 0.0,
        "as": item.kind,
    }


def _opening(item: DrawnDart, true_scale: float) -> dict[str, object]:
    dart = item.dart
    point = dart.point / true_scale
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
    } | ({} if dart.opening.made == DART else {"as": dart.opening.made})


def fullness_sentences(item: Fullness, draft: Draft) -> list[str]:
    """Return what the drafter is told of gathers, ease, a flare or a tuck."""
    flat, sewn = _flat_and_sewn(item, draft)
    lengths = f"The seam is {in_words(flat)} long flat and {in_words(sewn)} sewn."
    if item.kind in (GATHERS, EASE):
        what = "Gathers" if item.kind == GATHERS else "Ease"
        return [
            f"{what} on {item.seam.spoken}: {in_words(item.width)} more than is sewn, where the "
            f"two notches are; spread it to both sides of them. {lengths}"
        ]
    if item.kind == FLARE:
        return [
            f"The flare makes {item.seam.spoken} {in_words(item.width)} wider: {in_words(flat)}."
        ]
    length = sum(segment.length() for segment in item.paths[0])
    return [
        f"Stitch the tuck on {item.seam.spoken}, {in_words(item.width)} wide, for "
        f"{in_words(length)} from the seam; beyond that it opens out."
    ]


def dart_sentences(item: DrawnDart) -> list[str]:
    """Return what the drafter is told of one dart."""
    dart = item.dart
    where = f"{dart.opening.made.capitalize()} on {dart.seam.spoken}"
    angle = math.degrees(dart.opening.angle)
    if not dart.opening.in_fan:
        place = "its own point"
    elif dart.clearance < 0.05:
        place = "the apex, its point on it"
    else:
        place = f"the apex, its point {in_words(dart.clearance)} short of it"
    if dart.opening.made == TUCK:
        return [
            f"{where}: {in_words(dart.intake)} wide, {angle:.1f}° at the apex.",
            fold_sentence(item),
            dart.why,
        ]
    degrees = math.degrees(dart.bend)
    bend = f"; the sewn seam bends by {degrees:.1f}°" if 0.05 <= degrees <= NOTABLE_BEND_DEG else ""
    return [
        f"{where}: {in_words(dart.intake)} wide, {angle:.1f}° at {place}{bend}.",
        fold_sentence(item),
        dart.why,
    ]


def size_sentence(draft: Draft) -> str:
    """Return the block's size in words, by which a wrong scale is seen."""
    name = block_name(draft)
    return f"{name}: the block is {draft.height:.1f} mm high and {draft.width:.1f} mm wide."


def remarks(draft: Draft) -> list[str]:
    """Return what was decided that the drafter may not expect: names, snapping, rules."""
    found = []
    numbers = sorted(
        (seam.name for seam in draft.piece.seams() if seam.name.startswith("seam ")),
        key=lambda name: (len(name), name),
    )
    if draft.names_guessed:
        names = ", ".join(seam.name for seam in draft.piece.seams())
        found.append(f"Seam names were guessed from the shape: {names}. Check them.")
    elif numbers:
        found.append(
            f"Without a name: {', '.join(numbers)}. Name them by marks, so that the rules and "
            "allowances of each seam apply."
        )
    found += draft.notes
    found += [fold_sentence(item) for item in draft.darts if not item.dart.seam.is_known]
    return found


def fold_sentence(item: DrawnDart) -> str:
    """Return which way a dart's excess is folded, and by which rule."""
    return item.dart.fold.sentence


def turned_sentences(draft: Draft) -> list[str]:
    """Return which allowances are turned back on the piece."""
    allowances = draft.settings.allowances
    return [
        f"{seam.spoken[:1].upper()}{seam.spoken[1:]}: the allowance of "
        f"{in_words(allowances.width(seam))} is turned back along the stitch line; its ends are "
        "mirrored there, to lie flat."
        for seam in draft.piece.seams()
        if allowances.is_turned(seam) and allowances.width(seam) > 0.0
    ]


def sentences(draft: Draft) -> list[str]:
    """Return everything a drafter is told of one block, sentence by sentence."""
    lines = [size_sentence(draft)]
    for item in draft.darts:
        lines += dart_sentences(item)
    for full in draft.fullness:
        lines += fullness_sentences(full, draft)
    lines += turned_sentences(draft)
    lines += joined_sentences(draft)
    lines += [text for text in remarks(draft) if text not in lines]
    lines += draft.warnings
    return lines


def note_lines(draft: Draft, width: int) -> list[str]:
    """Return the note beside the piece, broken to a width in letters."""
    lines: list[str] = []
    for sentence in sentences(draft):
        lines += textwrap.wrap(sentence, width) or [""]
    lines.append("")
    lines += textwrap.wrap(
        "Measure the 50 mm square before cutting, and sew a trial in cheap cloth first.", width
    )
    return lines


def terminal_balance(drafts: Sequence[Draft]) -> str:
    """Return the balance for the terminal: of several blocks as one table after the sentences."""
    if len(drafts) > 1:
        told = ["\n".join(sentences(draft)) for draft in drafts]
        from extension.balance_table import balance_table

        table = balance_table(drafts, [block_name(draft) for draft in drafts])
        return "\n\n".join([*told, table])
    parts = []
    for draft in drafts:
        lines = sentences(draft)
        entries = draft.balance.seams
        width = max(len(entry.seam.name) for entry in entries)
        lines.append("")
        lines.append(f"  {'Sewn lengths (mm)':<{width}}     before      after")
        lines += [
            f"  {entry.seam.name:<{max(width, 17)}} {entry.before:10.3f} {entry.after:10.3f}"
            for entry in entries
        ]
        result = draft.balance
        lines.append(
            f"  {'All openings (°)':<{max(width, 17)}} {math.degrees(result.angle_before):10.3f} "
            f"{math.degrees(result.angle_after):10.3f}"
        )
        lines.append(
            f"  {'Net area (cm²)':<{max(width, 17)}} {result.area_before / 100:10.3f} "
            f"{result.area_after / 100:10.3f}"
        )
        parts.append("\n".join(lines))
    return "\n\n".join(parts)
