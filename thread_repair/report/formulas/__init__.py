"""The equations of a study: each as signs and with the numbers that the study has.

The forms stand in `data/equations.toml`; here stands which of them a study uses and where each
number comes from. The number that an equation ends with is the study's own, never worked out anew,
so that it cannot differ from what the tables print.
"""
