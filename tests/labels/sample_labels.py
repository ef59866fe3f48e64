"""Faces of every kind that the tests of labels share: an invented bench."""

import random
from datetime import date

from labels.content.label_content import (
    LabelContent,
    bin_label,
    blank_label,
    job_label,
    lot_label,
    piece_label,
    shelf_end_label,
    shelf_label,
)
from labels.content.part_content import build_part_content
from shared.codes import generate_code

ADDRESS = "https://bench.lan"
_random = random.Random(20260901)

HEADER = build_part_content(
    "Wire-to-board header, latching",
    "connector",
    {"ways": 4, "pitch_mm": 2, "angle": "right angle", "gender": "male"},
)
FLEX = build_part_content(
    "Flat-flex socket, slide lock", "connector", {"ways": 24, "pitch_mm": 0.5, "contact_side": "bottom"}
)
FAN = build_part_content("Fan for Corvid 7 moving head", "fan", {"size_mm": 60, "volts": 24, "wires": 3}, ["moving"])
SUPPLY = build_part_content(
    "Supply for Tern 12 powered speaker",
    "supply",
    {"outputs": "±35 V / +15 V", "watts": 300},
    ["mains", "stored_charge"],
)
ALCOHOL = build_part_content(
    "Isopropyl alcohol 99.9 %", "consumable", {"container": "1000 ml"}, ["flammable", "fumes"]
)


def random_code(kind: str) -> str:
    return generate_code(kind, _random.choice)


def all_faces() -> list[LabelContent]:
    return [
        bin_label(random_code("bin"), ADDRESS, "A3-07", HEADER),
        bin_label(random_code("bin"), ADDRESS, "B1-02", FLEX, note="Keep in the shielding bag"),
        bin_label(random_code("bin"), ADDRESS, "C2-11"),
        lot_label(
            random_code("lot"),
            ADDRESS,
            FAN,
            received=date(2026, 11, 12),
            origin="Northgate Components",
            quantity="6 pieces",
            supplier_lot="NG-88121",
            date_code="2631",
        ),
        lot_label(
            random_code("lot"),
            ADDRESS,
            ALCOHOL,
            received=date(2026, 9, 1),
            origin="Quayside Spares",
            best_before=date(2028, 9, 1),
        ),
        piece_label(
            random_code("piece"),
            ADDRESS,
            SUPPLY,
            serial="TN12-00417",
            standing="proved",
            proved_by="Output under half load",
            proved_on=date(2026, 10, 3),
            proved_until=date(2027, 4, 3),
        ),
        piece_label(random_code("piece"), ADDRESS, FAN),
        job_label(
            random_code("job"),
            ADDRESS,
            "J-0412",
            "Corvid 7 moving head",
            fault="Pan stops after ten minutes",
            received=date(2026, 11, 20),
            promised=date(2026, 12, 2),
        ),
        shelf_label(random_code("bin"), ADDRESS, "A3", first="A3-01", last="A3-12", note="Connectors, wire to board"),
        blank_label(random_code("bin"), ADDRESS),
        shelf_end_label(random_code("bin"), ADDRESS, HEADER, number="H-204", place="Bin A-14"),
        shelf_end_label(random_code("bin"), ADDRESS, SUPPLY, number="PS-300", place="Bin D-03"),
    ]
