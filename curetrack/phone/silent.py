"""What to do when the phone stays silent: which ways ring, and which cannot. Plain words, nothing computed."""

from curetrack.phone.shell import Markup, page

__all__ = ["silent_page"]

WAYS: tuple[tuple[str, str, str], ...] = (
    (
        "This page",
        "It shows and ticks. It is live while it is open, and it never rings once it is closed: a browser lets no page "
        "from a private network do that.",
        "",
    ),
    (
        "The to-do list",
        "Rings by itself, takes ticks, and does both while the bench is off: the phone keeps its own copy. It needs a "
        "CalDAV server that you use already, and the phone's own app for to-dos.",
        "curetrack phone --todos https://your.server/",
    ),
    (
        "The calendar feed",
        "Leaves a copy of all steps in the phone's calendar. Two things it cannot do: phones ask for a subscribed "
        "calendar only every few hours, some once a day, so a step that has moved is shown late; and many drop the "
        "alarms of a subscribed calendar, or ask for leave first. Look for a switch like “keep alarms” when you "
        "subscribe. Do not rely on it for a hold.",
        "curetrack phone --feed",
    ),
    (
        "The folder",
        "The calendar and the list as files, for any file sync that you use. A file does not ring; imported into a "
        "calendar it does, but it no longer moves.",
        "curetrack shop --set export_folder=FOLDER",
    ),
    (
        "Mail or a web hook",
        "The bench's own nudges, if it runs and has a network. A nudge for a hold goes out by two channels.",
        "curetrack shop --help",
    ),
)
LOOK = (
    "Is the bench running? At the bench: curetrack selfcheck. It tries every channel and says what to mend.",
    "Does the phone let the app ring? Look at its settings for notifications, focus and battery saving.",
    "Is the to-do list's last sync recent? At the bench: curetrack phone --sync.",
    "Quiet hours keep back all that would not ruin a piece.",
)


def silent_page() -> Markup:
    """The page."""
    ways = "".join(
        f"<h2>{name}</h2><p>{text}</p>" + (f"<p>At the bench: {_unbroken(command)}</p>" if command else "")
        for name, text, command in WAYS
    )
    look = "".join(f"<li>{text}</li>" for text in LOOK)
    return page(
        "If the phone stays silent",
        '<header><a class="row" href="/">&larr; What comes next</a></header><main class="plain">'
        f'<h1>If the phone stays silent</h1>{ways}<h2>Where to look</h2><ul class="look">{look}</ul></main>',
        scripted=False,
    )


def _unbroken(command: str) -> Markup:
    """A command, which a narrow page may break between its words only."""
    return "<b>" + " ".join(f'<span class="word">{word}</span>' for word in command.split()) + "</b>"
