"""Sewing notes of a piece with many darts: fewer pictures, and a line that says where to look."""

from __future__ import annotations

from drafting_core.fullness import Fullness, chain_length
from drafting_core.lengths import in_words
from drafting_core.piece import TUCK
from drafting_core.words import _
from extension.sew_steps import MARK, PRESS, TRIM, Step
from extension.sew_words import Section


def shortened(section: Section, like: Section) -> Section:
    """Return a section whose steps are shown only where they are its own: marking and pressing."""
    kept = tuple(step for step in section.steps if step.kind in (MARK, PRESS))
    said = (
        _("Folded, stitched and trimmed as the pictures at number {number} show: stitch {length}.")
        if TRIM in section.course
        else _("Folded and stitched as the pictures at number {number} show: stitch {length}.")
    )
    return _with(section, kept, said, like)


def in_words_only(section: Section, like: Section) -> Section:
    """Return a section without pictures, which is sewn as another one's pictures show."""
    said = (
        _(
            "It is sewn as the pictures at number {number} show, but nothing is trimmed: stitch "
            "{length}."
        )
        if TRIM in like.course and TRIM not in section.course
        else _("It is sewn as the pictures at number {number} show: stitch {length}.")
    )
    return _with(section, (), said, like)


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
