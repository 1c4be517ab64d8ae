"""Moving darts and adding allowances: the job on a document, its layer and its report.

Millimetres in, user units out. May import from `finished` and what lies below it.
"""
