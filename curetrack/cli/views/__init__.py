"""Screens: plain data in, rows out. No physics, no store."""
