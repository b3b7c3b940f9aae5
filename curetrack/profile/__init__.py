"""What a profile may say, reading it from TOML, checking it, and laying it out for one shape."""
