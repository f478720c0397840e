"""What are the limits of size of this thread.

`thread` reads a designation as the trade writes it; `external_limits` and `internal_limits` give
the limits of the screw and of the hole; `stress_area` the tensile stress area; `names` the
threads that are known by name.
"""
