"""The trade's names of seams, however the drafter spells them."""

from __future__ import annotations

import re
from typing import NamedTuple

from drafting_core.text.words import N_, _

NECKLINE = N_("neckline")
SHOULDER = N_("shoulder")
ARMHOLE = N_("armhole")
SIDE_SEAM = N_("side seam")
WAIST = N_("waist")
HEM = N_("hem")
CENTRE_FRONT = N_("centre front")
CENTRE_BACK = N_("centre back")
UNDERARM_SEAM = N_("underarm seam")
CAP = N_("cap")
WRIST = N_("wrist")
CROTCH_SEAM = N_("crotch seam")
INSEAM = N_("inseam")
#: The seam that a style line without a name of its own becomes.
STYLE_LINE = N_("style line")

#: Every seam that a rule of the trade speaks of, from the top of a piece down.
SEAMS_IN_ORDER = (
    NECKLINE,
    SHOULDER,
    ARMHOLE,
    SIDE_SEAM,
    WAIST,
    HEM,
    CENTRE_FRONT,
    CENTRE_BACK,
    UNDERARM_SEAM,
    CAP,
    WRIST,
    CROTCH_SEAM,
    INSEAM,
)
KNOWN_SEAMS = frozenset(SEAMS_IN_ORDER)
CENTRE_SEAMS = frozenset({CENTRE_FRONT, CENTRE_BACK})

#: The seams with their article, as they stand in a sentence.
_IN_A_SENTENCE = {
    NECKLINE: N_("the neckline"),
    SHOULDER: N_("the shoulder"),
    ARMHOLE: N_("the armhole"),
    SIDE_SEAM: N_("the side seam"),
    WAIST: N_("the waist"),
    HEM: N_("the hem"),
    CENTRE_FRONT: N_("the centre front"),
    CENTRE_BACK: N_("the centre back"),
    UNDERARM_SEAM: N_("the underarm seam"),
    CAP: N_("the cap"),
    WRIST: N_("the wrist"),
    CROTCH_SEAM: N_("the crotch seam"),
    INSEAM: N_("the inseam"),
    STYLE_LINE: N_("the style line"),
}

_SYNONYMS = {
    "cf": CENTRE_FRONT,
    "cb": CENTRE_BACK,
    "neck": NECKLINE,
    "armscye": ARMHOLE,
    "side": SIDE_SEAM,
    "elbow": UNDERARM_SEAM,
    "underarm": UNDERARM_SEAM,
    "waistline": WAIST,
    "hemline": HEM,
    "sleeve cap": CAP,  # not read by drafters
    "crotch": CROTCH_SEAM,
    "rise": CROTCH_SEAM,
    "seat seam": CROTCH_SEAM,  # not read by drafters
    # As the catalogues have them, whatever the editor's language is: a German or Spanish drafter
    # names her seams in her own words, and a drawing means the same everywhere.
    "halsausschnitt": NECKLINE,
    "schulter": SHOULDER,
    "armloch": ARMHOLE,
    "seitennaht": SIDE_SEAM,
    "taille": WAIST,
    "saum": HEM,
    "vordere mitte": CENTRE_FRONT,  # not read by drafters
    "hintere mitte": CENTRE_BACK,  # not read by drafters
    "ärmelnaht": UNDERARM_SEAM,
    "armkugel": CAP,
    "ärmelsaum": WRIST,
    "schrittnaht": CROTCH_SEAM,
    "innere beinnaht": INSEAM,  # not read by drafters
    "escote": NECKLINE,
    "hombro": SHOULDER,
    "sisa": ARMHOLE,
    "costura lateral": SIDE_SEAM,  # not read by drafters
    "cintura": WAIST,
    "bajo": HEM,
    "centro delantero": CENTRE_FRONT,  # not read by drafters
    "centro de la espalda": CENTRE_BACK,  # not read by drafters
    "costura de la manga": UNDERARM_SEAM,  # not read by drafters
    "copa de la manga": CAP,  # not read by drafters
    "puño": WRIST,
    "costura de tiro": CROTCH_SEAM,  # not read by drafters
    "entrepierna": INSEAM,
}


class SeamLabel(NamedTuple):
    """What a drafter says of a seam.

    Attributes:
        name: the seam's name in her own spelling, or an empty string.
        allowance: the width of its seam allowance in mm, or None where the settings decide.
        fold: whether it lies on the fold of the cloth.
        turned: whether its allowance is turned back on the piece, as a hem or a facing is.
        mate: the name that it shares with the seam it is sewn to, or an empty string.
        ease: by how many mm it is wanted longer than its mate; None where nothing is said.
    """

    name: str
    allowance: float | None = None
    fold: bool = False
    turned: bool = False
    mate: str = ""
    ease: float | None = None


class Seam:
    """One seam of an outline; two seams are the same only if they are the same object.

    Attributes:
        name: the name to show: the drafter's own spelling, a guessed name, or "seam 1".
        kind: the trade's name (see `seam_kind`), the same for every spelling.
        allowance: the width in mm that the drafter gave this seam, or None.
        fold: whether it lies on the fold of the cloth.
        named: whether the drafter named it.
        turned: whether its allowance is turned back on the piece.
        mate: the name that it shares with the seam it is sewn to, or an empty string.
        ease: by how many mm it is wanted longer than its mate; None where nothing is said.
    """

    __slots__ = ("allowance", "ease", "fold", "kind", "mate", "name", "named", "turned")

    def __init__(
        self,
        name: str,
        kind: str,
        allowance: float | None = None,
        fold: bool = False,
        named: bool = False,
        turned: bool = False,
        mate: str = "",
        ease: float | None = None,
    ) -> None:
        """Take what is said of the seam; it does not change any more."""
        self.name, self.kind, self.allowance, self.fold = name, kind, allowance, fold
        self.named, self.turned, self.mate, self.ease = named, turned, mate, ease

    def without_mate(self) -> Seam:
        """Return another seam that is the same but for its mate."""
        return Seam(self.name, self.kind, self.allowance, self.fold, self.named, self.turned)

    def off_fold(self) -> Seam:
        """Return another seam that is the same, but does not lie on the fold of the cloth."""
        return Seam(
            self.name, self.kind, self.allowance, False, self.named, self.turned, self.mate,
            self.ease,
        )  # fmt: skip

    def called(self, name: str) -> Seam:
        """Return another seam that is the same, but has a name of the trade."""
        return Seam(
            name, name, self.allowance, self.fold, self.named, self.turned, self.mate, self.ease
        )

    @property
    def spoken(self) -> str:
        """The name in a sentence, in the drafter's language: "the waist", but "seam 1"."""
        return spoken_name(self.name)

    @property
    def shown(self) -> str:
        """The name in a list or as a heading, in the drafter's language: "waist", "seam 1"."""
        return shown_seam_name(self.name)

    @property
    def is_centre(self) -> bool:
        """Whether the seam is the centre of the garment: by name, or on the fold."""
        return self.kind in CENTRE_SEAMS or self.fold

    @property
    def counts_as_centre(self) -> bool:
        """Whether darts are folded toward it and seams measured from it: on trousers the crotch.

        The crotch seam is no centre for the grain, nor for the part that stays put.
        """
        return self.is_centre or self.kind == CROTCH_SEAM

    @property
    def is_known(self) -> bool:
        """Whether rules of the trade speak of this seam."""
        return self.kind in KNOWN_SEAMS


def spoken_name(name: str) -> str:
    """Return a seam's name in a sentence, in the drafter's language: "the waist", but "seam 1"."""
    known = _IN_A_SENTENCE.get(name.casefold())
    if known is not None and (told := _(known)) != known:
        return told
    if name.casefold().startswith("seam "):
        return shown_seam_name(name)
    # Where nothing is translated she reads her own spelling.
    return _("the {name}").format(name=name)


def shown_seam_name(name: str) -> str:
    """Return a seam's name in the drafter's language; what she named herself stays as it is."""
    known = name.casefold()
    if known in _IN_A_SENTENCE and (told := _(known)) != known:
        return told
    numbered, _blank, number = name.partition(" ")
    if numbered == "seam" and number.isdecimal():
        return _("seam {number}").format(number=number)
    return name


def seam_name(number: int) -> str:
    """Return the name of a seam that has none: as it is written, in no one's language."""
    return f"seam {number}"  # not read by drafters


def seam_kind(name: str) -> str:
    """Return the trade's name for any spelling of it; an unknown name in small letters."""
    words = name.strip().casefold()
    if words in KNOWN_SEAMS:
        return words
    words = re.sub(r"[\s_\-]+", " ", words).replace("center", "centre")
    for candidate in (words, words.removesuffix(" seam"), words.removesuffix(" line")):
        if candidate in KNOWN_SEAMS:
            return candidate
        if candidate in _SYNONYMS:
            return _SYNONYMS[candidate]
    return words
