"""Servers and lists for all tests of the to-do sync."""

from collections.abc import Callable, Iterator
from itertools import count

import pytest

from curetrack.phone.caldav.discover import TodoPlace, discover, make_list
from curetrack.phone.caldav.wire import Account, Wire
from tests.phone.caldav.servers import Running, running

NUMBERS = count(1)


@pytest.fixture(scope="module", params=["radicale", "xandikos"])
def server(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with running(request.param, tmp_path_factory.mktemp(request.param)) as found:
        yield found


@pytest.fixture
def wires() -> Iterator[Callable[[Account], Wire]]:
    """As many as a test wants, each with connections of its own, closed at its end."""
    made: list[Wire] = []

    def make(account: Account) -> Wire:
        made.append(Wire(account))
        return made[-1]

    yield make
    for one in made:
        one.close()


@pytest.fixture
def wire(server: Running, wires: Callable[[Account], Wire]) -> Wire:
    return wires(server.account)


@pytest.fixture
def place(wire: Wire) -> TodoPlace:
    """A list of its own for each test."""
    return make_list(wire, discover(wire), f"list {next(NUMBERS)}")
