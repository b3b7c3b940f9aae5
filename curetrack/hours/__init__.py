"""When people can work: what the maker writes (text.py), expanded to instants (expand.py), as windows (windows.py)."""
