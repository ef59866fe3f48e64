"""Faces of every kind that the tests of labels share: an invented bench."""

import random
from datetime import date

from labels.content.label_content import (
    LabelFace,
    bin_face,
    blank_face,
    job_face,
    lot_face,
    piece_face,
    shelf_end_face,
    shelf_face,
)
from labels.content.part_content import part_words
from shared.codes import new_code

ADDRESS = "https://bench.lan"
_chance = random.Random(20260901)

HEADER = part_words(
    "Wire-to-board header, latching",
    "connector",
    {"ways": 4, "pitch": 2, "angle": "right angle", "gender": "male"},
)
FLEX = part_words("Flat-flex socket, slide lock", "connector", {"ways": 24, "pitch": 0.5, "contacts": "bottom"})
FAN = part_words("Fan for Corvid 7 moving head", "fan", {"size": 60, "volts": 24, "wires": 3}, ["moving"])
SUPPLY = part_words(
    "Supply for Tern 12 powered speaker",
    "supply",
    {"outputs": "±35 V / +15 V", "watts": 300},
    ["mains", "stored_charge"],
)
ALCOHOL = part_words(
    "Isopropyl alcohol 99.9 %", "consumable", {"container_size": 1000, "unit": "ml"}, ["flammable", "fumes"]
)


def code(kind: str) -> str:
    return new_code(kind, _chance.choice)


def all_faces() -> list[LabelFace]:
    return [
        bin_face(code("bin"), ADDRESS, "A3-07", HEADER),
        bin_face(code("bin"), ADDRESS, "B1-02", FLEX, note="Keep in the shielding bag"),
        bin_face(code("bin"), ADDRESS, "C2-11"),
        lot_face(
            code("lot"),
            ADDRESS,
            FAN,
            received=date(2026, 11, 12),
            origin="Northgate Components",
            quantity="6 pieces",
            supplier_lot="NG-88121",
            date_code="2631",
        ),
        lot_face(
            code("lot"),
            ADDRESS,
            ALCOHOL,
            received=date(2026, 9, 1),
            origin="Quayside Spares",
            best_before=date(2028, 9, 1),
        ),
        piece_face(
            code("piece"),
            ADDRESS,
            SUPPLY,
            serial="TN12-00417",
            standing="proved",
            proved_by="Output under half load",
            proved_on=date(2026, 10, 3),
            proved_until=date(2027, 4, 3),
        ),
        piece_face(code("piece"), ADDRESS, FAN),
        job_face(
            code("job"),
            ADDRESS,
            "J-0412",
            "Corvid 7 moving head",
            fault="Pan stops after ten minutes",
            received=date(2026, 11, 20),
            promised=date(2026, 12, 2),
        ),
        shelf_face(code("bin"), ADDRESS, "A3", first="A3-01", last="A3-12", note="Connectors, wire to board"),
        blank_face(code("bin"), ADDRESS),
        shelf_end_face(code("bin"), ADDRESS, HEADER, number="H-204", place="Bin A-14"),
        shelf_end_face(code("bin"), ADDRESS, SUPPLY, number="PS-300", place="Bin D-03"),
    ]
