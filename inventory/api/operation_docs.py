"""Says of every operation what the code around its view does: headers, roles, and everything that can go wrong."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from typing import Any

from flask_smorest.utils import deepupdate

PROBLEM_TYPE = "application/problem+json"

PROBLEM_NAMES = {
    400: "Unreadable", 401: "NotSignedIn", 403: "NotAllowed", 404: "NotFound", 409: "NotDone",
    412: "ChangedMeanwhile", 413: "TooLarge", 415: "WrongType", 422: "CannotBeRight",
    428: "NoTag", 500: "Unexpected", 503: "Busy",
}  # fmt: skip

PROBLEM_SCHEMA: dict[str, Any] = {
    "type": "object",
    "description": "Why something was not done (RFC 9457).",
    "required": ["type", "title", "status", "detail", "reason"],
    "properties": {
        "type": {"type": "string", "description": "/api/#error- and the status: where such errors are explained."},
        "title": {"type": "string", "description": "The kind of refusal, in a few words."},
        "status": {"type": "integer", "description": "The HTTP status."},
        "detail": {"type": "string", "description": "A sentence for people that says what to do."},
        "reason": {"type": "string", "description": "A short fixed word for programs."},
        "errors": {"type": "object", "description": "What is wrong, by field: sentences, or the fields inside."},
        "available": {"type": "integer", "description": "With not_enough: how many are there."},
        "did_you_mean": {
            "type": "array", "items": {"type": "string"}, "description": "Known codes that one slip turns into this.",
        },
        "least": {"type": "integer", "description": "With not_whole_packs: how many to order at the least."},
        "attribute": {"type": "string", "description": "The attribute that the part lacks."},
        "wait_seconds": {"type": "integer", "description": "With busy: when to try again (Retry-After says it too)."},
        "evidence_ids": {
            "type": "array", "items": {"type": "integer"}, "description": "Observations that contradict each other.",
        },
    },
}  # fmt: skip

HEADER_PARAMETERS: dict[str, dict[str, Any]] = {
    "IdempotencyKey": {
        "name": "Idempotency-Key", "in": "header", "schema": {"type": "string", "minLength": 1, "maxLength": 200},
        "description": "A fresh random word for each action. Repeated with the same body, it gets the first answer "
        "again, marked Benchproof-Repeated: true, and nothing happens twice.",
    },
    "IfMatch": {
        "name": "If-Match", "in": "header", "required": True, "schema": {"type": "string"},
        "description": "The ETag of what you read, or * to overwrite whatever is there.",
    },
    "IfNoneMatch": {
        "name": "If-None-Match", "in": "header", "schema": {"type": "string"},
        "description": "The ETag of what you have: 304 when it is still the same.",
    },
}  # fmt: skip

_RESPONSE_HEADERS: dict[str, dict[str, Any]] = {
    "ETag": {"schema": {"type": "string"}, "description": "Strong mark of just what was answered."},
    "Link": {"schema": {"type": "string"}, "description": 'Address of the next page, rel="next".'},
    "Location": {"schema": {"type": "string"}, "description": "Address of what was made."},
    "Benchproof-Repeated": {
        "schema": {"type": "string", "enum": ["true"]}, "description": "This is the answer to an earlier request.",
    },
}  # fmt: skip


def success_headers(entity: bool) -> dict[str, Any] | None:
    """Return the documented headers of a success."""
    return {"ETag": _RESPONSE_HEADERS["ETag"]} if entity else None


def without_responses(apidoc: dict[str, Any], part: str) -> dict[str, Any]:
    """Drop the library's own error answers from *part* of a view's document: ours are added by ``describe``."""
    apidoc[part].pop("responses", None)
    return apidoc


def document_link_header(view: Any) -> None:
    """Document that the answer of *view* may carry a Link header."""
    _merge_manual_doc(view, {"responses": {200: {"headers": {"Link": _RESPONSE_HEADERS["Link"]}}}})


def document_operation(view: Any, method: str, rule: str) -> None:
    """Add to the document of *view* what holds for every operation of this *method* at this *rule*."""
    reads = method == "GET"
    added: dict[str, Any] = {
        "responses": {status: PROBLEM_NAMES[status] for status in _problem_statuses(view, method, rule)},
        "x-role": getattr(view, "needed_role", None) or ("viewer" if reads else "tech"),
    }
    if reads:
        added["responses"][304] = {"description": "You have the newest: nothing is sent."}
    for status in view._apidoc.get("success_status_codes", ()):
        if not reads and not getattr(view, "read_only", False):
            headers = {"Benchproof-Repeated": _RESPONSE_HEADERS["Benchproof-Repeated"]}
            if status == 201:
                headers["Location"] = _RESPONSE_HEADERS["Location"]
            added["responses"][status] = {"headers": headers}
    _merge_manual_doc(view, added)
    _add_header_parameters(view, method)


def _problem_statuses(view: Any, method: str, rule: str) -> list[int]:
    statuses = [401, 403, 422, 500, 503]
    statuses += getattr(view, "answers_too", ())
    if "<" in rule or method != "GET":
        statuses.append(404)
    if method != "GET":
        statuses.append(409)
    if _takes_body(view):
        statuses += [400, 413, 415]
    if _needs_if_match(view):
        statuses += [412, 428]
    return sorted(set(statuses))


def _needs_if_match(view: Any) -> bool:
    return bool(getattr(view, "needs_tag", False))


def _takes_body(view: Any) -> bool:
    parameters = view._apidoc.get("arguments", {}).get("parameters", [])
    return any(isinstance(parameter, dict) and parameter.get("in") in ("json", "files") for parameter in parameters)


def _add_header_parameters(view: Any, method: str) -> None:
    names = (
        ["IfNoneMatch"] if method == "GET" else ["IdempotencyKey", *(["IfMatch"] if _needs_if_match(view) else [])]
    )
    if getattr(view, "read_only", False):
        names = []
    arguments = view._apidoc.setdefault("arguments", {})
    arguments["parameters"] = [*arguments.get("parameters", []), *names]


def _merge_manual_doc(view: Any, added: dict[str, Any]) -> None:
    view._apidoc = deepcopy(getattr(view, "_apidoc", {}))
    view._apidoc["manual_doc"] = deepupdate(view._apidoc.get("manual_doc", {}), added)


def extra_statuses(*statuses: int) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Document refusals that are not usual for such an operation: a read that may be refused (409), say."""

    def mark(view: Callable[..., Any]) -> Callable[..., Any]:
        view.answers_too = statuses  # type: ignore[attr-defined]
        return view

    return mark
