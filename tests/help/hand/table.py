"""What a hand changes of a result, and what has to become of it: all rows."""

from __future__ import annotations

from tests.help.hand.row import Row
from tests.help.hand.rows_of_the_layer import rows_of_the_layer
from tests.help.hand.rows_of_the_line import rows_of_the_line
from tests.help.hand.rows_of_the_marks import rows_of_the_marks
from tests.help.hand.rows_of_the_words import rows_of_the_words


def rows() -> list[Row]:
    """Return the whole table."""
    return [
        *rows_of_the_line(),
        *rows_of_the_layer(),
        *rows_of_the_words(),
        *rows_of_the_marks(),
    ]
