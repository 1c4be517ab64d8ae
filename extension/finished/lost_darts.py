"""A dart of a result that is no longer found, since its stitch line was reshaped by hand."""

from __future__ import annotations

import math

from drafting_core.finished.pattern_piece import Draft
from drafting_core.text.errors import DartError
from drafting_core.text.lengths import place_in_words
from drafting_core.text.words import _
from extension.document.roles import drawn_by_us, our_attributes
from extension.document.shapes import centre_of
from extension.reading.source_block import SourceBlock


def check_no_dart_lost(source: SourceBlock, result: Draft) -> None:
    """Refuse to finish a result of which a dart is no longer found.

    Raises:
        DartError: naming the place of the first dart that is missing.
    """
    if source.layer is None:
        return
    unit = source.true_mm_per_unit
    points = [
        centre_of(element) * unit
        for element in source.layer.iter()
        if isinstance(element.tag, str)
        and our_attributes(element).get("part") == "dart-point"
        and drawn_by_us(element)
    ]
    if len(points) <= len(result.darts):
        return
    found = [item.dart.point for item in result.darts]
    lost = max(points, key=lambda z: min((abs(z - other) for other in found), default=math.inf))
    raise DartError(
        _("the dart with its point near {place} is no longer two straight, equal legs.").format(
            place=place_in_words(lost)
        ),
        remedy=_(
            "Straighten its legs with the node tool; or, if the dart is to go, delete its "
            '"dart point" from the layer first.'
        ),
        place=lost,
    )
