"""A list of to-dos on a server: what is on it, and conditional writes. Nothing is ever written over a version that was
not read before. What has changed is asked for by collection sync (RFC 6578), or by all etags where a server has none.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, tzinfo
from urllib.parse import quote, urljoin

from curetrack.phone.caldav import xml
from curetrack.phone.caldav.decide import href_of
from curetrack.phone.caldav.sync import Conflict, NotTaken
from curetrack.phone.caldav.todo import read_todo, todo_text
from curetrack.phone.caldav.types import Delete, Put, Theirs
from curetrack.phone.caldav.wire import Reply, ServerTrouble, Wire, path_of

__all__ = ["TodoList"]

TOGETHER = 100  # to-dos in one request
PARTS_AT_MOST = 1000  # of an answer that a server gives in parts
_CALENDAR = {"Content-Type": "text/calendar; charset=utf-8"}


class TodoList:
    """The list at an address that ends with a slash. What was read is kept, so that a look costs one small request.

    `zone` is the shop's; `now` the clock for the time stamps of what we write.
    """

    def __init__(self, wire: Wire, url: str, zone: tzinfo, now: Callable[[], datetime]) -> None:
        self._wire, self._url, self._zone, self._now = wire, urljoin(wire.address, url), zone, now
        self._path = path_of(self._url)
        self._items: dict[str, Theirs | None] = {}  # by path; None: something else than a to-do
        self._etags: dict[str, str] = {}
        self._written: set[str] = set()  # paths, since the last look
        self._token = ""
        self._syncs = True

    def listed(self) -> Mapping[str, Theirs]:
        """All its to-dos by uid. Of two with one uid, that under the name we give, else the first by name."""
        self._look()
        found: dict[str, Theirs] = {}
        for path in sorted(self._items):
            item = self._items[path]
            if item is not None and (item.uid not in found or path == self._path + href_of(item.uid)):
                found[item.uid] = item
        return found

    def put(self, put: Put) -> str:
        """Writes a new one, or over just that version; its etag, "" where the server does not tell. Raises Conflict,
        NotTaken, ServerTrouble."""
        path, raw = self._place(put.href), todo_text(put, self._now())
        condition = {"If-Match": put.over.etag} if put.over is not None else {"If-None-Match": "*"}
        reply = self._wire.ask("PUT", self._at(path), raw, {**_CALENDAR, **condition})
        self._check(reply)
        etag = _etag(reply.headers.get("etag", ""))
        if etag:  # then it is stored as it was sent (RFC 4791, 5.3.4)
            self._learn(path, raw, etag)
        self._written.add(path)
        return etag

    def delete(self, delete: Delete) -> None:
        """Deletes just that version. Raises Conflict, NotTaken, ServerTrouble."""
        path = self._place(delete.over.href)
        self._check(self._wire.ask("DELETE", self._at(path), headers={"If-Match": delete.over.etag}))
        self._forget(path)

    def _check(self, reply: Reply) -> None:
        """412: another version is there; 409: the uid is there already; 404 and 410: it is gone; 423: somebody else is
        writing it just now."""
        if reply.status in (404, 409, 410, 412, 423):
            raise Conflict
        if not 200 <= reply.status < 300:
            raise NotTaken(f"{self._url} did not take a to-do (answer {reply.status})")

    # --- reading ---------------------------------------------------------------------------------------------------

    def _look(self) -> None:
        changed = self._changes() if self._syncs else None
        if changed is None:
            changed = self._all()
        self._fetch([path for path, etag in changed.items() if self._etags.get(path) != etag])

    def _changes(self) -> dict[str, str] | None:
        """What has changed since the last look, with its etag; what is gone is forgotten. None: it cannot say."""
        changed: dict[str, str] = {}
        token, whole = self._token, not self._token
        for _ in range(PARTS_AT_MOST):
            reply = self._wire.ask("REPORT", self._url, xml.sync(token), {"Depth": "0"})
            if reply.status != 207:
                return self._without_token(reply)
            found = self._read(reply)
            more = False
            for answer in found.each:
                path = path_of(answer.href)
                if answer.status == 507:  # and the rest with the next token
                    more = True
                elif answer.status in (404, 410):
                    changed.pop(path, None)
                    self._forget(path)
                elif self._is_item(path):
                    changed[path] = _etag(answer.text(f"{xml.DAV}getetag"))
            if not found.token or (more and found.token == token):
                self._syncs = False
                return None
            token = found.token
            if not more:
                break
        if whole:
            self._keep_only(changed)
        for path in self._written - changed.keys():  # what came and went since the last look is no change to some
            self._forget(path)
        self._written.clear()
        self._token = token
        return changed

    def _without_token(self, reply: Reply) -> dict[str, str] | None:
        """A token that is not known any more is given up, and all is read; a server that has none is not asked again.
        Raises ServerTrouble where the list is not there."""
        if reply.status in (404, 410):
            raise ServerTrouble(f"there is no list at {self._url} any more; connect it anew", reply.status)
        if self._token and 400 <= reply.status < 500 and xml.says(reply.body, "valid-sync-token"):
            self._token = ""
            return self._changes()
        self._syncs, self._token = False, ""
        return None

    def _all(self) -> dict[str, str]:
        """All that is there, with its etag."""
        reply = self._wire.ask("PROPFIND", self._url, xml.propfind("getetag"), {"Depth": "1"})
        if reply.status in (404, 410):
            raise ServerTrouble(f"there is no list at {self._url} any more; connect it anew", reply.status)
        found = {path_of(answer.href): _etag(answer.text(f"{xml.DAV}getetag")) for answer in self._read(reply).each}
        found = {path: etag for path, etag in found.items() if self._is_item(path)}
        self._keep_only(found)
        return found

    def _fetch(self, paths: Sequence[str]) -> None:
        """Reads the texts of these; what has gone meanwhile is forgotten."""
        for start in range(0, len(paths), TOGETHER):
            some = paths[start : start + TOGETHER]
            hrefs = [quote(path, safe="/~@") for path in some]
            reply = self._wire.ask("REPORT", self._url, xml.multiget(hrefs), {"Depth": "1"})
            got = {path_of(answer.href): answer for answer in self._read(reply).each if answer.status == 200}
            for path in some:
                answer = got.get(path)
                raw = answer.text(f"{xml.CALDAV}calendar-data") if answer is not None else ""
                if answer is None or not raw:
                    self._fetch_one(path)
                else:
                    self._learn(path, raw, _etag(answer.text(f"{xml.DAV}getetag")))

    def _fetch_one(self, path: str) -> None:
        """Not every server finds every name when asked for many."""
        reply = self._wire.ask("GET", self._at(path))
        if reply.status in (404, 410):
            self._forget(path)
        elif reply.status == 200:
            self._learn(path, reply.body.decode("utf-8", "replace"), _etag(reply.headers.get("etag", "")))
        else:
            raise ServerTrouble(f"{self._url} does not give a to-do (answer {reply.status})", reply.status)

    def _learn(self, path: str, raw: str, etag: str) -> None:
        self._items[path], self._etags[path] = read_todo(raw, self._href(path), etag, self._zone), etag

    def _read(self, reply: Reply) -> xml.Answers:
        if reply.status == 207:
            try:
                return xml.answers(reply.body)
            except ValueError:
                pass
        raise ServerTrouble(f"{self._url} does not answer as a list of to-dos (answer {reply.status})", reply.status)

    # --- names -----------------------------------------------------------------------------------------------------

    def _is_item(self, path: str) -> bool:
        return path != self._path and not path.endswith("/")

    def _place(self, href: str) -> str:
        return href if href.startswith("/") else self._path + href

    def _href(self, path: str) -> str:
        return path.removeprefix(self._path)

    def _at(self, path: str) -> str:
        return urljoin(self._url, quote(path, safe="/~@"))

    def _forget(self, path: str) -> None:
        self._items.pop(path, None)
        self._etags.pop(path, None)

    def _keep_only(self, there: Mapping[str, str]) -> None:
        for path in self._items.keys() - there.keys():
            self._forget(path)


def _etag(text: str) -> str:
    """Without the mark of a weak one, which never matches: servers behind a proxy that packs get it by accident."""
    return text.strip().removeprefix("W/")
