"""What every refusal of the API looks like."""

from __future__ import annotations

from typing import Any

from werkzeug.test import TestResponse

from inventory.api.operation_docs import PROBLEM_SCHEMA


def checked_problem(answer: TestResponse, status: int, reason: str | None = None) -> dict[str, Any]:
    """Return the problem that *answer* tells, after checking its form (RFC 9457 and our own fixed keys)."""
    assert answer.status_code == status, answer.text[:500]
    assert answer.content_type == "application/problem+json"
    told: dict[str, Any] = answer.get_json()
    assert {"type", "title", "status", "detail", "reason"} <= set(told)
    assert set(told) <= set(PROBLEM_SCHEMA["properties"])
    assert told["status"] == status
    assert told["type"] == f"/api/#error-{status}"
    assert told["title"]
    assert len(told["detail"]) > 12
    assert told["detail"].lstrip("' ")[0].isalnum()  # it may begin with what was sent, in quotes
    assert told["detail"].rstrip()[-1] in ".?!)", told["detail"]
    assert "Traceback" not in answer.text
    if reason is not None:
        assert told["reason"] == reason
    return told
