"""Which refusals a random case may rightly meet; any other error is a fault and passes through."""

from __future__ import annotations

from typing import NoReturn

from hypothesis import reject

from drafting_core.text.errors import DartError, DraftingError, OutlineError, PlaceError

#: Refusals that say what a random block or place cannot give: their type and words of them.
RIGHTFUL: tuple[tuple[type[DraftingError], str], ...] = (
    # A curved slash line may leave the block, whatever its straight one does.
    (PlaceError, "the slash line from it to the apex"),
    (PlaceError, "meets the cut of the target"),
    # Both underarm seams of a sleeve have that name.
    (PlaceError, "seams are called"),
    # A place so near to the apex that the dart is too short or opens too widely.
    (DartError, "is to be stitched for"),
    (DartError, "would lie over another part of the piece when it is opened"),
    (DartError, "is longer than the dart"),
    # On a doll-size block the strips beside the legs leave nothing between them.
    (DartError, "does not reach the cut line"),
    (DartError, "no smooth seam of that length fits"),
    (DartError, "would cross the outline"),
    # A turned hem needs sides that reach its width.
    (OutlineError, "cannot be turned back"),
    # The apex of another dart may not be seen from a random place.
    (PlaceError, "the straight cut from it to the apex crosses the outline"),
    (DartError, "it cannot be folded"),
    # A seam with a corner where its dart was closed is not to be drawn smooth.
    (DartError, "would be another seam"),
    (DartError, "the smooth seam across the dart"),
)


def is_rightful(error: DraftingError) -> bool:
    """Tell whether a random case may rightly be refused with an error.

    A piece that does not balance, does not fold shut, or whose allowances do not fit is none.
    """
    return any(type(error) is kind and words in str(error) for kind, words in RIGHTFUL)


def no_case(error: DraftingError, *, or_place: str = "") -> NoReturn:
    """Leave a case out that is rightly refused, and let any other error fail the test.

    Args:
        error: what was raised.
        or_place: words of one more refusal of a place that this test's cases may meet.

    Raises:
        DraftingError: the error, if it is none that a random case may rightly meet.
    """
    if is_rightful(error) or (
        or_place and type(error) is PlaceError and or_place in str(error)
    ):
        reject()
    raise error
