"""A picture of how stock flowed, from origins over lots to where it ended: positions only, a template draws them.

Three columns of stops with bands between them, each as thick as what went that way. Drawn about as wide as a
phone, so that its words can be read there.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.domain.quality.trace_records import JobTrace, LotTrace
from shared.codes import grouped
from shared.quantities import format_quantity

WIDTH = 360.0
COLUMNS = (4.0, 132.0, 260.0)  # left edge of each column's bar
BAR = 8.0
TOP, GAP = 6.0, 9.0
LEAST, ROOM = 30.0, 170.0  # height of the thinnest stop; height that the shares are spread over
MOST_ENDS = 14
FIT = 16  # characters of a word that fit beside a bar


@dataclass(frozen=True)
class End:
    """A place where something started or ended: its kind (for the colour), what to say, and where a tap leads."""

    kind: str
    words: str
    more: str = ""
    what: str = ""
    key: int = 0


@dataclass(frozen=True)
class Went:
    """Some of a lot that went from an origin to an end; ``weight`` says how thick, ``amount`` in words how much."""

    origin: End
    lot: End
    end: End
    weight: float
    amount: str


@dataclass(frozen=True)
class Stop:
    """A stop as drawn: a bar with words beside it."""

    end: End
    x: float
    y: float
    height: float
    words: str
    more: str


@dataclass(frozen=True)
class Band:
    """What flowed from one stop to another, as the outline of a shape."""

    path: str
    kind: str


@dataclass(frozen=True)
class FlowPicture:
    """The whole picture, and the same in sentences."""

    stops: tuple[Stop, ...]
    bands: tuple[Band, ...]
    height: float
    sentences: tuple[str, ...]


def of_lot(found: LotTrace) -> FlowPicture:
    """Draw where one lot came from and where all of it went."""
    unit = found.part.unit
    origin = _origin_end(found.origin.words, found.origin.supplier_id, found.origin.order_id, found.origin.job_id)
    lot = End("lot", grouped(found.lot.code), format_quantity(found.lot.quantity, unit), "lot", found.lot.id)
    ends = list(_ends_of_lot(found))
    return _drawn([Went(origin, lot, end, number, format_quantity(number, unit)) for end, number in ends])


def _ends_of_lot(found: LotTrace) -> Iterable[tuple[End, int]]:
    for one in found.places:
        yield End("shelf", f"bin {one.bin.shown_as}", "", "bin", one.bin.id), one.quantity + one.pieces
    fitted = [one for one in found.jobs if one.quantity]
    for job in fitted[:MOST_ENDS]:
        kind = "open" if job.open else "closed"
        yield End(kind, f"job {job.job.number}", job.job.customer, "job", job.job.id), job.quantity
    rest = fitted[MOST_ENDS:]
    if rest:
        yield End("closed", f"{len(rest)} more jobs"), sum(one.quantity for one in rest)
    for kind, words, number in (
        ("returned", "sent back", found.sent_back),
        ("scrapped", "scrapped", found.scrapped),
        ("otherwise", "used otherwise", found.otherwise),
    ):
        if number:
            yield End(kind, words), number


def of_job(found: JobTrace) -> FlowPicture:
    """Draw what one job was made of, back to where it came from."""
    job = End(
        "closed" if found.job.status == "closed" else "open", f"job {found.job.number}", "", "job", found.job.id
    )
    went = []
    for one in found.used[:MOST_ENDS]:
        origin = _origin_end(one.origin.words, one.origin.supplier_id, one.origin.order_id, one.origin.job_id)
        lot = End("lot", one.part.name, grouped(one.lot.code), "lot", one.lot.id)
        weight = one.quantity if one.part.unit == "piece" else 1
        went.append(Went(origin, lot, job, weight, format_quantity(one.quantity, one.part.unit)))
    return _drawn(went)


def _origin_end(words: str, supplier_id: int | None, order_id: int | None, job_id: int | None) -> End:
    for what, key in (("order", order_id), ("supplier", supplier_id), ("job", job_id)):
        if key is not None:
            return End("origin", words, "", what, key)
    return End("origin", words)


# ---- laying out ------------------------------------------------------------------------------------------


def _drawn(went: Sequence[Went]) -> FlowPicture:
    columns = [
        _column(COLUMNS[place], [(_at(one, place), one.weight, one.amount) for one in went]) for place in range(3)
    ]
    bands = [band for left in (0, 1) for band in _bands(went, left, columns)]
    stops = [stop for column in columns for stop in column.values()]
    height = max((stop.y + stop.height for stop in stops), default=0.0) + TOP
    return FlowPicture(tuple(stops), tuple(bands), height, tuple(_said(one) for one in went))


def _at(one: Went, place: int) -> End:
    return (one.origin, one.lot, one.end)[place]


def _column(x: float, found: Iterable[tuple[End, float, str]]) -> dict[End, Stop]:
    """Stack the stops of one column, each as high as its share asks, none too thin for its words."""
    weights: dict[End, float] = {}
    amounts: dict[End, list[str]] = {}
    for end, weight, amount in found:
        weights[end] = weights.get(end, 0.0) + weight
        amounts.setdefault(end, []).append(amount)
    total, y, made = sum(weights.values()) or 1.0, TOP, {}
    for end, weight in weights.items():
        height = max(LEAST, ROOM * weight / total)
        single = amounts[end][0] if len(amounts[end]) == 1 and end.kind not in ("lot", "origin") else ""
        made[end] = Stop(end, x, y, round(height, 1), _short(end.words), _short(single or end.more))
        y += height + GAP
    return made


def _bands(went: Sequence[Went], left: int, columns: Sequence[dict[End, Stop]]) -> Iterable[Band]:
    """Join the stops of two neighbouring columns; bands share the height of a stop by their weights."""
    pairs: dict[tuple[End, End], float] = {}
    for one in went:
        pair = (_at(one, left), _at(one, left + 1))
        pairs[pair] = pairs.get(pair, 0.0) + one.weight
    out_of, into = _totals(pairs, 0), _totals(pairs, 1)
    used: dict[tuple[int, End], float] = {}
    for (start, end), weight in pairs.items():
        a, b = columns[left][start], columns[left + 1][end]
        thick_a, thick_b = a.height * weight / (out_of[start] or 1), b.height * weight / (into[end] or 1)
        top_a, top_b = a.y + used.get((0, start), 0.0), b.y + used.get((1, end), 0.0)
        used[0, start], used[1, end] = top_a - a.y + thick_a, top_b - b.y + thick_b
        yield Band(_outline(a.x + BAR, top_a, thick_a, b.x, top_b, thick_b), end.kind if left else "lot")


def _totals(pairs: dict[tuple[End, End], float], side: int) -> dict[End, float]:
    found: dict[End, float] = {}
    for pair, weight in pairs.items():
        found[pair[side]] = found.get(pair[side], 0.0) + weight
    return found


def _outline(x1: float, y1: float, thick1: float, x2: float, y2: float, thick2: float) -> str:
    middle = (x1 + x2) / 2
    return (
        f"M{x1:.1f} {y1:.1f}C{middle:.1f} {y1:.1f} {middle:.1f} {y2:.1f} {x2:.1f} {y2:.1f}V{y2 + thick2:.1f}"
        f"C{middle:.1f} {y2 + thick2:.1f} {middle:.1f} {y1 + thick1:.1f} {x1:.1f} {y1 + thick1:.1f}Z"
    )


def _short(words: str) -> str:
    return words if len(words) <= FIT else words[: FIT - 1].rstrip() + "…"


def _said(one: Went) -> str:
    end = {"shelf": f"in {one.end.words}", "open": f"in {one.end.words}, still open", "closed": f"in {one.end.words}"}
    more = f" ({one.end.more})" if one.end.more and one.end.what == "job" else ""
    return f"{one.amount} from {one.origin.words}, {one.lot.words}: {end.get(one.end.kind, one.end.words)}{more}."
