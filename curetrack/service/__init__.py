"""The bench service: wakes at the right moments, re-times, nudges, and survives sleep, crashes and clock changes."""
