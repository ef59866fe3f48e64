"""The first day: people, suppliers, parts, bins, offers, and the count with which the books began."""

from __future__ import annotations

from functools import partial

from inventory.domain.buying import suppliers
from inventory.domain.catalogue import bins, parts
from inventory.domain.jobs import people
from inventory.domain.movements import receive
from inventory.domain.proof import procedures
from inventory.domain.reorder import stock_dates
from inventory.domain.stocktake import level_readings
from seed import demand
from seed.data_files import PartRow, read_rows
from seed.data_files import people as people_sheets
from seed.demo_bench import FIRST_DAY, DemoBench

BLANK_LABELS = 24


def open_shop(bench: DemoBench) -> None:
    """Let the first day happen."""
    bench.diary.write(bench.ago(FIRST_DAY, "08:00"), lambda: _set_up(bench))
    for line in read_rows("lessons"):
        bench.on(int(line["days_ago"]), bench.hour(16, 17), partial(_add_lesson, bench, line))
    bench.on(30, "17:40", lambda: _print_blank_labels())


def _set_up(bench: DemoBench) -> None:
    for person in people_sheets():
        bench.people[person.name] = people.add_person(person.name, person.role, person.passphrase, person.shown_as)
    for key, supplier in bench.sheets.suppliers.items():
        bench.suppliers[key] = suppliers.add_supplier(
            supplier.name,
            lead_days=supplier.lead_days,
            shipping_minor=supplier.shipping_minor,
            email=supplier.email,
            note=supplier.note,
        )
    for part in bench.sheets.parts.values():
        _add_part(bench, part)
    _set_storage_limits(bench)
    _add_bins(bench)
    _add_offers(bench)
    _add_substitutes(bench)
    _add_procedures(bench)
    bench.habits = demand.order_habits(bench)
    for number, habit in bench.habits.items():
        _book_opening_stock(bench, number, habit.opening)


def _add_part(bench: DemoBench, part: PartRow) -> None:
    bench.parts[part.number] = parts.add_part(
        part.number, part.name, part.kind, kept=part.kept, unit=part.unit, maker=part.maker,
        maker_number=part.maker_number, attributes=part.attributes, fits=part.fits,
        rated_matings=part.rated_matings, note=part.note,
    )  # fmt: skip
    bench.home[part.number] = part.bin


def _set_storage_limits(bench: DemoBench) -> None:
    """Say how consumables are read, how long they keep once opened, and what must stay dry."""
    for line in read_rows("keeping"):
        days = int(line["days_opened"]) if line["days_opened"] else None
        stock_dates.set_part_storage(bench.id(line["part"]), days_opened=days, moisture_level=line["moisture_level"])
        if line["read_by"]:
            tare, per_gram = (float(line[name]) if line[name] else None for name in ("tare", "per_gram"))
            level_readings.set_level_method(
                bench.id(line["part"]), line["read_by"], full=int(line["full"]), tare=tare, per_gram=per_gram
            )


def _add_bins(bench: DemoBench) -> None:
    mixed = {bin_.name for bin_ in bench.sheets.bins if bin_.mixed}
    owner_of = {part.bin: part.number for part in bench.sheets.parts.values() if part.bin not in mixed}
    for bin_ in bench.sheets.bins:
        part = bench.id(owner_of[bin_.name]) if bin_.name in owner_of else None
        bench.bins[bin_.name] = bins.add_bin(bin_.name, part, mixed=bin_.mixed, walk=bin_.walk, note=bin_.note)


def _add_offers(bench: DemoBench) -> None:
    key_of = {supplier.name: key for key, supplier in bench.sheets.suppliers.items()}
    for offer in bench.sheets.offers:
        offer_record = suppliers.add_offer(
            bench.id(offer.part), bench.suppliers[key_of[offer.supplier]].id, offer.price_minor,
            supplier_number=offer.supplier_number, pack=offer.pack, minimum=offer.minimum, breaks=offer.breaks,
            preferred=offer.preferred,
        )  # fmt: skip
        bench.offers.setdefault(offer.part, []).append(offer_record)


def _add_substitutes(bench: DemoBench) -> None:
    for line in read_rows("substitutes"):
        parts.set_substitute(bench.id(line["part"]), bench.id(line["instead"]), line["differs"])


def _add_procedures(bench: DemoBench) -> None:
    procedures.install_built_in()
    for line in read_rows("procedures"):
        checks = [_parse_check(text) for text in line["checks"].split(";")]
        procedures.add_procedure(
            line["name"], checks, part_id=bench.id(line["part"]) if line["part"] else None, kind=line["kind"],
            steps=line["steps"], hazards=line["hazards"].split(), source=line["source"],
            sensitivity=float(line["sensitivity"]), specificity=float(line["specificity"]),
        )  # fmt: skip
    bench.procedures = {procedure.name: procedure for procedure in procedures.procedures()}


def _parse_check(text: str) -> dict[str, str]:
    """Read "Output, unloaded [V] 35.3 to 36.7", "Ripple [mV] at most 200" or a check answered yes or no."""
    name, bracket, rest = text.strip().partition(" [")
    if not bracket:
        return {"name": name}
    unit, _, limits = rest.partition("] ")
    if limits.startswith("at most "):
        return {"name": name, "unit": unit, "high": limits.removeprefix("at most ")}
    low, _, high = limits.partition(" to ")
    return {"name": name, "unit": unit, "low": low, "high": high}


def _book_opening_stock(bench: DemoBench, number: str, quantity: int) -> None:
    """Book what was found of a part when the books began."""
    if not quantity:
        return
    offer = bench.offers[number][0]
    receive.receive(
        bench.id(number), quantity, bench.bin_of(number), origin="found", origin_note="First count of the shop",
        cost_minor=offer.price_minor * quantity // offer.pack, by=bench.owner,
    )  # fmt: skip


def _add_lesson(bench: DemoBench, line: dict[str, str]) -> None:
    model = bench.sheets.models[line["model"]].name if line["model"] else ""
    parts.add_lesson(
        line["text"], part_id=bench.id(line["part"]) if line["part"] else None,
        unit_model_id=parts.get_or_create_unit_model(model).id if model else None, by=bench.people[line["person"]].id,
    )  # fmt: skip


def _print_blank_labels() -> None:
    bins.add_blank_bins(BLANK_LABELS)
