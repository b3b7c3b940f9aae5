"""Nudges: which are due (pure), what they say, and the channels that carry them."""
