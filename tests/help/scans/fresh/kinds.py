"""The kinds of fresh scans, in their order: a seed's kind is told by its remainder."""

from __future__ import annotations

import random
from collections.abc import Callable

from tests.help.scans.fresh.allowance_kinds import allowance
from tests.help.scans.fresh.broken_kinds import broken, dashed
from tests.help.scans.fresh.dart_kinds import dart_lines, dart_points
from tests.help.scans.fresh.inner_kinds import inner_lines
from tests.help.scans.fresh.lens_kinds import lens_photo
from tests.help.scans.fresh.mixed_kinds import mixed
from tests.help.scans.fresh.plain_kinds import plain
from tests.help.scans.fresh.sheets import Sheet
from tests.help.scans.fresh.size_kinds import sizes
from tests.help.scans.fresh.template_kinds import hand_set, templates

KINDS: dict[str, Callable[[random.Random], Sheet]] = {
    "plain": plain,
    "allowance": allowance,
    "dart-lines": dart_lines,
    "inner-lines": inner_lines,
    "sizes": sizes,
    "dashed": dashed,
    "dart-points": dart_points,
    "broken": broken,
    "lens": lens_photo,
    "templates": templates,
    "hand-set": hand_set,
    "mixed": mixed,
}
#: The kind that is told apart from the rest where shares are counted.
APART = "lens"
