"""The dashboard at the bench: a terminal screen to be read from two metres and worked with one key at a time."""
