"""What the places of a comparison are called: "Side seam, a third of the way down"."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from drafting_core.block.places import Target
from drafting_core.block.seam_place import ALONG, CENTRE, UPPER, SeamPlace
from drafting_core.text.lengths import typed_in_words
from drafting_core.text.words import N_, _, capital

#: A place so near to a part of the seam is called by it (of the seam's length).
_NEAR = 0.02
#: The parts of a seam that have words, by the end from which it is measured.
_PARTS = {
    UPPER: {
        1 / 4: N_("{seam}, a quarter of the way down"),
        1 / 3: N_("{seam}, a third of the way down"),
        1 / 2: N_("{seam}, halfway down"),
        2 / 3: N_("{seam}, two thirds of the way down"),
        3 / 4: N_("{seam}, three quarters of the way down"),
    },
    CENTRE: {
        1 / 4: N_("{seam}, a quarter of the way from the centre"),
        1 / 3: N_("{seam}, a third of the way from the centre"),
        1 / 2: N_("{seam}, halfway from the centre"),
        2 / 3: N_("{seam}, two thirds of the way from the centre"),
        3 / 4: N_("{seam}, three quarters of the way from the centre"),
    },
    ALONG: {
        1 / 4: N_("{seam}, a quarter of the way along"),
        1 / 3: N_("{seam}, a third of the way along"),
        1 / 2: N_("{seam}, halfway along"),
        2 / 3: N_("{seam}, two thirds of the way along"),
        3 / 4: N_("{seam}, three quarters of the way along"),
    },
}
_SHARES = {
    UPPER: N_("{seam}, {share} % of the way down"),
    CENTRE: N_("{seam}, {share} % of the way from the centre"),
    ALONG: N_("{seam}, {share} % of the way along"),
}
_LENGTHS = {
    UPPER: N_("{seam}, {length} down"),
    CENTRE: N_("{seam}, {length} from the centre"),
    ALONG: N_("{seam}, {length} along"),
}


def place_titles(places: Sequence[SeamPlace], targets: Sequence[Target]) -> list[str]:
    """Return a title for each place: in words, by per cent where two would have the same words.

    Args:
        places: where each target came to lie.
        targets: the targets, which are named where nothing else tells two places apart.
    """
    titles = [_in_words(place) for place in places]
    alike = Counter(titles)
    titles = [
        _by_share(place) if alike[title] > 1 else title
        for title, place in zip(titles, places, strict=True)
    ]
    alike = Counter(titles)
    return [
        _("{seam}, at {mark}").format(seam=title, mark=target.place or target.thing)
        if alike[title] > 1
        else title
        for title, target in zip(titles, targets, strict=True)
    ]


def _in_words(place: SeamPlace) -> str:
    seam = capital(place.seams[0].shown)
    if place.is_mouth and place.fraction is not None:
        return _("{seam}, where the dart is").format(seam=seam)
    if place.fraction is None:
        return _corner(place)
    if place.length:
        return _(_LENGTHS[place.measured_from]).format(
            seam=seam, length=typed_in_words(place.length)
        )
    for part, text in _PARTS[place.measured_from].items():
        if abs(place.fraction - part) <= _NEAR:
            return _(text).format(seam=seam)
    return _by_share(place)


def _corner(place: SeamPlace) -> str:
    if place.is_neckline_tip:
        return _("Neckline tip")
    first, second = (seam.shown for seam in place.seams)
    return _("Corner of {one} and {other}").format(one=first, other=second)


def _by_share(place: SeamPlace) -> str:
    if place.fraction is None:
        return _corner(place)
    share = f"{100.0 * place.fraction:.1f}".removesuffix(".0")
    return _(_SHARES[place.measured_from]).format(seam=capital(place.seams[0].shown), share=share)
