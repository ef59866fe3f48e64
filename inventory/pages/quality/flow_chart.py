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
    """Some of a lot that went from an origin to an end; ``weight`` sets the width, ``amount`` says how much."""

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


def lot_flow_chart(trace: LotTrace) -> FlowChart:
    """Draw where one lot came from and where all of it went."""
    unit = trace.part.unit
    origin = _origin_endpoint(
        trace.origin.words, trace.origin.supplier_id, trace.origin.order_id, trace.origin.job_id
    )
    lot = FlowEndpoint(
        "lot", format_code(trace.lot.code), format_quantity(trace.lot.quantity, unit), "lot", trace.lot.id
    )
    ends = list(_lot_endpoints(trace))
    return _lay_out([Flow(origin, lot, end, number, format_quantity(number, unit)) for end, number in ends])


def _lot_endpoints(trace: LotTrace) -> Iterable[tuple[FlowEndpoint, int]]:
    for place in trace.places:
        yield (
            FlowEndpoint("shelf", f"bin {place.bin.shown_as}", "", "bin", place.bin.id),
            place.quantity + place.pieces,
        )
    fitted = [job for job in trace.jobs if job.quantity]
    for job in fitted[:MAX_ENDPOINTS]:
        kind = "open" if job.open else "closed"
        yield FlowEndpoint(kind, f"job {job.job.number}", job.job.customer, "job", job.job.id), job.quantity
    rest = fitted[MAX_ENDPOINTS:]
    if rest:
        yield FlowEndpoint("closed", f"{len(rest)} more jobs"), sum(job.quantity for job in rest)
    for kind, words, number in (
        ("returned", "sent back", trace.sent_back),
        ("scrapped", "scrapped", trace.scrapped),
        ("otherwise", "used otherwise", trace.otherwise),
    ):
        if number:
            yield FlowEndpoint(kind, words), number


def job_flow_chart(trace: JobTrace) -> FlowChart:
    """Draw what one job was made of, back to where it came from."""
    job = FlowEndpoint(
        "closed" if trace.job.status == "closed" else "open", f"job {trace.job.number}", "", "job", trace.job.id
    )
    flows = []
    for use in trace.used[:MAX_ENDPOINTS]:
        origin = _origin_endpoint(use.origin.words, use.origin.supplier_id, use.origin.order_id, use.origin.job_id)
        lot = FlowEndpoint("lot", use.part.name, format_code(use.lot.code), "lot", use.lot.id)
        weight = use.quantity if use.part.unit == "piece" else 1
        flows.append(Flow(origin, lot, job, weight, format_quantity(use.quantity, use.part.unit)))
    return _lay_out(flows)


def _origin_endpoint(words: str, supplier_id: int | None, order_id: int | None, job_id: int | None) -> FlowEndpoint:
    for what, key in (("order", order_id), ("supplier", supplier_id), ("job", job_id)):
        if key is not None:
            return FlowEndpoint("origin", words, "", what, key)
    return FlowEndpoint("origin", words)


# ---- laying out ------------------------------------------------------------------------------------------


def _lay_out(flows: Sequence[Flow]) -> FlowChart:
    columns = [
        _lay_out_column(
            COLUMNS[place], [(_endpoint_in_column(flow, place), flow.weight, flow.amount) for flow in flows]
        )
        for place in range(3)
    ]
    bands = [band for left in (0, 1) for band in _lay_out_bands(flows, left, columns)]
    stops = [stop for column in columns for stop in column.values()]
    height = max((stop.y + stop.height for stop in stops), default=0.0) + TOP
    return FlowChart(tuple(stops), tuple(bands), height, tuple(_sentence(flow) for flow in flows))


def _endpoint_in_column(flow: Flow, place: int) -> FlowEndpoint:
    return (flow.origin, flow.lot, flow.end)[place]


def _lay_out_column(x: float, shares: Iterable[tuple[FlowEndpoint, float, str]]) -> dict[FlowEndpoint, FlowNode]:
    """Stack the stops of one column, each as high as its share asks, none too thin for its words."""
    weights: dict[FlowEndpoint, float] = {}
    amounts: dict[FlowEndpoint, list[str]] = {}
    for end, weight, amount in shares:
        weights[end] = weights.get(end, 0.0) + weight
        amounts.setdefault(end, []).append(amount)
    total, y, nodes = sum(weights.values()) or 1.0, TOP, {}
    for end, weight in weights.items():
        height = max(MIN_NODE_HEIGHT, SHARED_HEIGHT * weight / total)
        single = amounts[end][0] if len(amounts[end]) == 1 and end.kind not in ("lot", "origin") else ""
        nodes[end] = FlowNode(end, x, y, round(height, 1), _shorten(end.words), _shorten(single or end.more))
        y += height + GAP
    return nodes


def _lay_out_bands(
    flows: Sequence[Flow], left: int, columns: Sequence[dict[FlowEndpoint, FlowNode]]
) -> Iterable[FlowBand]:
    """Join the stops of two neighbouring columns; bands share the height of a stop by their weights."""
    pairs: dict[tuple[FlowEndpoint, FlowEndpoint], float] = {}
    for flow in flows:
        pair = (_endpoint_in_column(flow, left), _endpoint_in_column(flow, left + 1))
        pairs[pair] = pairs.get(pair, 0.0) + flow.weight
    out_of, into_end = _totals(pairs, 0), _totals(pairs, 1)
    used: dict[tuple[int, FlowEndpoint], float] = {}
    for (start, end), weight in pairs.items():
        a, b = columns[left][start], columns[left + 1][end]
        thick_a, thick_b = a.height * weight / (out_of[start] or 1), b.height * weight / (into_end[end] or 1)
        top_a, top_b = a.y + used.get((0, start), 0.0), b.y + used.get((1, end), 0.0)
        used[0, start], used[1, end] = top_a - a.y + thick_a, top_b - b.y + thick_b
        yield FlowBand(_outline(a.x + BAR_WIDTH, top_a, thick_a, b.x, top_b, thick_b), end.kind if left else "lot")


def _totals(pairs: dict[tuple[FlowEndpoint, FlowEndpoint], float], side: int) -> dict[FlowEndpoint, float]:
    totals: dict[FlowEndpoint, float] = {}
    for pair, weight in pairs.items():
        totals[pair[side]] = totals.get(pair[side], 0.0) + weight
    return totals


def _outline(x1: float, y1: float, thick1: float, x2: float, y2: float, thick2: float) -> str:
    middle = (x1 + x2) / 2
    return (
        f"M{x1:.1f} {y1:.1f}C{middle:.1f} {y1:.1f} {middle:.1f} {y2:.1f} {x2:.1f} {y2:.1f}V{y2 + thick2:.1f}"
        f"C{middle:.1f} {y2 + thick2:.1f} {middle:.1f} {y1 + thick1:.1f} {x1:.1f} {y1 + thick1:.1f}Z"
    )


def _shorten(words: str) -> str:
    return words if len(words) <= MAX_WORD_LENGTH else words[: MAX_WORD_LENGTH - 1].rstrip() + "…"


def _sentence(flow: Flow) -> str:
    end = {
        "shelf": f"in {flow.end.words}",
        "open": f"in {flow.end.words}, still open",
        "closed": f"in {flow.end.words}",
    }
    more = f" ({flow.end.more})" if flow.end.more and flow.end.what == "job" else ""
    return (
        f"{flow.amount} from {flow.origin.words}, {flow.lot.words}: {end.get(flow.end.kind, flow.end.words)}{more}."
    )
