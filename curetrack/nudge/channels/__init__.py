"""The channels: each a small class behind one protocol (base.py)."""
