"""Sewing notes of a piece with many darts: fewer pictures, and a line that says where to look."""

from __future__ import annotations

from drafting_core.dart.fullness import Fullness
from drafting_core.model.piece import TUCK
from drafting_core.plane.curves import chain_length
from drafting_core.text.lengths import in_words
from drafting_core.text.words import _
from extension.sewing.steps import MARK, PRESS, TRIM, Step
from extension.sewing.words import Section


def shortened(section: Section, like: Section) -> Section:
    """Return a section whose steps are shown only where they are its own: marking and pressing."""
    kept = tuple(step for step in section.steps if step.kind in (MARK, PRESS))
    said = (
        _("Folded, stitched and trimmed as the pictures at number {number} show: stitch {length}.")
        if TRIM in section.course
        else _("Folded and stitched as the pictures at number {number} show: stitch {length}.")
    )
    return _with(section, kept, said, like)


def pressing_shown(section: Section, like: Section) -> Section:
    """Return a section with the picture of its pressing where that is another way, else none."""
    if not _pressed_otherwise(section, like):
        return in_words_only(section, like)
    kept = tuple(step for step in section.steps if step.kind == PRESS)
    return _with(section, kept, _said(section, like, is_other_way=True), like)


def in_words_only(section: Section, like: Section) -> Section:
    """Return a section without pictures, which is sewn as another one's pictures show."""
    if not section.steps:
        return section
    is_other_way = _pressed_otherwise(section, like)
    found = _with(section, (), _said(section, like, is_other_way=is_other_way), like)
    if not is_other_way:
        return found
    press = tuple(step.caption for step in section.steps if step.kind == PRESS)
    return found._replace(sentences=(*found.sentences, *press))


def _pressed_otherwise(section: Section, like: Section) -> bool:
    return _pressing(section) != _pressing(like)


def _pressing(section: Section) -> list[str]:
    return [step.caption for step in section.steps if step.kind == PRESS]


def _said(section: Section, like: Section, *, is_other_way: bool) -> str:
    is_untrimmed = TRIM in like.course and TRIM not in section.course
    if is_other_way:
        return (
            _(
                "It is sewn as the pictures at number {number} show, but nothing is trimmed and it "
                "is pressed another way: stitch {length}."
            )
            if is_untrimmed
            else _(
                "It is sewn as the pictures at number {number} show, but pressed another way: "
                "stitch {length}."
            )
        )
    return (
        _(
            "It is sewn as the pictures at number {number} show, but nothing is trimmed: stitch "
            "{length}."
        )
        if is_untrimmed
        else _("It is sewn as the pictures at number {number} show: stitch {length}.")
    )


def told_alone(section: Section) -> Section:
    """Return gathers, ease or a tuck without pictures, what their captions say among the words."""
    if not isinstance(section.item, Fullness):
        return section
    captions = () if section.item.kind == TUCK else tuple(step.caption for step in section.steps)
    return section._replace(steps=(), sentences=(*section.sentences, *captions))


def _with(section: Section, steps: tuple[Step, ...], said: str, like: Section) -> Section:
    if section.cloth is None:
        return section
    length = in_words(chain_length(section.cloth.stitched))
    sentence = said.format(number=like.number, length=length)
    return section._replace(steps=steps, sentences=(*section.sentences, sentence))
