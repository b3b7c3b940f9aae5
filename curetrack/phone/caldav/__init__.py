"""Two-way to-dos on a CalDAV server that the maker already uses (RFC 4791)."""
