"""What can happen to one piece, as dated records: the log that its standing is worked out from.

Every event carries ``at``: a datetime (one without a zone is taken as UTC), or a date, meaning its midnight.
Events of one moment count in the order in which they are given.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time

from inventory.reckoning.common.bayes import DEFAULT_MASK, DEFAULT_MISREAD
from inventory.reckoning.common.durations import DAYS_PER_MONTH
from inventory.reckoning.common.value_checks import check_chance, check_count


def to_utc(stamp: date) -> datetime:
    """Return a date (its midnight) or datetime as a datetime in UTC."""
    if not isinstance(stamp, datetime):
        return datetime.combine(stamp, time(), UTC)
    return stamp.replace(tzinfo=UTC) if stamp.tzinfo is None else stamp.astimezone(UTC)


def months_between(earlier: datetime, later: datetime) -> float:
    """Return the time between two moments in average months of 30.4375 days, never below 0."""
    return max(0.0, (later - earlier).total_seconds() / 86400.0 / DAYS_PER_MONTH)


@dataclass(frozen=True, slots=True)
class FromLot:
    """The piece is one of a lot of which ``tested`` were tested and ``bad`` of those were bad.

    Logged again later, it carries what has been learnt about the lot since.
    """

    at: date
    tested: int = 0
    bad: int = 0

    def __post_init__(self) -> None:
        """Refuse counts that cannot be."""
        check_count(self.tested, "The number tested")
        check_count(self.bad, "The number bad")
        if self.bad > self.tested:
            raise ValueError(f"{self.bad} cannot be bad of {self.tested} tested.")


@dataclass(frozen=True, slots=True)
class FromDonor:
    """The piece was taken out of a donor unit that ``worked``, or was dead."""

    at: date
    worked: bool


@dataclass(frozen=True, slots=True)
class StatedChance:
    """The piece starts with a chance of being good that a person states."""

    at: date
    p_good: float

    def __post_init__(self) -> None:
        """Refuse what is not a chance."""
        check_chance(self.p_good, "The chance that the piece is good")


@dataclass(frozen=True, slots=True)
class ProofResult:
    """A bench test of this very piece: ``sens`` = P(fails | bad), ``spec`` = P(passes | good)."""

    at: date
    passed: bool
    sens: float
    spec: float
    procedure: str = "its proof"
    reading: str = ""  # which reading failed, in words

    def __post_init__(self) -> None:
        """Refuse what is not a chance."""
        check_chance(self.sens, "The sensitivity of the proof")
        check_chance(self.spec, "The specificity of the proof")


@dataclass(frozen=True, slots=True)
class SwapResult:
    """The piece ran in a job's unit in place of a suspect, and the unit worked or still failed.

    ``a`` = P(everything else good | the rest of that job's log). A run that still fails also takes the harm
    of one exposure off the piece, unless ``exposed`` is False; do not log an ``Exposure`` for it as well.
    """

    at: date
    works: bool
    a: float
    mask: float = DEFAULT_MASK
    misread: float = DEFAULT_MISREAD
    job: str = ""
    exposed: bool = True

    def __post_init__(self) -> None:
        """Refuse what is not a chance."""
        check_chance(self.a, "The chance that everything else is good")
        check_chance(self.mask, "The mask chance")
        check_chance(self.misread, "The misread chance")


@dataclass(frozen=True, slots=True)
class Exposure:
    """Something that may have spoiled the piece: ``times`` runs in bad company, a fall, a surge."""

    at: date
    times: int = 1
    what: str = "exposed to a unit that may have harmed it"

    def __post_init__(self) -> None:
        """Refuse counts that cannot be."""
        check_count(self.times, "The number of exposures", minimum=1)


@dataclass(frozen=True, slots=True)
class Mated:
    """The contacts' mating cycles went from one count to another."""

    at: date
    before: int
    after: int

    def __post_init__(self) -> None:
        """Refuse counts that go backwards."""
        check_count(self.before, "The matings before")
        check_count(self.after, "The matings after")
        if self.after < self.before:
            raise ValueError(f"Mating cycles cannot go back from {self.before} to {self.after}.")


@dataclass(frozen=True, slots=True)
class JobOutcome:
    """A job closed, and its whole log says ``p_after`` of the piece, which it took as ``p_before``.

    The ratio of the two replaces the job's single swap results. ``p_after`` is about the piece as it was
    fitted: harm from runs that still failed is taken off by the standing itself.
    """

    at: date
    job: str
    p_before: float
    p_after: float

    def __post_init__(self) -> None:
        """Refuse what is not a chance, and a start from certainty that nothing could change."""
        check_chance(self.p_before, "The chance before the job")
        check_chance(self.p_after, "The chance after the job")
        if self.p_before in (0.0, 1.0) and self.p_after != self.p_before:
            raise ValueError("A chance of exactly 0 or 1 before the job cannot change by what the job saw.")


@dataclass(frozen=True, slots=True)
class JobClosed:
    """A job that used the piece closed without anything to carry back."""

    at: date
    job: str


@dataclass(frozen=True, slots=True)
class LotHeld:
    """The piece's lot went on hold."""

    at: date
    reason: str = ""


@dataclass(frozen=True, slots=True)
class LotReleased:
    """The hold on the piece's lot ended."""

    at: date


PieceEvent = (
    FromLot
    | FromDonor
    | StatedChance
    | ProofResult
    | SwapResult
    | Exposure
    | Mated
    | JobOutcome
    | JobClosed
    | LotHeld
    | LotReleased
)
