"""How things are drawn: strokes, the one measure of text, free places for texts.

Millimetres on paper. May import from `options` and what lies below it.
"""
