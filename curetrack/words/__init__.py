"""Texts for every surface: reasons, warnings, cautions, refusals, moments, amounts, shapes of steps, JSON.

The core gives numbers; words are made here, once, in the maker's zone and units. Voice: imperative for steps, plain
statement for reasons, "looks like" for guesses; two significant digits; no computed time without its band.
"""
