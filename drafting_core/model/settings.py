"""The settings of a run: what the drafter chooses beside the marks in her drawing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

from drafting_core.model.allowances import Allowances
from drafting_core.model.piece import DART, MADE_AS
from drafting_core.text.errors import SettingError
from drafting_core.text.figures import significant
from drafting_core.text.lengths import INCH, least_in_words, told_apart, told_exactly
from drafting_core.text.words import N_, _

#: Less than this beside a leg frays away and cannot be finished (mm).
LEAST_TRIM_ALLOWANCE = 3.0

CLOTHS = ("woven", "fine", "sheer", "knit")
FOLDS = ("auto", "centre", "down", "up", "side")
EXCESSES = ("auto", "keep", "trim")
#: What fills the piece: nothing, or what fills the block.
FILLS = ("none", "as-drawn")
#: A blended seam keeps its sewn length within this (mm).
LENGTH_KEPT = 0.5
#: Into less of a seam than this nothing can be gathered or eased (mm).
SHORTEST_STRETCH = 10.0


class _Chosen(NamedTuple):
    """What `Settings` says, not yet checked."""

    share: float = 1.0
    clearance: float | None = None
    cloth: str = "woven"
    fold: str = "auto"
    excess: str = "auto"
    trim_allowance: float = INCH / 2
    wide: float = 75.0
    allowances: Allowances = Allowances()
    drill_hole: float = INCH / 2
    intake: float | None = None
    made: str = DART
    ease_limit: float = 12.0
    tuck_length: float = 50.0
    gather_over: float = 100.0
    blend: float = 0.0
    true_mouth: bool = False
    even_legs: bool = False
    drawn_short: float | None = None
    artwork: bool = False
    fill: str = FILLS[0]


class Settings(_Chosen):
    """How a dart is moved and finished. Lengths in mm.

    Attributes:
        share: the part of the dart that is moved, above 0 and at most 1.
        clearance: from the apex to the finished dart point; None for the default of the kind
            of piece.
        cloth: one of `CLOTHS`.
        fold: one of `FOLDS`.
        excess: one of `EXCESSES`.
        trim_allowance: what a trimmed dart keeps beside each leg, 3 mm or more.
        wide: the intake beyond which a kept dart would be too bulky.
        allowances: the widths of the seam allowances.
        drill_hole: how far short of the dart point the drill hole is.
        intake: the width that the mouth at a target is to have, instead of a share; or None.
        made: what becomes of an opening whose target does not say: one of `MADE_AS`.
        ease_limit: the most that can be eased into a seam.
        tuck_length: how far a tuck is stitched from the seam.
        gather_over: over what length of the sewn seam gathers or ease are spread.
        blend: the length over which a seam is drawn smooth where a dart was closed; 0 leaves it
            exact.
        true_mouth: whether the seam is drawn smooth across the mouths of darts that were moved.
        even_legs: whether mouth ends that are not equally far from the apex are made so.
        drawn_short: by how much the point of a front's dart was drawn short of the apex; None
            where the drafter does not say.
        artwork: whether what else is drawn on the block comes along.
        fill: one of `FILLS`.

    Raises:
        SettingError: if a value is out of its range.
    """

    __slots__ = ()

    if not TYPE_CHECKING:
        # Of what is given the types are those of the fields.
        def __new__(cls, *args: Any, **values: Any) -> Settings:
            """Check the ranges."""
            settings = super().__new__(cls, *args, **values)
            settings._check()
            return settings

    def but(self, **values: Any) -> Settings:
        """Return the same settings with some of them otherwise, checked.

        Raises:
            SettingError: if a value is out of its range.
        """
        return Settings(**{**self._asdict(), **values})

    def _check(self) -> None:
        for what, value, choices in (
            (N_("The cloth"), self.cloth, CLOTHS),
            (N_("The fold"), self.fold, FOLDS),
            (N_("The excess"), self.excess, EXCESSES),
            (N_("What becomes of the opening"), self.made, MADE_AS),
            (N_("The fill of the piece"), self.fill, FILLS),
        ):
            if value not in choices:
                raise SettingError(
                    _('"{text}" is not known.').format(text=value),
                    thing=_(what),
                    remedy=_("Use one of {choices}.").format(choices=", ".join(choices)),
                )
        if not (math.isfinite(self.share) and 0.0 < self.share <= 1.0):
            raise SettingError(
                _("{number} is out of range.").format(number=significant(self.share, 6)),
                thing=_("The share"),
                remedy=_("Use a number above 0 and at most 1."),
            )
        for what, length in (
            (N_("The clearance"), self.clearance),
            (N_("The trim allowance"), self.trim_allowance),
            (N_("The width of a wide dart"), self.wide),
            (N_("The drill hole's distance"), self.drill_hole),
            (N_("The intake"), self.intake),
            (N_("The limit of ease"), self.ease_limit),
            (N_("The length of a tuck"), self.tuck_length),
            (N_("The length to gather over"), self.gather_over),
            (N_("The blended length"), self.blend),
            (N_("What the dart was drawn short"), self.drawn_short),
        ):
            if length is not None and not (math.isfinite(length) and length >= 0.0):
                raise SettingError(
                    _("{length} is out of range.").format(length=told_exactly(length, 6)),
                    thing=_(what),
                    remedy=_("Use a length of 0 or more."),
                )
        if self.trim_allowance < LEAST_TRIM_ALLOWANCE:
            width, _least = told_apart(self.trim_allowance, LEAST_TRIM_ALLOWANCE)
            raise SettingError(
                _("{length} is too narrow: beside a leg it would fray away.").format(length=width),
                thing=_("The trim allowance"),
                remedy=_("Use {least} or more, or keep the excess.").format(
                    least=least_in_words(LEAST_TRIM_ALLOWANCE)
                ),
            )
        if self.gather_over < SHORTEST_STRETCH:
            raise SettingError(
                _("{length} is out of range.").format(length=told_exactly(self.gather_over, 6)),
                thing=_("The length to gather over"),
                remedy=_("Use a length of {least} or more.").format(
                    least=least_in_words(SHORTEST_STRETCH)
                ),
            )
