"""What keeping one proved spare of a part on the shelf is worth in a year, and from how many jobs on it pays.

Saving per job that suspects the part: S = f w L + z (1 - r) P. Per year
V = N A [S - e - p (1 - g)(w L + (t_in + t_out) R) - f (1 - p) d P] - h P - k t_proof R, A = 1/(1 + N p L/365):
the spare is on the shelf a share A of the time, since it is fitted and waits for its successor in N p jobs a year.
"""

from dataclasses import dataclass

from inventory.reckoning.common.value_checks import amount, chance, count, positive

ORDERED_IF_BAD = 0.93  # measured in simulation: chance that a bench orders the part when it is the fault
ORDERED_IF_GOOD = 0.15  # the same when it is not: ordered in vain


@dataclass(frozen=True, slots=True)
class Keeping:
    """What is known of a part and of the bench; money in one unit throughout, times in days or minutes."""

    jobs: float  # N, jobs a year that suspect the part
    p_bad: float  # p, chance that the part is the fault in such a job
    price: float  # P
    lead_days: float  # L
    waiting_day: float = 6.0  # w, assumed cost of a waiting day
    minutes_in: float = 15.0  # t_in, assumed minutes to fit it
    minutes_out: float = 10.0  # t_out, assumed minutes to take it out again
    harm: float = 0.005  # d, chance that a run in a unit that still fails spoils it
    p_good: float = 0.98  # g, assumed chance that the spare is good
    recovered: float = 0.5  # r, assumed share of its price that a part bought in vain recovers
    minute: float = 0.8  # R, assumed bench rate a minute
    holding: float = 0.2  # h, assumed yearly cost of holding stock, as a share of its price
    proofs: float = 1.0  # k, proofs a year
    minutes_proof: float = 10.0  # t_proof, assumed minutes of a proof
    extra: float = 0.0  # e, extra work per job for swapping where one would have ordered
    ordered_if_bad: float = ORDERED_IF_BAD
    ordered_if_good: float = ORDERED_IF_GOOD

    def __post_init__(self) -> None:
        """Refuse what is not money, time or a chance."""
        for name in ("p_bad", "harm", "p_good", "recovered", "ordered_if_bad", "ordered_if_good"):
            chance(getattr(self, name), f"The figure {name!r}")
        for name in ("jobs", "lead_days", "waiting_day", "minutes_in", "minutes_out", "minute"):
            amount(getattr(self, name), f"The figure {name!r}")
        for name in ("holding", "proofs", "minutes_proof", "extra"):
            amount(getattr(self, name), f"The figure {name!r}")
        positive(self.price, "The figure 'price'")


@dataclass(frozen=True, slots=True)
class Worth:
    """The yearly value of keeping one proved spare, with the figures it is made of."""

    ordered: float  # f, chance that the part would be ordered
    ordered_in_vain: float  # z
    on_shelf: float  # A, share of the time that the spare is there
    saving: float  # S per job
    misled: float  # per job: a bad spare that was trusted
    damage: float  # per job: harm done to the spare
    holding: float  # per year: money tied up, and proofs
    per_year: float  # V
    break_even_jobs: float | None  # jobs a year from which keeping it pays; None if no number does


def worth_keeping(case: Keeping) -> Worth:
    """Return the yearly value of keeping one proved spare."""
    p, price = case.p_bad, case.price
    in_vain = case.ordered_if_good * (1.0 - p)
    ordered = case.ordered_if_bad * p + in_vain
    wait = case.waiting_day * case.lead_days
    saving = ordered * wait + in_vain * (1.0 - case.recovered) * price
    misled = p * (1.0 - case.p_good) * (wait + (case.minutes_in + case.minutes_out) * case.minute)
    damage = ordered * (1.0 - p) * case.harm * price
    holding = case.holding * price + case.proofs * case.minutes_proof * case.minute
    net = saving - case.extra - misled - damage
    away = p * case.lead_days / 365.0  # years a job that the spare is not there
    on_shelf = 1.0 / (1.0 + case.jobs * away)
    most = net - holding * away
    return Worth(
        ordered=ordered,
        ordered_in_vain=in_vain,
        on_shelf=on_shelf,
        saving=saving,
        misled=misled,
        damage=damage,
        holding=holding,
        per_year=case.jobs * on_shelf * net - holding,
        break_even_jobs=holding / most if most > 0.0 else None,
    )


def saved_so_far(worth: Worth, swapped_jobs: int, years: float) -> float:
    """Return what keeping it has saved until now: its saving on each job it was swapped on, less what it tied up.

    Money in the unit of ``worth``; ``years`` since the first one was kept. Negative if it cost more than it saved.
    """
    jobs = count(swapped_jobs, "The number of jobs it was swapped on")
    per_job = worth.saving - worth.misled - worth.damage
    return jobs * per_job - amount(years, "The years since it was kept") * worth.holding
