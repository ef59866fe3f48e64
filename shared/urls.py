"""Where each kind of thing is read: its page for people, and its resource for programs. The one table of both."""

from __future__ import annotations

API = "/api/v1"

# kind of thing: below which path its page is, and its resource in the API; "" where there is none
PATHS: dict[str, tuple[str, str]] = {
    "alert": ("", "alerts"),
    "alert message": ("", "alert-messages"),
    "attachment": ("files", "attachments"),
    "backup": ("backups", ""),
    "bin": ("bins", "bins"),
    "count walk": ("counting", "count-walks"),
    "evidence": ("", "evidence"),
    "incoming check": ("incoming", "incoming-checks"),
    "job": ("jobs", "jobs"),
    "label size": ("labels/sizes", "label-sizes"),
    "loan": ("", "loans"),
    "lot": ("lots", "lots"),
    "movement": ("", "movements"),
    "notice": ("notices", "notices"),
    "offer": ("offers", "offers"),
    "order": ("orders", "orders"),
    "pairing": ("", "pairings"),
    "part": ("parts", "parts"),
    "person": ("people", "people"),
    "piece": ("pieces", "pieces"),
    "print offset": ("", "print-offsets"),
    "procedure": ("procedures", "procedures"),
    "proof": ("", "proofs"),
    "sent back": ("sent-back", "sent-back"),
    "stock list": ("stock-lists", "stock-lists"),
    "supplier": ("suppliers", "suppliers"),
    "unit model": ("unit-models", "unit-models"),
}


def page_path(what: str, key: int) -> str:
    """Return the path of a thing's page: ``page_path("bin", 3)``. Raises KeyError for a kind that has no page."""
    return f"/{_below(what, 0)}/{key}"


def api_path(what: str, key: int) -> str:
    """Return the path of a thing's resource in the API. Raises KeyError for a kind that has none."""
    return f"{API}/{_below(what, 1)}/{key}"


def _below(what: str, which: int) -> str:
    path = PATHS[what][which]
    if not path:
        raise KeyError(what)
    return path
