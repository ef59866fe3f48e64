"""A picture of how stock flowed, from origins over lots to where it ended: positions only, a template draws them.

Three columns of stops with bands between them, each as thick as what went that way. Drawn about as wide as a
phone, so that its words can be read there.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.domain.quality.trace_records import JobTrace, LotTrace
from shared.codes import format_code
from shared.quantities import format_quantity

WIDTH = 360.0
COLUMNS = (4.0, 132.0, 260.0)  # left edge of each column's bar
BAR_WIDTH = 8.0
TOP, GAP = 6.0, 9.0
MIN_NODE_HEIGHT, SHARED_HEIGHT = 30.0, 170.0  # height of the thinnest stop; height that the shares are spread over
MAX_ENDPOINTS = 14
MAX_WORD_LENGTH = 16  # characters of a word that fit beside a bar


@dataclass(frozen=True)
class FlowEndpoint:
    """A place where something started or ended: its kind (for the colour), what to say, and where a tap leads."""

    kind: str
    words: str
    more: str = ""
    what: str = ""
    key: int = 0


@dataclass(frozen=True)
class Flow:
    """Some of a lot that went from an origin to an end; ``weight`` says how thick, ``amount`` in words how much."""

    origin: FlowEndpoint
    lot: FlowEndpoint
    end: FlowEndpoint
    weight: float
    amount: str


@dataclass(frozen=True)
class FlowNode:
    """A stop as drawn: a bar with words beside it."""

    end: FlowEndpoint
    x: float
    y: float
    height: float
    words: str
    more: str


@dataclass(frozen=True)
class FlowBand:
    """What flowed from one stop to another, as the outline of a shape."""

    path: str
    kind: str


@dataclass(frozen=True)
class FlowChart:
    """The whole picture, and the same in sentences."""

    stops: tuple[FlowNode, ...]
    bands: tuple[FlowBand, ...]
    height: float
    sentences: tuple[str, ...]


def lot_flow_chart(found: LotTrace) -> FlowChart:
    """Draw where one lot came from and where all of it went."""
    unit = found.part.unit
    origin = _origin_endpoint(
        found.origin.words, found.origin.supplier_id, found.origin.order_id, found.origin.job_id
    )
    lot = FlowEndpoint(
        "lot", format_code(found.lot.code), format_quantity(found.lot.quantity, unit), "lot", found.lot.id
    )
    ends = list(_lot_endpoints(found))
    return _lay_out([Flow(origin, lot, end, number, format_quantity(number, unit)) for end, number in ends])


def _lot_endpoints(found: LotTrace) -> Iterable[tuple[FlowEndpoint, int]]:
    for place in found.places:
        yield (
            FlowEndpoint("shelf", f"bin {place.bin.shown_as}", "", "bin", place.bin.id),
            place.quantity + place.pieces,
        )
    fitted = [job for job in found.jobs if job.quantity]
    for job in fitted[:MAX_ENDPOINTS]:
        kind = "open" if job.open else "closed"
        yield FlowEndpoint(kind, f"job {job.job.number}", job.job.customer, "job", job.job.id), job.quantity
    rest = fitted[MAX_ENDPOINTS:]
    if rest:
        yield FlowEndpoint("closed", f"{len(rest)} more jobs"), sum(one.quantity for one in rest)
    for kind, words, number in (
        ("returned", "sent back", found.sent_back),
        ("scrapped", "scrapped", found.scrapped),
        ("otherwise", "used otherwise", found.otherwise),
    ):
        if number:
            yield FlowEndpoint(kind, words), number


def job_flow_chart(found: JobTrace) -> FlowChart:
    """Draw what one job was made of, back to where it came from."""
    job = FlowEndpoint(
        "closed" if found.job.status == "closed" else "open", f"job {found.job.number}", "", "job", found.job.id
    )
    went = []
    for one in found.used[:MAX_ENDPOINTS]:
        origin = _origin_endpoint(one.origin.words, one.origin.supplier_id, one.origin.order_id, one.origin.job_id)
        lot = FlowEndpoint("lot", one.part.name, format_code(one.lot.code), "lot", one.lot.id)
        weight = one.quantity if one.part.unit == "piece" else 1
        went.append(Flow(origin, lot, job, weight, format_quantity(one.quantity, one.part.unit)))
    return _lay_out(went)


def _origin_endpoint(words: str, supplier_id: int | None, order_id: int | None, job_id: int | None) -> FlowEndpoint:
    for what, key in (("order", order_id), ("supplier", supplier_id), ("job", job_id)):
        if key is not None:
            return FlowEndpoint("origin", words, "", what, key)
    return FlowEndpoint("origin", words)


# ---- laying out ------------------------------------------------------------------------------------------


def _lay_out(went: Sequence[Flow]) -> FlowChart:
    columns = [
        _lay_out_column(COLUMNS[place], [(_endpoint_in_column(one, place), one.weight, one.amount) for one in went])
        for place in range(3)
    ]
    bands = [band for left in (0, 1) for band in _lay_out_bands(went, left, columns)]
    stops = [stop for column in columns for stop in column.values()]
    height = max((stop.y + stop.height for stop in stops), default=0.0) + TOP
    return FlowChart(tuple(stops), tuple(bands), height, tuple(_sentence(one) for one in went))


def _endpoint_in_column(one: Flow, place: int) -> FlowEndpoint:
    return (one.origin, one.lot, one.end)[place]


def _lay_out_column(x: float, found: Iterable[tuple[FlowEndpoint, float, str]]) -> dict[FlowEndpoint, FlowNode]:
    """Stack the stops of one column, each as high as its share asks, none too thin for its words."""
    weights: dict[FlowEndpoint, float] = {}
    amounts: dict[FlowEndpoint, list[str]] = {}
    for end, weight, amount in found:
        weights[end] = weights.get(end, 0.0) + weight
        amounts.setdefault(end, []).append(amount)
    total, y, made = sum(weights.values()) or 1.0, TOP, {}
    for end, weight in weights.items():
        height = max(MIN_NODE_HEIGHT, SHARED_HEIGHT * weight / total)
        single = amounts[end][0] if len(amounts[end]) == 1 and end.kind not in ("lot", "origin") else ""
        made[end] = FlowNode(end, x, y, round(height, 1), _shorten(end.words), _shorten(single or end.more))
        y += height + GAP
    return made


def _lay_out_bands(
    went: Sequence[Flow], left: int, columns: Sequence[dict[FlowEndpoint, FlowNode]]
) -> Iterable[FlowBand]:
    """Join the stops of two neighbouring columns; bands share the height of a stop by their weights."""
    pairs: dict[tuple[FlowEndpoint, FlowEndpoint], float] = {}
    for one in went:
        pair = (_endpoint_in_column(one, left), _endpoint_in_column(one, left + 1))
        pairs[pair] = pairs.get(pair, 0.0) + one.weight
    out_of, into = _totals(pairs, 0), _totals(pairs, 1)
    used: dict[tuple[int, FlowEndpoint], float] = {}
    for (start, end), weight in pairs.items():
        a, b = columns[left][start], columns[left + 1][end]
        thick_a, thick_b = a.height * weight / (out_of[start] or 1), b.height * weight / (into[end] or 1)
        top_a, top_b = a.y + used.get((0, start), 0.0), b.y + used.get((1, end), 0.0)
        used[0, start], used[1, end] = top_a - a.y + thick_a, top_b - b.y + thick_b
        yield FlowBand(_outline(a.x + BAR_WIDTH, top_a, thick_a, b.x, top_b, thick_b), end.kind if left else "lot")


def _totals(pairs: dict[tuple[FlowEndpoint, FlowEndpoint], float], side: int) -> dict[FlowEndpoint, float]:
    found: dict[FlowEndpoint, float] = {}
    for pair, weight in pairs.items():
        found[pair[side]] = found.get(pair[side], 0.0) + weight
    return found


def _outline(x1: float, y1: float, thick1: float, x2: float, y2: float, thick2: float) -> str:
    middle = (x1 + x2) / 2
    return (
        f"M{x1:.1f} {y1:.1f}C{middle:.1f} {y1:.1f} {middle:.1f} {y2:.1f} {x2:.1f} {y2:.1f}V{y2 + thick2:.1f}"
        f"C{middle:.1f} {y2 + thick2:.1f} {middle:.1f} {y1 + thick1:.1f} {x1:.1f} {y1 + thick1:.1f}Z"
    )


def _shorten(words: str) -> str:
    return words if len(words) <= MAX_WORD_LENGTH else words[: MAX_WORD_LENGTH - 1].rstrip() + "…"


def _sentence(one: Flow) -> str:
    end = {"shelf": f"in {one.end.words}", "open": f"in {one.end.words}, still open", "closed": f"in {one.end.words}"}
    more = f" ({one.end.more})" if one.end.more and one.end.what == "job" else ""
    return f"{one.amount} from {one.origin.words}, {one.lot.words}: {end.get(one.end.kind, one.end.words)}{more}."
