"""The command ``compare``: one block with its dart in several places, on a teaching sheet."""

from __future__ import annotations

from collections.abc import Sequence

from lxml import etree

from drafting_core.block.block import Block
from drafting_core.block.places import Target, spoken_place
from drafting_core.block.target_words import targets_in_words
from drafting_core.dart.excess import TRIM, Verdict
from drafting_core.dart.finish import FinishedDart
from drafting_core.dart.finish_words import CLOTH_WORDS, fold_sentence, verdict_sentence
from drafting_core.finished.draft import move_dart
from drafting_core.finished.pattern_piece import Draft, DrawnDart
from drafting_core.model.settings import CLOTHS, Settings
from drafting_core.text.errors import DraftingError, PlaceError, SettingError
from drafting_core.text.figures import in_degrees
from drafting_core.text.lengths import in_words
from drafting_core.text.paper_sizes import DESK_PAGES
from drafting_core.text.words import N_, _, ngettext
from extension.comparing.comparison_page import (
    ComparisonPage,
    ComparisonWriter,
    comparison_laid_out,
)
from extension.comparing.layout import Caption, PageWords, Verdicts
from extension.comparing.place_titles import place_titles
from extension.document.roles import name_of
from extension.document.svg_document import DocumentError
from extension.drafting.move_and_allow import Outcome, Request
from extension.drafting.report import block_report
from extension.drafting.result_labels import place_label
from extension.options.settings_text import read_settings
from extension.pages.piece_picture import KEY, KEY_WORDS
from extension.reading.block_marks import core_block
from extension.reading.blocks_in_play import blocks_to_move
from extension.reading.piece_names import block_name, shown_name
from extension.reading.source_block import SourceBlock

FEWEST, MOST = 2, 6
#: A dart point nearer to the apex than this lies on it as far as a caption is concerned (mm).
SHOWN_CLEARANCE = 0.05
_CLOTHS = {
    "woven": N_("woven"),
    "fine": N_("fine"),
    "sheer": N_("sheer"),
    "knit": N_("knit"),
}


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
    drawing, sources = blocks_to_move(root, request.selection, request.to, nest=request.nest)
    source = _only(sources)
    try:
        block = core_block(source, drawing)
        block = block._replace(name=request.name or block.name, size=request.size or block.size)
        targets = targets or _marked(block)
        in_cloths = [_in_each_cloth(block, settings, target) for target in targets]
    except DraftingError as error:
        raise error.about(source.thing).noted(source.size_sentence) from None
    chosen = [drafts[settings.cloth] for drafts in in_cloths]
    places = [draft.places[0] for draft in chosen]
    titles = place_titles(places, targets)
    captions, everywhere = _said_once(
        [
            _caption(title, drafts, settings.cloth)
            for title, drafts in zip(titles, in_cloths, strict=True)
        ]
    )
    name = block_name(chosen[0])
    # A layer's label is English in any language, as that of a result is.
    label = f"Compare: {name}, dart in {len(targets)} places"  # not read by drafters
    # As places are typed, and as layers are called: English in any language.
    called = [target.place or place_label(at) for target, at in zip(targets, places, strict=True)]
    comparison = ComparisonPage(
        label,
        _words(chosen, settings.cloth, everywhere, any_trimmed=_any_trimmed(in_cloths)),
        captions,
        called,
        chosen,
        page,
    )
    layout, room = comparison_laid_out(comparison)
    ComparisonWriter(root, source.mm_per_unit).write(comparison, layout, room)
    entries = [
        {**block_report(draft, source.scale), "place": place, "cloth": settings.cloth}
        for place, draft in zip(called, chosen, strict=True)
    ]
    return Outcome(chosen, {"blocks": entries}, list(drawing.notes), titles=titles)


def _page(text: str) -> str:
    for page in DESK_PAGES:
        if page.casefold() == text.strip().casefold():
            return page
    raise SettingError(
        _('"{text}" is not known.').format(text=text),
        thing=_("The page"),
        remedy=_("Use one of {pages}.").format(pages=", ".join(DESK_PAGES)),
    )


def _places(text: str) -> list[Target]:
    """Return the places between semicolons; none where none are named."""
    targets = targets_in_words(text)
    for target in targets:
        if target != Target(place=target.place):
            raise PlaceError(
                _("a comparison moves the whole dart to every place, as a dart."),
                thing=_place(target),
                remedy=_("Name the place alone."),
            )
    if targets or text.strip():
        _check_count(len(targets), named=True)
    return targets


def _place(target: Target) -> str:
    return _('The place "{place}"').format(place=spoken_place(target.place))


def _marked(block: Block) -> list[Target]:
    """Return the block's target marks, each to be taken by itself with the whole dart."""
    _check_count(len(block.targets), named=False)
    return [target._replace(share=None, intake=None, made="") for target in block.targets]


def _check_count(count: int, *, named: bool) -> None:
    if FEWEST <= count <= MOST:
        return
    if not count:
        what = (
            _("no places are named; {fewest} to {most} are compared on a page.")
            if named
            else _("no places are marked; {fewest} to {most} are compared on a page.")
        )
    elif named:
        what = ngettext(
            "{n} place is named; {fewest} to {most} are compared on a page.",
            "{n} places are named; {fewest} to {most} are compared on a page.",
            count,
        )
    else:
        what = ngettext(
            "{n} place is marked; {fewest} to {most} are compared on a page.",
            "{n} places are marked; {fewest} to {most} are compared on a page.",
            count,
        )
    raise PlaceError(
        what.format(n=count, fewest=FEWEST, most=MOST),
        thing=_("The comparison"),
        remedy=_(
            'Name them with semicolons between, as in "neckline/centre front; side seam:0.35; '
            'waist", or put a target mark on each.'
        ),
    )


def _only(sources: Sequence[SourceBlock]) -> SourceBlock:
    if len(sources) == 1:
        return sources[0]
    names = ", ".join(name_of(source.outline) for source in sources[:MOST])
    raise DocumentError(
        _("{n} blocks are in play: {names}.").format(n=len(sources), names=names),
        thing=_("The comparison"),
        remedy=_("Select one of them, by its outline or one of its marks."),
    )


def _in_each_cloth(block: Block, settings: Settings, target: Target) -> dict[str, Draft]:
    try:
        return {cloth: move_dart(block, settings.but(cloth=cloth), [target]) for cloth in CLOTHS}
    except DraftingError as error:
        # Of several places the message has to say which.
        thing = _place(target) if target.place else target.thing
        raise type(error)(
            error.what, remedy=error.remedy, thing=thing, place=error.place, note=error.note
        ) from None


def _moved_dart(draft: Draft) -> DrawnDart:
    """Return the dart at the place: the first, since darts are in the order of the targets."""
    return draft.darts[0]


def _caption(title: str, drafts: dict[str, Draft], cloth: str) -> Caption:
    draft = drafts[cloth]
    item = _moved_dart(draft)
    dart = item.dart
    left = [
        _("{width} stay on {seam}.").format(
            width=in_words(other.dart.intake), seam=other.dart.seam.spoken
        )
        for other in draft.darts[1:]
        if other.dart.opening.source
    ]
    return Caption(
        title,
        (
            _("Intake {width}, {angle} at the apex.").format(
                width=in_words(dart.intake), angle=in_degrees(dart.opening.angle)
            ),
            fold_sentence(dart.fold),
            *left,
            *_point_sentences(dart),
            *draft.corners_left,
            *draft.notes,
            *dart.warnings,
        ),
        _verdicts(drafts),
    )


def _said_once(captions: Sequence[Caption]) -> tuple[list[Caption], list[str]]:
    """Return captions without the sentences that all of them have, and those sentences."""
    same = [
        sentence
        for sentence in captions[0].sentences
        if all(sentence in caption.sentences for caption in captions)
    ]
    rest = [
        caption._replace(sentences=tuple(s for s in caption.sentences if s not in same))
        for caption in captions
    ]
    return rest, same


def _point_sentences(dart: FinishedDart) -> list[str]:
    """Return where the dart point lies and how the seam bends for it: shorter than the warning."""
    if dart.clearance < SHOWN_CLEARANCE:
        return []
    return [
        _("Point {clearance} short of the apex.").format(clearance=in_words(dart.clearance)),
        _("The sewn seam bends by {angle}.").format(angle=in_degrees(dart.bend)),
    ]


def _verdicts(drafts: dict[str, Draft]) -> tuple[Verdicts, ...]:
    """Return keep or trim for every cloth; cloths with the same reason share one sentence."""
    groups: dict[Verdict, list[str]] = {}
    for cloth, draft in drafts.items():
        verdict = _moved_dart(draft).dart.verdict
        groups.setdefault(verdict._replace(cloth=""), []).append(cloth)
    return tuple(
        Verdicts(
            tuple(_(_CLOTHS[cloth]) for cloth in cloths) if len(groups) > 1 else (_("all cloths"),),
            verdict_sentence(verdict, cloths, finishing=False),
        )
        for verdict, cloths in groups.items()
    )


def _any_trimmed(in_cloths: Sequence[dict[str, Draft]]) -> bool:
    return any(
        item.dart.excess == TRIM
        for drafts in in_cloths
        for draft in drafts.values()
        for item in draft.darts
    )


def _words(
    drafts: Sequence[Draft], cloth: str, everywhere: Sequence[str], *, any_trimmed: bool
) -> PageWords:
    draft = drafts[0]
    heading = (
        ngettext(
            "{name} (size {size}): one dart in {n} place",
            "{name} (size {size}): one dart in {n} places",
            len(drafts),
        )
        if draft.block.size
        else ngettext(
            "{name}: one dart in {n} place", "{name}: one dart in {n} places", len(drafts)
        )
    )
    foot = [_("Trimmed edges have to be clean finished.")] if any_trimmed else []
    if everywhere:
        foot.append(_("This holds in every place. {said}").format(said=" ".join(everywhere)))
    if draft.names_guessed:
        foot.append(_("The seams' names were guessed from the shape: check them."))
    return PageWords(
        heading.format(name=shown_name(draft), size=draft.block.size, n=len(drafts)),
        _("Scale {scale}. Not for cutting. The pictures show the dart in {cloth}.").format(
            scale="{scale}", cloth=_(CLOTH_WORDS[cloth])
        ),
        tuple(_(KEY_WORDS[kind]) for kind in KEY),
        " ".join(foot),
    )
