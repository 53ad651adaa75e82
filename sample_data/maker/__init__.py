"""Makes the invented household of the sample: weather, pipes, people, what happened, what was written down.

Nothing here is taken from ``core``: the formulas and constants are its own, so that the book's arithmetic is
tried on a world it did not make. Run ``make_household.py`` beside this folder.
"""
