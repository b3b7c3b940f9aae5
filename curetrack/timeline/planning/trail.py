"""What has been placed so far on one calendar, step by step, so that it can be taken back."""

from collections.abc import Sequence

from curetrack.timeline.planning.calendar import Calendar, Token
from curetrack.timeline.planning.fits import Spot, first_fit
from curetrack.timeline.planning.job import Job
from curetrack.timeline.planning.net import Net

__all__ = ["Trail"]


class Trail:
    """Spots by piece and number of the job; the trail has of each placing the piece, the job and what it has booked."""

    def __init__(self, nets: Sequence[Net], calendar: Calendar) -> None:
        """On this calendar, beside what is booked in it."""
        self.nets, self.calendar = nets, calendar
        self.spots: dict[tuple[int, int], Spot] = {}
        self._trail: list[tuple[int, Job, Token | None]] = []
        for net in nets:
            net.reset()

    def retract(self, length: int) -> None:
        """Back to a trail of that length."""
        while len(self._trail) > length:
            piece, job, token = self._trail.pop()
            self.nets[piece].unmark(job)
            self.spots.pop((piece, job.index), None)
            if token is not None:
                self.calendar.retract(token)

    @property
    def length(self) -> int:
        """Of the trail."""
        return len(self._trail)

    def _mark(self, piece: int, job: Job, start_h: float | None, *, book: bool = True) -> None:
        token = None
        if start_h is not None and book and job.takes_hands:
            token = self.calendar.book(start_h, job.need.hands_h)
        self.nets[piece].mark(job, start_h)
        self._trail.append((piece, job, token))

    def _put(self, piece: int, job: Job, spot: Spot) -> None:
        self._mark(piece, job, spot.start_h)
        self.spots[piece, job.index] = spot

    def _pass_through(self, piece: int, jobs: Sequence[Job]) -> None:
        """Optional steps hold nobody up: they are placed when their turn comes, and book nothing."""
        if not jobs:
            return
        net = self.nets[piece]
        todo = list(jobs)
        for job in todo:  # grows
            if job.through and not job.closed and net.is_free(job, pulled=True):
                asked = net.ask(job)
                start_h = None
                if asked is not None:
                    start_h, how = first_fit(self.calendar, net, job, asked[0])
                    start_h = asked[0] if start_h is None else start_h
                    self.spots[piece, job.index] = Spot(start_h, None, asked[0], how)
                self._mark(piece, job, start_h, book=False)
                todo += net.passed[job.index]
