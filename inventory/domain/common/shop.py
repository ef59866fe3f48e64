"""The owner's settings for the whole shop: the stock target, and the constants of the reckoning.

Each setting is one key of the database's key-value table, its value as JSON; a default has no row.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from inventory.domain.common.errors import invalid_field
from inventory.domain.common.validation import (
    MAX_TARGET,
    MIN_TARGET,
    PART_KINDS,
    PROMISES,
    check_field_names,
    validated_number,
)
from inventory.reckoning.diagnosis.priors import PriorConstants
from inventory.reckoning.diagnosis.repair_plan import BenchCosts
from inventory.reckoning.reorder.demand import DemandConstants
from inventory.reckoning.reorder.lead_time import LeadTimeConstants
from inventory.reckoning.reorder.order_quantity import OrderCosts
from inventory.reckoning.reorder.service_level import ServiceMeasure
from inventory.store.connection import transaction
from inventory.store.key_values import set_value, values_with_prefix

_PREFIX = "shop."


def _number_field(default: float, low: float, high: float, about: str) -> Any:
    return field(default=default, metadata={"low": low, "high": high, "about": about})


def _by_kind_field(about: str) -> Any:
    return field(default_factory=dict, metadata={"about": about})


@dataclass(frozen=True)
class ShopConfig:
    """The shop's decisions. Those called assumed were chosen by us, with no published source."""

    target: float = _number_field(
        0.95,
        MIN_TARGET,
        MAX_TARGET,
        "How often the promise is to be kept, as a share.",
    )
    targets: Mapping[str, float] = _by_kind_field("The same for single kinds of part.")
    promise: str = field(
        default=ServiceMeasure.NO_STOCK_OUT.value,
        metadata={
            "about": "What is promised: no_stock_out (nothing runs dry before the next delivery), or next_job "
            "(the next job finds all it wants; asks for more stock)."
        },
    )
    promises: Mapping[str, str] = _by_kind_field("The same for single kinds of part.")
    looks_days: int = _number_field(
        1, 0, 90, "Days between looks at the reorder list, on top of the lead time (assumed)."
    )
    lead_days: int = _number_field(7, 0, 1000, "Lead time of a part that nobody states one for, in days (assumed).")
    pooling_months: float = _number_field(
        4.0, 0.1, 120.0, "Months of the average part added to each part's own history."
    )
    half_life_months: float = _number_field(12.0, 0.5, 1200.0, "Age in months at which a job counts half.")
    size_prior: float = _number_field(4.0, 1.01, 1000.0, "Weight of the average number of pieces a job.")
    size_shape: float = _number_field(2.0, 0.05, 100.0, "Shape of the spread of pieces a job.")
    jobs_prior: float = _number_field(0.25, 0.001, 100.0, "Jobs that an empty shop starts with (assumed).")
    months_prior: float = _number_field(
        1.0, 0.001, 1000.0, "Months of history that an empty shop starts with (assumed)."
    )
    extra_prior: float = _number_field(
        1.6, 0.001, 1000.0, "Pieces beyond the first an empty shop starts with (assumed)."
    )
    sized_prior: float = _number_field(2.0, 0.001, 1000.0, "Jobs that those pieces are spread over (assumed).")
    kind_parts: int = _number_field(30, 2, 1_000_000, "Parts a kind needs to have averages of its own (assumed).")
    stated_weight: float = _number_field(2.0, 0.01, 100.0, "Deliveries that a stated lead time counts as (assumed).")
    lead_variation: float = _number_field(0.5, 0.01, 3.0, "Spread of a stated lead time, as a share of it (assumed).")
    line_cost_minor: int = _number_field(
        200, 0, 1_000_000, "Handling one line of an order, in minor units (assumed)."
    )
    holding_share: float = _number_field(
        0.25, 0.0, 5.0, "What holding stock for a year costs, as a share of its price (assumed)."
    )
    most_years: float = _number_field(3.0, 0.05, 100.0, "Years of use that are never exceeded by choice (assumed).")
    lines_a_parcel: int = _number_field(
        4, 1, 500, "Lines that share a parcel's shipping (assumed; with six orders or more they are counted)."
    )
    minute_minor: int = _number_field(80, 0, 100_000, "What a minute at the bench costs, in minor units (assumed).")
    waiting_day_minor: int = _number_field(600, 0, 1_000_000, "What a day costs on which a unit waits (assumed).")
    give_up_minor: int = _number_field(30_000, 0, 100_000_000, "What handing a unit back unmended costs (assumed).")
    come_back_minor: int = _number_field(8_000, 0, 100_000_000, "What a unit costs that comes back (assumed).")
    recovered_share: float = _number_field(
        0.5, 0.0, 1.0, "Share of its price that a part bought in vain recovers (assumed)."
    )
    hour_minor: int = _number_field(4_800, 0, 1_000_000, "What a customer pays for an hour at the bench (assumed).")
    markup: float = _number_field(
        0.0, 0.0, 10.0, "What a customer pays for a part on top of what it costs, as a share (assumed)."
    )
    ready_days: int = _number_field(1, 0, 365, "Days from having everything to a unit that is ready (assumed).")
    minutes_measure: int = _number_field(10, 0, 10_000, "Minutes to measure a suspect in the unit (assumed).")
    minutes_swap: int = _number_field(15, 0, 10_000, "Minutes to put a spare in and run the unit (assumed).")
    minutes_back: int = _number_field(10, 0, 10_000, "Minutes to put the old thing back (assumed).")
    minutes_fit: int = _number_field(20, 0, 10_000, "Minutes to fit a new part and run the unit (assumed).")
    minutes_repair: int = _number_field(25, 0, 10_000, "Minutes to mend a line or joint and run the unit (assumed).")
    minutes_proof: int = _number_field(10, 0, 10_000, "Minutes to prove a spare (assumed).")
    measured_finds: float = _number_field(
        0.85, 0.0, 1.0, "Share of bad suspects that a measurement calls bad (assumed)."
    )
    measured_passes: float = _number_field(0.95, 0.0, 1.0, "Share of good ones that it calls good (assumed).")
    repair_spoils: float = _number_field(0.01, 0.0, 1.0, "Chance that mending spoils what was good (assumed).")
    repair_fails: float = _number_field(0.10, 0.0, 1.0, "Chance that mending leaves bad what was bad (assumed).")
    mask: float = _number_field(
        0.02, 0.0, 0.9, "Chance that the unit is seen working although something fitted is bad (assumed)."
    )
    misread: float = _number_field(
        0.01, 0.0, 0.9, "Chance that it is seen failing although all that is fitted is good (assumed)."
    )
    mask_intermittent: float = _number_field(
        0.3, 0.0, 0.99, "The mask of a suspect whose fault comes and goes (assumed)."
    )
    prior_faults: float = _number_field(
        2.0, 0.01, 1000.0, "Faults spread evenly over the suspects of a job (assumed)."
    )
    prior_elsewhere: float = _number_field(0.10, 0.0, 1.0, "Share of those that is not on the list (assumed).")
    faults_before: float = _number_field(0.25, 0.01, 1.0, "Faults of a unit before anybody complains (assumed).")

    @property
    def constants(self) -> DemandConstants:
        """The constants of demand."""
        return DemandConstants(**{field.name: getattr(self, field.name) for field in fields(DemandConstants)})

    @property
    def lead_constants(self) -> LeadTimeConstants:
        """The constants of lead times."""
        return LeadTimeConstants(prior_weight=self.stated_weight, variation=self.lead_variation)

    @property
    def costs(self) -> OrderCosts:
        """What ordering and holding cost, in minor units."""
        return OrderCosts(float(self.line_cost_minor), self.holding_share, self.most_years)

    @property
    def smoothing(self) -> PriorConstants:
        """What the shop's closed jobs are mixed with before they say how likely a suspect is."""
        return PriorConstants(self.prior_faults, self.prior_elsewhere, self.faults_before)

    @property
    def step_costs(self) -> BenchCosts:
        """What time and failure cost on a job, in minor units."""
        return BenchCosts(
            float(self.minute_minor), float(self.waiting_day_minor), float(self.give_up_minor),
            float(self.come_back_minor), self.recovered_share, self.mask, self.misread,
        )  # fmt: skip

    def target_for(self, kind: str, own: float | None) -> float:
        """Return the share that a part is kept on: its own, else its kind's, else the shop's."""
        return self.targets.get(kind, self.target) if own is None else own

    def promise_for(self, kind: str, own: str | None = None) -> str:
        """Return the promise that a part is kept on: its own, else its kind's, else the shop's."""
        return own or self.promises.get(kind, self.promise)


@dataclass(frozen=True)
class ShopSetting:
    """One setting as the owner's page shows it; ``low`` and ``high`` bound numbers."""

    name: str
    value: Any
    default: Any
    about: str
    low: float | None
    high: float | None
    decided: bool  # the owner has set it

    @property
    def is_money(self) -> bool:
        """Whether it is a sum in minor units."""
        return self.name.endswith("_minor")

    @property
    def meaning(self) -> str:
        """The description without the stored unit and the source."""
        return self.about.replace(" (assumed)", "").replace(", in minor units", "").rstrip(".")


def shop_config() -> ShopConfig:
    """Return the current settings."""
    return ShopConfig(**_stored_values())


def overridden_settings() -> frozenset[str]:
    """Return the names of the settings that the owner has set, to the default or anything else."""
    return frozenset(_stored_values())


def _stored_values() -> dict[str, Any]:
    known = {field.name for field in fields(ShopConfig)}
    return {name: value for name, value in values_with_prefix(_PREFIX).items() if name in known}


def edit_shop(**changes: Any) -> ShopConfig:
    """Change some of the shop's decisions; None puts one back to its default.

    Raises Invalid, naming what it takes, for a value out of range; nothing is changed then.
    """
    known = {field.name: field for field in fields(ShopConfig)}
    check_field_names(changes, known, "The shop has no setting {}.")
    values = {
        name: None if value is None else _validated_value(known[name], value) for name, value in changes.items()
    }
    with transaction():
        for name, value in values.items():
            set_value(_PREFIX + name, value)
        return shop_config()


def shop_settings() -> list[ShopSetting]:
    """Return every setting with its value, its default and what it means."""
    stored, defaults = _stored_values(), ShopConfig()
    config = ShopConfig(**stored)
    return [
        ShopSetting(
            field.name, getattr(config, field.name), getattr(defaults, field.name), field.metadata["about"],
            field.metadata.get("low"), field.metadata.get("high"), field.name in stored,
        )
        for field in fields(ShopConfig)
    ]  # fmt: skip


def _validated_value(setting: Any, value: Any) -> Any:
    if setting.name == "promise":
        return _validated_promise(value, "promise")
    if setting.name == "promises":
        pairs = _pairs_by_kind(value, "promises")
        return {kind: _validated_promise(promise, "promises") for kind, promise in pairs}
    if setting.name == "targets":
        target = next(field for field in fields(ShopConfig) if field.name == "target")
        return {kind: _validated_number(target, share, "targets") for kind, share in _pairs_by_kind(value, "targets")}
    return _validated_number(setting, value, setting.name)


def _pairs_by_kind(value: Any, name: str) -> Any:
    if not isinstance(value, Mapping) or not set(value) <= set(PART_KINDS):
        raise invalid_field(name, f"The {name} are pairs of a kind ({', '.join(PART_KINDS)}) and its value.")
    return value.items()


def _validated_promise(value: Any, name: str) -> str:
    if value not in PROMISES:
        raise invalid_field(name, f"The promise must be one of: {', '.join(PROMISES)}.")
    return str(value)


def _validated_number(setting: Any, value: Any, name: str) -> Any:
    low, high = setting.metadata["low"], setting.metadata["high"]
    whole = isinstance(setting.default, int)
    kind = "whole number" if whole else "number"
    sentence = f"The {name.replace('_', ' ')} must be a {kind} from {low} to {high}."
    return validated_number(value, name, low, high, sentence, whole=whole)
