"""Pages of the editor: drawing on them in millimetres, their PDF, the picture of a piece.

Millimetres on paper. May import from `reading` and what lies below it.
"""
