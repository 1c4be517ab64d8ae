"""What is said of a picture that was traced: where its size was taken from, and what to look at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from drafting_core.text.errors import NothingClosedError
from drafting_core.text.figures import significant
from drafting_core.text.lengths import told_length
from drafting_core.text.words import _
from extension.cleaning.read_trace import Trace, TrueScale
from extension.cleaning.traced_pictures import TracedPicture
from extension.document.roles import name_of

#: Two resolutions this near to each other (part of them) are one.
_SAME = 0.01
#: A picture is stretched if its dots differ in height and width by more.
_STRETCHED = 0.003
#: What programs write where nobody measured.
_UNMEASURED = (72.0, 96.0)
#: What is darker as a whole on more than this part of a picture is worth a word.
_MUCH_FILLED = 0.03
#: And so are steps of brightness that are longer than this part of its longer side.
_LONG_STEPS = 0.3
#: A picture has hardly any lines if no more than this part of it is ink.
_HARDLY_INK = 0.005


def said_of_pictures(
    trace: Trace, scale: TrueScale, dpi: float | None
) -> tuple[list[str], list[str]]:
    """Return what is told of the pictures of a trace, and what the drafter has to look at.

    Args:
        trace: the trace.
        scale: its true scale: where no mark says it, the pictures' own size counts.
        dpi: a picture's dots to the inch as the drafter said them, or None.
    """
    told: list[str] = []
    remarks: list[str] = []
    for picture in trace.pictures:
        if not scale.marks:
            told.append(_size_sentence(picture, trace.mm, dpi))
            remarks += _size_remarks(picture, trace.mm, dpi)
        remarks += _tracing_remarks(picture)
    if trace.untraced:
        remarks.append(
            _(
                "{picture} was not traced, since lines are selected with it: select it alone to "
                "have it traced."
            ).format(picture=name_of(trace.untraced[0]))
        )
    return told, remarks


def _size_sentence(picture: TracedPicture, mm: float, dpi: float | None) -> str:
    across, high = picture.size(mm)
    return _(
        "{picture} is taken as {dpi} dots to the inch, {why}: {width} wide and {height} high. "
        "Measure one length of it on the paper."
    ).format(
        picture=name_of(picture.element),
        dpi=_told(picture.dpi(mm)[0]),
        why=_why(picture, mm, dpi),
        width=told_length(across),
        height=told_length(high),
    )


def _why(picture: TracedPicture, mm: float, dpi: float | None) -> str:
    if dpi is not None:
        return _("as --dpi says")
    said = picture.head.dpi
    if said is not None and _agree(said[0], picture.dpi(mm)[0]):
        return _("as the picture itself says")
    return _("as it lies on the canvas")


def _told(dpi: float) -> str:
    # Files count dots to the metre: a tenth of a dot to the inch is no news.
    return significant(round(dpi, 1), 4)


def _agree(one: float, other: float) -> bool:
    return abs(one - other) <= _SAME * max(one, other)


def _size_remarks(picture: TracedPicture, mm: float, dpi: float | None) -> Iterator[str]:
    """Yield why a picture's size may not be the true one, where no mark says the scale."""
    name, head = name_of(picture.element), picture.head
    here, down = picture.dpi(mm)
    if abs(here - down) > _STRETCHED * here and not _is_said(picture, mm):
        yield _(
            "{picture} is stretched on the canvas: {across} dots to the inch across, {down} down. "
            "The block is so too."
        ).format(picture=name, across=_told(here), down=_told(down))
    if dpi is not None:
        return
    if head.is_photo:
        yield _(
            "{picture} is a camera's photo, which has no true size and is seen aslant: draw along "
            'a sheet of paper in it and label that "known rectangle A4".'
        ).format(picture=name)
    elif head.dpi is not None and not _agree(head.dpi[0], here):
        yield _(
            "{picture} says {said} dots to the inch of itself, but has {here} on the canvas, which "
            "was followed: import it with its own resolution, or mark a known length."
        ).format(picture=name, said=_told(head.dpi[0]), here=_told(here))
    elif any(_agree(here, unmeasured) for unmeasured in _UNMEASURED):
        yield _(
            "{dpi} dots to the inch is what programs write where nobody measured: the size of "
            "{picture} is hardly true. Mark a known length, or give --dpi."
        ).format(dpi=_told(here), picture=name)


def _is_said(picture: TracedPicture, mm: float) -> bool:
    said = picture.head.dpi
    return said is not None and all(
        _agree(one, other) for one, other in zip(said, picture.dpi(mm), strict=True)
    )


def _tracing_remarks(picture: TracedPicture) -> Iterator[str]:
    """Yield what else the drafter should know of how a picture was traced."""
    name = name_of(picture.element)
    if picture.ink.is_inverted:
        yield _("{picture}: its bright lines on a dark ground were followed.").format(picture=name)
    elif picture.ink.filled > _MUCH_FILLED:
        yield _(
            "{picture}: {share} % of it is dark as a whole, and was taken as filled, not as shadow."
        ).format(picture=name, share=significant(100 * picture.ink.filled, 2))
    if picture.ink.steps > _LONG_STEPS:
        yield _(
            "{picture}: sharp edges between light and dark were taken as shadows' and not followed."
            " If a template has them, scan it on a ground that differs more."
        ).format(picture=name)
    if picture.reduced > 1:
        yield _("{picture} is very large: {n} by {n} of its dots were taken as one.").format(
            picture=name, n=picture.reduced
        )
    if picture.head.pages > 1:
        yield _("{picture} holds {n} pages: the first one was traced.").format(
            picture=name, n=picture.head.pages
        )
    if _is_clipped(picture):
        yield _("{picture} is clipped on the canvas, but was traced as a whole.").format(
            picture=name
        )


def doubts_of_shadows(pictures: Sequence[TracedPicture]) -> list[str]:
    """Return what to look at where a filled shape may end at the edge of a shadow upon it."""
    for picture in pictures:
        if picture.ink.steps > _LONG_STEPS and picture.ink.filled > _MUCH_FILLED:
            return [_("whether the edge of a shadow was taken for one of its own")]
    return []


def told_of_edges(
    pictures: Sequence[TracedPicture], error: NothingClosedError
) -> NothingClosedError:
    """Return what is said where nothing closes: of a template that was taken for a shadow, so.

    Args:
        pictures: those that were traced.
        error: what is said of lines.
    """
    for picture in pictures:
        if picture.ink.steps > _LONG_STEPS and picture.ink.share < _HARDLY_INK:
            return NothingClosedError(
                _(
                    "no closed line was found: there are hardly any lines, and the sharp edges "
                    "between light and dark were taken as shadows'."
                ),
                remedy=_(
                    "If they are a template's, scan it in even light on a ground that differs more."
                ),
                thing=name_of(picture.element),
            )
    return error


def _is_clipped(picture: TracedPicture) -> bool:
    around = (picture.element, *picture.element.iterancestors())
    return any(
        element.get(name) or f"{name}:" in (element.get("style") or "").replace(" ", "")
        for element in around
        for name in ("clip-path", "mask")
    )


def picture_report(picture: TracedPicture, mm: float) -> dict[str, Any]:
    """Return what a report says of a picture, ready for JSON.

    Args:
        picture: the picture.
        mm: mm to a unit of the root.
    """
    ink, head = picture.ink, picture.head
    return {
        "object": str(picture.element.get("id") or ""),
        "dots": list(head.size),
        "dpi": list(picture.dpi(mm)),
        "said_dpi": None if head.dpi is None else list(head.dpi),
        "is_photo": head.is_photo,
        "reduced": picture.reduced,
        "inverted": ink.is_inverted,
        "ink_share": ink.share,
        "filled_share": ink.filled,
        "steps": ink.steps,
        "contrast": ink.contrast,
        "noise": ink.noise,
    }
