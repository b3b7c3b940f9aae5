"""Text from a profile, a piece's name or a note is untrusted: it is shown, never obeyed."""

__all__ = ["clean"]

_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}  # control, format (also right-to-left marks), unassigned


def clean(text: str) -> str:
    """The same text on one line, without anything that could steer a terminal or hide what is written."""
    if text.isascii() and text.isprintable():
        return text
    from unicodedata import category  # a large table, and most text does without

    shown = "".join(" " if ch.isspace() else "" if category(ch) in _HIDDEN else ch for ch in text)
    return " ".join(shown.split())
