"""Rillbook's core: the book, the water equations, the meter accounts and the month's review.

Nothing in here knows a screen. Arrows run one way:
``units, figures, days, notation <- water <- accounts <- review <- cli, dashboard`` and
``book <- care, exchange, review``.
"""
