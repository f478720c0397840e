"""How is the load shared along the threads, and does the parent stretch enough to share it.

`distribution.share` answers for one state of a joint; the parts below it stand alone: the
compliance of a thread, the discrete chain, its closed forms, and what others have published.
"""
