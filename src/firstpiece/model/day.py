"""The day's work: jobs, heads and cones going in; who sews what when, and what is late, coming out.

Time is counted in working minutes from the start of the plan; ``WorkWeek`` turns them into days
and hours of the clock.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from gettext import gettext as _

from firstpiece.errors import InputError
from firstpiece.units import needle_trade_number

MINUTES_PER_HOUR = 60
FARTHEST_DAYS = 3660


@dataclass(frozen=True, slots=True, order=True)
class Cone:
    """A colour of thread and the needle it is sewn with; another needle size is another cone."""

    thread: str
    color: str
    metric_size: int
    point: str

    @property
    def needle_words(self) -> str:
        """The needle as the trade writes it."""
        return f"{needle_trade_number(self.metric_size)} {self.point}"


@dataclass(frozen=True, slots=True)
class WorkWeek:
    """When the shop sews: days of the week (Monday 0), from one hour of the clock to another."""

    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    begins: time = time(9, 0)
    ends: time = time(17, 0)

    def __post_init__(self) -> None:
        if self.minutes_per_day <= 0 or not set(self.weekdays) <= set(range(7)):
            raise InputError(
                _("the working day must end after it begins"), remedy=_("mend the shop's hours")
            )
        if not self.weekdays:
            raise InputError(_("the week has no working day"), remedy=_("mend the shop's hours"))

    @property
    def minutes_per_day(self) -> int:
        """Minutes between the first and the last hour."""
        start, end = self.begins, self.ends
        return (end.hour - start.hour) * MINUTES_PER_HOUR + end.minute - start.minute

    def is_working(self, day: date) -> bool:
        """Return whether the shop sews on a day."""
        return day.weekday() in self.weekdays

    def minutes_until(self, start: date, end: date) -> float:
        """Return the working minutes from the morning of one day to the evening of another."""
        if end < start:
            return 0.0
        days = (end - start).days + 1
        weeks, rest = divmod(min(days, FARTHEST_DAYS), 7)
        worked = weeks * len(set(self.weekdays))
        worked += sum(self.is_working(start + timedelta(days=i)) for i in range(rest))
        return float(worked * self.minutes_per_day)

    def moment(self, start: date, minutes: float) -> datetime:
        """Return the day and hour so many working minutes after the morning of ``start``."""
        whole = self.minutes_per_day
        # The end of a day belongs to that day, not to the next morning.
        n_days = max(0, math.ceil(minutes / whole) - 1) if minutes > 0 else 0
        day = start
        while not self.is_working(day):
            day += timedelta(days=1)
        for _i in range(n_days):
            day += timedelta(days=1)
            while not self.is_working(day):
                day += timedelta(days=1)
        begin = datetime.combine(day, self.begins)
        return begin + timedelta(minutes=minutes - n_days * whole)


@dataclass(frozen=True, slots=True)
class Head:
    """A machine that sews one job at a time.

    Parameters
    ----------
    name, label : str
    needles : int
    abreast : int
        Pieces it sews at once, one under each of its heads.
    loaded : tuple of (Cone or None)
        What is on needles 1, 2, … as the plan begins; may be shorter than ``needles``.
    speed : float
        Its pace against the pace the jobs' minutes were reckoned at.
    """

    name: str
    label: str
    needles: int
    abreast: int = 1
    loaded: tuple[Cone | None, ...] = ()
    speed: float = 1.0

    def __post_init__(self) -> None:
        if self.needles < 1 or self.abreast < 1 or not self.speed > 0:
            msg = "a head needs a needle, a place to sew and a pace"
            raise ValueError(msg)
        if len(self.loaded) > self.needles:
            msg = "more cones are loaded than there are needles"
            raise ValueError(msg)


@dataclass(frozen=True, slots=True)
class SewingJob:
    """One design in one colouring on a number of pieces.

    Parameters
    ----------
    job : int
    title : str
    pieces : int
    minutes_each : float [min]
        At the machine, for one piece.
    due_min : float [min]
        Working minutes until it must be done; infinite without a due date.
    due : date or None
    cones : tuple of Cone
        In sewing order.
    colorway : str
    hoop, backing, topping : str
    set_up_min : float [min]
        Once: load the design, set the hoop, trace its box.
    hooping_min : float [min]
        For each round of pieces.
    ready_min : float [min]
        When everything it needs is here; infinite when nobody knows.
    missing : tuple of str
        What it lacks, for a reader.
    blocked : str
        Why it may not be sewn at all as it is.
    """

    job: int
    title: str
    pieces: int
    minutes_each: float
    due_min: float = math.inf
    due: date | None = None
    cones: tuple[Cone, ...] = ()
    colorway: str = ""
    hoop: str = ""
    backing: str = ""
    topping: str = ""
    set_up_min: float = 10.0
    hooping_min: float = 3.0
    ready_min: float = 0.0
    missing: tuple[str, ...] = ()
    blocked: str = ""

    def minutes_on(self, head: Head) -> float:
        """Return the minutes it keeps a head, changes of cones aside."""
        rounds = math.ceil(self.pieces / head.abreast)
        return self.set_up_min + rounds * (self.minutes_each / head.speed + self.hooping_min)

    def fits(self, head: Head) -> bool:
        """Return whether a head has needles enough for it."""
        return len(set(self.cones)) <= head.needles


@dataclass(frozen=True, slots=True)
class ConeChange:
    """Before a job: on which needle which cone comes off (None: it was empty) and which goes on."""

    needle: int
    off: Cone | None
    on: Cone


@dataclass(frozen=True, slots=True)
class Slot:
    """One job on one head, from when to when; ``late_min`` 0 when it is on time."""

    job: SewingJob
    begin_min: float
    end_min: float
    changes: tuple[ConeChange, ...]
    needles: tuple[Cone | None, ...]
    late_min: float

    @property
    def is_late(self) -> bool:
        """True when it ends after its due time."""
        return self.late_min > 0


@dataclass(frozen=True, slots=True)
class HeadPlan:
    """What one head sews, in order; ``first_loading`` counts cones put on before the first job."""

    head: Head
    slots: tuple[Slot, ...]
    first_loading: tuple[ConeChange, ...] = ()

    @property
    def n_changes(self) -> int:
        """Cones changed between jobs."""
        return sum(len(slot.changes) for slot in self.slots)


@dataclass(frozen=True, slots=True)
class Waiting:
    """A job that cannot be put on a head, and why."""

    job: SewingJob
    reason: str


@dataclass(frozen=True, slots=True)
class DayPlan:
    """Who sews what when.

    ``late_bound`` is a number of late jobs that no plan can stay under, ``changes_bound`` the same
    for cone changes of the jobs as shared out here.
    """

    heads: tuple[HeadPlan, ...]
    waiting: tuple[Waiting, ...]
    late_bound: int
    changes_bound: int

    @property
    def late(self) -> tuple[Slot, ...]:
        """The late jobs, the latest first."""
        slots = [slot for head in self.heads for slot in head.slots if slot.is_late]
        return tuple(sorted(slots, key=lambda s: (-s.late_min, s.job.job)))

    @property
    def n_changes(self) -> int:
        """Cones changed between jobs on all heads."""
        return sum(head.n_changes for head in self.heads)
