"""Published values, with their sources, that the functions and the shipped rules are held against.

One table for each topic. Columns that every table has:

work        the publication whose printed value it is, under one name for all its rows (sources are counted by it)
source      where in it, or through whom it was seen
basis       read: seen in a public copy. second-hand: seen as others repeat it. memory: recalled, not seen
value_kind  published: a printed value, may be counted. computed: arithmetic of ours (`recomputed_value`), a
            regression value and no evidence. derived: statistics of published measurements, made here. suspect:
            recalled, but fits nothing. identity: algebra. text, input: no single number to check
published_value, recomputed_value, ...  the numbers, in `unit` or as the column says

`published.py` turns a selection of rows into a test; `python -m tests.reference.count` runs all of them again and
prints how many published values hold, from how many works, on what basis. A row counts once, and only as published.
"""
