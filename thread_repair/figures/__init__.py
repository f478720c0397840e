"""Every picture: one function, one figure, data in, `matplotlib.figure.Figure` out.

pyplot is not used, so that no figure outlives its report or depends on another.
"""
