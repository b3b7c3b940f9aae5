"""The dashboard's few colours: calm for waiting, one accent for now, one for too soon and too late. Nothing rests on
them: each is said by a word or a shape as well.
"""

__all__ = ["STYLES"]

STYLES: dict[str, str] = {
    "calm": "",
    "title": "bold",
    "now": "bold cyan",
    "alarm": "bold bright_red",
    "where": "yellow",
    "dim": "dim",
    "careful": "italic yellow",
    "chosen": "bold reverse",
    "night": "dim",
    "band": "green",
    "past": "bold",
    "key": "bold",
}
