"""Case and notebook to checked files on disk, all or nothing.

It imports nothing, so that `kernel` can begin before all else.
"""
