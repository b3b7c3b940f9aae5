"""curetrack: from the pour to the last coat, on real temperatures."""

__all__ = ["__version__"]

__version__ = "0.1.0"
