"""Seam allowances: one width for every seam, by setting or by the seam's own mark."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import NamedTuple

from drafting_core.model.seam_names import HEM, NECKLINE, Seam, seam_kind
from drafting_core.text.errors import SettingError
from drafting_core.text.lengths import INCH, inches, parse_measure
from drafting_core.text.words import _

#: What is said of an allowance that is turned back on the piece, as a hem is.
TURNED = "turned"
#: Common practice: half an inch on every seam, a quarter on the neckline, a hem that is turned up.
DEFAULT_ALLOWANCE_TEXT = "1/2in, neckline=1/4in, hem=1 1/2in turned"  # not read by drafters


class Allowances(NamedTuple):
    """The widths of the seam allowances, in mm.

    Attributes:
        default: the width of every seam that is not named here.
        by_seam: widths by the trade's name of the seam (see `seam_kind`).
        turned: the names of `by_seam` whose allowance is turned back on the piece.
    """

    default: float = INCH / 2
    by_seam: Mapping[str, float] = MappingProxyType({NECKLINE: INCH / 4, HEM: inches(1.5)})
    turned: frozenset[str] = frozenset({HEM})

    @classmethod
    def parse(cls, text: str, bare_unit: str = "mm", base: Allowances | None = None) -> Allowances:
        """Read a setting like ``1/2in, neckline=1/4in, hem=40mm turned``.

        A width without a name is that of every seam that the text does not name. Where the text
        gives none, theirs stay as in ``base``.

        Args:
            text: the setting.
            bare_unit: the unit of a bare number.
            base: the widths that a result was made with, or None for the usual ones.

        Raises:
            SettingError: if a part of it is no width.
        """
        default: float | None = None
        by_seam: dict[str, float] = {}
        turned: set[str] = set()
        for part in re.split(r";|(?<!\d),|,(?!\d)", text):
            if not part.strip():
                continue
            name, equals, width = part.rpartition("=")
            words = width.split()
            is_turned = bool(words) and words[-1].casefold() == TURNED
            if is_turned:
                width = " ".join(words[:-1])
            length = parse_measure(width, _("The seam allowance"), bare_unit)
            if not equals:
                if is_turned:
                    raise SettingError(
                        _('"{text}" would turn back every seam.').format(text=part.strip()),
                        thing=_("The seam allowance"),
                        remedy=_('Name the seam that is turned, as in "12mm, hem=40mm turned".'),
                    )
                if default is not None:
                    raise SettingError(
                        _('two widths for the seams without a name: "{text}".').format(text=text),
                        thing=_("The seam allowance"),
                        remedy=_('Name the seam of one of them, as in "12mm, hem=30mm".'),
                    )
                default = length
            elif seam_kind(name):
                by_seam[seam_kind(name)] = length
                (turned.add if is_turned else turned.discard)(seam_kind(name))
            else:
                raise SettingError(
                    _('"{text}" names no seam.').format(text=part.strip()),
                    thing=_("The seam allowance"),
                    remedy=_('Write it like "1/2in, neckline=1/4in".'),
                )
        if default is None:
            base = base or cls()
            turned |= base.turned - set(by_seam)
            return cls(base.default, {**base.by_seam, **by_seam}, frozenset(turned))
        return cls(default, by_seam, frozenset(turned))

    def width(self, seam: Seam) -> float:
        """Return the width in mm for a seam: 0 on a fold, else its own, else the setting's."""
        if seam.fold:
            return 0.0
        if seam.allowance is not None:
            return seam.allowance
        return self.by_seam.get(seam.kind, self.default)

    def is_turned(self, seam: Seam) -> bool:
        """Tell whether a seam's allowance is turned back on the piece: never on a fold."""
        return not seam.fold and (seam.turned or seam.kind in self.turned)

    def unused(self, seams: Iterable[Seam]) -> list[str]:
        """Return the seam names of the setting that the block does not have.

        Names that are there by default are left out: the drafter did not write them.
        """
        kinds = {seam.kind for seam in seams}
        usual = Allowances()
        return [
            name
            for name in self.by_seam
            if name not in kinds and name != NECKLINE and self._of(name) != usual._of(name)
        ]

    def unnamed_hems(self, seams: Iterable[Seam]) -> list[Seam]:
        """Return the hems that get the width of the seams without a name, each once."""
        return [
            seam
            for seam in dict.fromkeys(seams)
            if seam.kind == HEM
            and not seam.fold
            and seam.allowance is None
            and HEM not in self.by_seam
        ]

    def __str__(self) -> str:
        """Return the setting as text that `parse` reads back, exact to the last bit."""
        parts = [f"{self.default!r}mm"]
        parts += [f"{name}={width!r}mm{self._word(name)}" for name, width in self.by_seam.items()]
        return ", ".join(parts)

    def _of(self, name: str) -> tuple[float | None, bool]:
        return self.by_seam.get(name), name in self.turned

    def _word(self, name: str) -> str:
        return f" {TURNED}" if name in self.turned else ""
