"""What a notebook shows: tables, passages, equations and figures, one call each.

No number of a report is typed by hand: it passes from the evaluation through one of these.
"""
