"""The command ``compare``: one block with its dart in several places, on a teaching sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from lxml import etree

from drafting_core.block import Block
from drafting_core.draft import move_dart
from drafting_core.errors import DraftingError, PlaceError, SettingError
from drafting_core.excess import CLOTH_WORDS, TRIM, Reason
from drafting_core.finish import FinishedDart, bend_warning
from drafting_core.lengths import in_words
from drafting_core.pattern_piece import Draft, DrawnDart
from drafting_core.places import Target
from drafting_core.settings import CLOTHS, Settings
from drafting_core.target_words import targets_in_words
from extension.block_marks import core_block
from extension.compare_layout import PAGES, Caption, Verdicts, Words
from extension.compare_picture import KEY
from extension.compare_sheet import Sheet, SheetWriter, laid_out
from extension.jobs import Outcome, Request, blocks_to_move
from extension.report import block_name, block_report, fold_sentence
from extension.roles import name_of
from extension.settings_text import read_settings
from extension.source_block import SourceBlock
from extension.svg_document import DocumentError

FEWEST, MOST = 2, 6
#: A dart point nearer to the apex than this lies on it as far as a caption is concerned (mm).
SHOWN_CLEARANCE = 0.05
_EXAMPLE = '"neckline/centre front; side seam:0.35; waist"'


def compare(root: etree._Element, request: Request) -> Outcome:
    """Draft one block with its dart in each place and add a layer with the teaching sheet.

    Returns:
        One draft and one entry of the report for each place, in the cloth asked for.

    Raises:
        DraftingError: if anything cannot be drafted; the document is then as it was.
    """
    settings = read_settings(request.given, request.unit)
    page = _page(request.page)
    targets = _places(request.to)
    drawing, sources = blocks_to_move(root, request)
    source = _only(sources)
    try:
        block = core_block(source, drawing)
        block = block._replace(name=request.name or block.name, size=request.size or block.size)
        targets = targets or _marked(block)
        in_cloths = [_in_each_cloth(block, settings, target) for target in targets]
    except DraftingError as error:
        raise error.about(source.thing).noted(source.size_sentence) from None
    chosen = [drafts[settings.cloth] for drafts in in_cloths]
    titles = _titles(targets, chosen)
    captions = [
        _caption(title, drafts, settings.cloth)
        for title, drafts in zip(titles, in_cloths, strict=True)
    ]
    name = block_name(chosen[0])
    sheet = Sheet(
        f"Compare: {name}, dart in {len(targets)} places",
        _words(chosen, settings.cloth, any_trimmed=_any_trimmed(in_cloths)),
        captions,
        chosen,
        page,
    )
    layout, room = laid_out(sheet)
    SheetWriter(root, source.mm_per_unit).write(sheet, layout, room)
    entries = [
        {**block_report(draft, source.scale), "place": title, "cloth": settings.cloth}
        for title, draft in zip(titles, chosen, strict=True)
    ]
    return Outcome(chosen, {"blocks": entries}, drawing.notes)


def _page(text: str) -> str:
    for page in PAGES:
        if page.casefold() == text.strip().casefold():
            return page
    raise SettingError(
        f'"{text}" is not known.', thing="The page", remedy=f"Use one of {', '.join(PAGES)}."
    )


def _places(text: str) -> list[Target]:
    """Return the places between semicolons; none where none are named."""
    targets = targets_in_words(text)
    for target in targets:
        if target != Target(place=target.place):
            raise PlaceError(
                "a comparison moves the whole dart to every place, as a dart.",
                thing=f'The place "{target.place}"',
                remedy="Name the place alone.",
            )
    if targets or text.strip():
        _check_count(len(targets), "named")
    return targets


def _marked(block: Block) -> list[Target]:
    """Return the block's target marks, each to be taken by itself with the whole dart."""
    _check_count(len(block.targets), "marked")
    return [target._replace(share=None, intake=None, made="") for target in block.targets]


def _check_count(count: int, how: str) -> None:
    if FEWEST <= count <= MOST:
        return
    places = "1 place is" if count == 1 else f"{count or 'no'} places are"
    raise PlaceError(
        f"{places} {how}; {FEWEST} to {MOST} are compared on a page.",
        thing="The comparison",
        remedy=f"Name them with semicolons between, as in {_EXAMPLE}, or put a target mark on "
        "each.",
    )


def _only(sources: Sequence[SourceBlock]) -> SourceBlock:
    if len(sources) == 1:
        return sources[0]
    names = ", ".join(name_of(source.outline) for source in sources[:MOST])
    raise DocumentError(
        f"{len(sources)} blocks are in play: {names}.",
        thing="The comparison",
        remedy="Select one of them, by its outline or one of its marks.",
    )


def _in_each_cloth(block: Block, settings: Settings, target: Target) -> dict[str, Draft]:
    try:
        return {
            cloth: move_dart(block, replace(settings, cloth=cloth), [target]) for cloth in CLOTHS
        }
    except DraftingError as error:
        # Of several places the message has to say which.
        thing = f'The place "{target.place}"' if target.place else target.thing
        raise type(error)(
            error.what, remedy=error.remedy, thing=thing, place=error.place, note=error.note
        ) from None


def _titles(targets: Sequence[Target], drafts: Sequence[Draft]) -> list[str]:
    """Return what each place is called: as the drafter wrote it, or by its seam and its mark."""
    seams = [_moved_dart(draft).dart.seam.name for draft in drafts]
    return [
        target.place or (seam if seams.count(seam) == 1 else f"{seam}, at {target.thing}")
        for target, seam in zip(targets, seams, strict=True)
    ]


def _moved_dart(draft: Draft) -> DrawnDart:
    """Return the dart at the place: the first, since darts are in the order of the targets."""
    return draft.darts[0]


def _caption(title: str, drafts: dict[str, Draft], cloth: str) -> Caption:
    draft = drafts[cloth]
    item = _moved_dart(draft)
    dart = item.dart
    angle = math.degrees(dart.opening.angle)
    left = [
        f"{in_words(other.dart.intake)} stay on {other.dart.seam.spoken}."
        for other in draft.darts[1:]
        if other.dart.opening.source
    ]
    return Caption(
        title,
        (
            f"Intake {in_words(dart.intake)}, {angle:.1f}° at the apex.",
            fold_sentence(item),
            *left,
            *_point_sentence(dart),
            *draft.notes,
            *(text for text in dart.warnings if text != bend_warning(dart)),
        ),
        _verdicts(drafts),
    )


def _point_sentence(dart: FinishedDart) -> list[str]:
    """Return where the dart point lies and how the seam bends for it: shorter than the warning."""
    if dart.clearance < SHOWN_CLEARANCE:
        return []
    bend = math.degrees(dart.bend)
    return [
        f"Point {in_words(dart.clearance)} short of the apex; the sewn seam bends by {bend:.1f}°."
    ]


def _verdicts(drafts: dict[str, Draft]) -> tuple[Verdicts, ...]:
    """Return keep or trim for every cloth; cloths with the same reason share one sentence."""
    groups: dict[Reason, list[str]] = {}
    for cloth, draft in drafts.items():
        reason = _moved_dart(draft).dart.reason
        groups.setdefault(reason._replace(cloth=""), []).append(cloth)
    return tuple(
        Verdicts(
            tuple(cloths) if len(groups) > 1 else ("all cloths",),
            reason.sentence(cloths, finishing=False),
        )
        for reason, cloths in groups.items()
    )


def _any_trimmed(in_cloths: Sequence[dict[str, Draft]]) -> bool:
    return any(
        item.dart.excess == TRIM
        for drafts in in_cloths
        for draft in drafts.values()
        for item in draft.darts
    )


def _words(drafts: Sequence[Draft], cloth: str, *, any_trimmed: bool) -> Words:
    draft = drafts[0]
    size = f" (size {draft.block.size})" if draft.block.size else ""
    foot = ["Trimmed edges have to be clean finished."] if any_trimmed else []
    if draft.names_guessed:
        foot.append("The seams' names were guessed from the shape: check them.")
    return Words(
        f"{block_name(draft)}{size}: one dart in {len(drafts)} places",
        f"Scale {{scale}}. Not for cutting. The pictures show the dart in {CLOTH_WORDS[cloth]}.",
        tuple(KEY),
        " ".join(foot),
    )
