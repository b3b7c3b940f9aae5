"""Are the phone's ways in working order: its page, the to-do list, the export?"""

from pathlib import Path

from curetrack.credentials import Credentials, read_credentials
from curetrack.errors import CuretrackError
from curetrack.phone.caldav.discover import discover
from curetrack.phone.caldav.store import kept
from curetrack.phone.caldav.wire import Account, Wire
from curetrack.service.health import Found
from curetrack.service.served import answers, read_served
from curetrack.shop import Shop

__all__ = ["export_found", "page_found", "todos_found"]

PATIENCE_s = 10.0


def page_found(shop: Shop) -> Found:
    """Whether the page answers, and who may ask. Not needed while nothing is paired with it."""
    paired = sum(device.kind == "phone" for device in shop.devices())
    phones = f"{paired} phone{'' if paired == 1 else 's'} paired"
    served = read_served(shop.home)
    if served is None or not answers(served):
        remedy = "start the bench: curetrack bench --lan" if paired else ""
        return Found("page", not paired, f"not served; {phones}", remedy, needed=False)
    if served.lan:
        return Found(
            "page",
            True,
            f"served at {', '.join(served.others) or f'{served.url}, no network is there just now'}; {phones}",
        )
    text, remedy = f"served at {served.url}, for this machine only; {phones}", ""
    if paired:
        remedy = "for a phone start the bench with --lan"
    return Found("page", True, text, remedy)


def todos_found(home: Path) -> Found:
    """Whether the server of the to-do list lets us in. Nothing is written."""
    known = kept(home)
    if known is None:
        return Found("to-do list", True, "none is connected")
    credentials: Credentials = read_credentials(home)
    wire = Wire(Account(known.url, known.user, credentials.todo_password), timeout_s=PATIENCE_s)
    try:
        discover(wire)
    except CuretrackError as error:
        remedy = "look at the server, or connect it anew: curetrack phone --todos ADDRESS --user NAME"
        return Found("to-do list", False, str(error), remedy)
    finally:
        wire.close()
    return Found("to-do list", True, f"{known.name} answers")


def export_found(folder: str) -> Found:
    """Whether the folder of the export is there."""
    if not folder:
        return Found("export", True, "no folder is named")
    if Path(folder).expanduser().is_dir():
        return Found("export", True, f"kept fresh in {folder} while the bench runs")
    return Found("export", True, f"{folder} is made when the bench runs")
