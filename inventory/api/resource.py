"""A resource of the REST API: a blueprint whose every route behaves and is documented alike.

Each view parses, calls one function of the domain and returns its record; the rest is done here:

- an unknown query or body field is refused (422), a body that is no JSON too (400, 415);
- every write honours ``Idempotency-Key``;
- every answer to a read carries an ``ETag`` and honours ``If-None-Match`` (304);
- an edit (``edited``) needs ``If-Match`` (428 without, 412 when it is stale);
- a list comes in pages (``listed``).
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from flask import Response, request
from flask_smorest import Blueprint
from marshmallow import Schema

from inventory.api import etags, operation_docs, request_data
from inventory.api.pagination import DEFAULT_LIMIT, next_link, page_schema, paginate
from inventory.domain.common.records import ResultPage
from inventory.web.access import SAFE_METHODS
from inventory.web.idempotency import idempotent
from shared.urls import api_path

if TYPE_CHECKING:
    pass

View = Callable[..., Any]
JSON = "application/json"


class Resource(Blueprint):  # type: ignore[misc]
    """The routes of one resource, under /api/v1."""

    def __init__(self, name: str, about: str) -> None:
        super().__init__(name, f"{__name__}.{name}", url_prefix="/api/v1", description=about)

    def get(self, rule: str) -> Callable[[View], View]:
        """Read at an address."""
        return self._add_route("GET", rule)

    def post(self, rule: str) -> Callable[[View], View]:
        """Make or do something at an address."""
        return self._add_route("POST", rule)

    def put(self, rule: str) -> Callable[[View], View]:
        """Set what is at an address."""
        return self._add_route("PUT", rule)

    def patch(self, rule: str) -> Callable[[View], View]:
        """Edit what is at an address."""
        return self._add_route("PATCH", rule)

    def delete(self, rule: str) -> Callable[[View], View]:
        """Take away what is at an address."""
        return self._add_route("DELETE", rule)

    def _add_route(self, method: str, rule: str) -> Callable[[View], View]:
        def add(view: View) -> View:
            checked = view if getattr(view, "takes_query", False) else _reject_query(view)
            operation_docs.document_operation(checked, method, rule)
            self.route(rule, endpoint=f"{method.lower()}_{view.__name__}", methods=[method])(checked)
            return view

        return add

    def arguments(self, schema: Schema, *, location: str = "json", **about: Any) -> Callable[[View], View]:
        """Give the view what was sent in the body ("json", "files") or the address ("query"), checked by *schema*."""
        describe = super().arguments(schema, location=location, **about)

        def wrap(view: View) -> View:
            @wraps(view)
            def checked(*args: Any, **kwargs: Any) -> Any:
                return view(request_data.load_request(schema, location), *args, **kwargs)

            checked._apidoc = operation_docs.without_responses(describe(view)._apidoc, "arguments")  # type: ignore[attr-defined]
            if location == "query":
                checked.takes_query = True  # type: ignore[attr-defined]
            return checked

        return wrap

    def response(
        self, status: int, schema: Schema | None = None, *, with_etag: bool = True, content_type: str | None = None,
        read_only: bool = False, external_effect: bool = False,
    ) -> Callable[[View], View]:  # fmt: skip
        """Answer with *status* and what the view returns as *schema* shows it; writes are carried out once.

        A view may return (record, headers). *with_etag*: the answer is the record itself and carries its tag.
        *content_type*: the view returns bytes of this type. *read_only*: a POST that writes nothing.
        *external_effect*: see ``web.idempotency``.
        """
        content = {"type": "string", "contentMediaType": content_type} if content_type else schema
        describe = super().response(
            status,
            content,
            content_type=content_type,
            headers=operation_docs.success_headers(with_etag and status != 204),
        )

        def wrap(view: View) -> View:
            @wraps(view)
            def answered(*args: Any, **kwargs: Any) -> Response:
                return _to_response(view(*args, **kwargs), status, schema, with_etag)

            @wraps(view)
            def respond(*args: Any, **kwargs: Any) -> Response:
                act = answered if read_only or request.method in SAFE_METHODS else once
                response: Response = act(*args, **kwargs)
                return response

            once = idempotent(answered, external_effect=external_effect)
            respond._apidoc = describe(view)._apidoc  # type: ignore[attr-defined]
            respond.read_only = read_only  # type: ignore[attr-defined]
            return respond

        return wrap

    def edited(self, schema: Schema, read: Callable[..., Any]) -> Callable[[View], View]:
        """Answer with the edited record. *read* gives the record by its id, to hold its tag against If-Match.

        The view is called with what was sent (if anything), the id, and the version it may change (None: any).
        """

        def wrap(view: View) -> View:
            @wraps(view)
            def guarded(*body: Any, **ids: int) -> Any:
                keys = tuple(ids.values())
                return view(*body, *keys, etags.expected_version(read(*keys), schema))

            answer = self.response(200, schema)(guarded)

            @wraps(answer)
            def needing_tag(*args: Any, **kwargs: Any) -> Any:
                etags.require_if_match()
                return answer(*args, **kwargs)

            needing_tag.needs_tag = True  # type: ignore[attr-defined]
            return needing_tag

        return wrap

    def listed(
        self,
        item: Schema,
        *,
        key: str | Callable[[Any], Any] | None = None,
        parent: Callable[[int], Any] | None = None,
    ) -> Callable[[View], View]:
        """Answer with a page of *item*. With *key*, the view returns the whole (short) list, which is paged here.

        *key* tells items apart: an attribute ("part.id") or a function. *parent* reads what the list belongs to, by
        the id in the address, and so refuses one that does not exist.
        """
        page = page_schema(type(item))
        item_key = attrgetter(key) if isinstance(key, str) else key

        def wrap(view: View) -> View:
            @wraps(view)
            def paged(params: dict[str, Any], /, **ids: Any) -> Any:
                if parent is not None:
                    parent(next(iter(ids.values())))
                if item_key is None:
                    result: ResultPage = view(params, **ids)
                else:
                    after, limit = params.pop("after", None), params.pop("limit", DEFAULT_LIMIT)
                    result = paginate(view(params, **ids), after, limit, item_key)
                return result, next_link(result)

            answer = self.response(200, page)(paged)
            operation_docs.document_link_header(answer)
            return answer

        return wrap


def _reject_query(view: View) -> View:
    @wraps(view)
    def strict(*args: Any, **kwargs: Any) -> Any:
        request_data.reject_query()
        return view(*args, **kwargs)

    return strict


def _to_response(result: Any, status: int, schema: Schema | None, with_etag: bool) -> Response:
    if isinstance(result, Response):
        return result
    record, headers = result if type(result) is tuple else (result, {})
    if status == 204:
        return Response(status=204, headers=headers)
    text = etags.render_json(schema, record)
    response = Response(text, status, headers, content_type=JSON)
    return etags.set_etag(response, etags.compute_etag(text, record)) if with_etag else response


def location_header(what: str, key: int, below: str = "") -> dict[str, str]:
    """Return the header that says where the thing just made is: ``location_header("part", 7)``."""
    return {"Location": api_path(what, key) + below}
