"""How deep the tests go: quick as they are asked for, all of them with ``--thorough``.

A test that takes long is marked ``@pytest.mark.thorough`` and left out of the quick run; a test
that tries many examples tries fewer there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import settings

#: How many examples a test tries that names no number: hypothesis' own, and about an eighth.
THOROUGH_EXAMPLES, QUICK_EXAMPLES = 100, 13
#: As few as this say little of a whole family of drawings, fewer say nothing.
FEWEST_EXAMPLES = 5


def examples(thorough: int) -> int:
    """Return how many examples a test tries in this run that tries so many in a thorough one."""
    scaled = math.ceil(thorough * settings().max_examples / THOROUGH_EXAMPLES)
    return min(thorough, max(FEWEST_EXAMPLES, scaled))


def some_quick(values: Sequence[Any], quick: int) -> list[Any]:
    """Return values to parametrise a test with, most of them for the thorough run alone.

    Args:
        values: the values, single ones or ``pytest.param``; a tuple has one for each of several
            arguments.
        quick: how many stay in the quick run: spread evenly, the first one among them.
    """
    kept = {len(values) * number // quick for number in range(quick)}
    return [value if number in kept else _thorough(value) for number, value in enumerate(values)]


def _thorough(value: Any) -> Any:
    mark = pytest.mark.thorough
    if isinstance(value, type(pytest.param())):
        return pytest.param(*value.values, id=value.id, marks=[*value.marks, mark])
    return pytest.param(*(value if isinstance(value, tuple) else (value,)), marks=mark)
