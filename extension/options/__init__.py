"""What a drafter can ask for: the options of every command, and settings as text.

Lengths are texts with a unit until they become the core's millimetres. May import from `document`
and what lies below it.
"""
