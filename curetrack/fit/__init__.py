"""A mix of one's own: from a small table of broken specimens to a profile that has grown from it.

table      the table's text -> breaks, or every fault of it
ages       breaks and temperatures -> equivalent ages
mix        breaks -> the fitted law, what limits it, and what it means for a profile's steps
document   a base profile and the fit -> the document of a new one
"""
