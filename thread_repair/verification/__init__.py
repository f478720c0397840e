"""Why believe the numbers: every printed value, exact solution and certified bound held again.

`checks` compares what documents print with what the package computes; `collapse_bounds` the area
formula with certified bounds, `exact` the solvers with closed forms; `verify` is the whole record.
"""
