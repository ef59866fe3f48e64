"""A resource of the REST API: a blueprint whose every route behaves and is documented alike.

Each view parses, calls one function of ``stock`` and returns its record; the rest is said here, once:

- an unknown query or body field is refused (422), a body that is no JSON too (400, 415);
- every write honours ``Idempotency-Key``;
- every answer to a read carries an ``ETag`` and honours ``If-None-Match`` (304);
- an edit (``edited``) needs ``If-Match`` (428 without, 412 when it is stale);
- a list comes in pages (``listing``).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import wraps
from typing import TYPE_CHECKING, Any

from flask import Response, request
from flask_smorest import Blueprint
from marshmallow import Schema
from werkzeug.datastructures import Headers

from inventory.api import etags, operation_docs, request_data
from inventory.api.pagination import USUAL, cut, next_link, page_schema
from inventory.domain.common.records import Page
from inventory.web.access import READING
from inventory.web.idempotency import once
from shared.urls import api_path

if TYPE_CHECKING:
    from _typeshed.wsgi import WSGIEnvironment

View = Callable[..., Any]
JSON = "application/json"


class Resource(Blueprint):  # type: ignore[misc]
    """The routes of one resource, under /api/v1."""

    def __init__(self, name: str, about: str) -> None:
        super().__init__(name, f"{__name__}.{name}", url_prefix="/api/v1", description=about)

    def get(self, rule: str) -> Callable[[View], View]:
        """Read at an address."""
        return self._put("GET", rule)

    def post(self, rule: str) -> Callable[[View], View]:
        """Make or do something at an address."""
        return self._put("POST", rule)

    def put(self, rule: str) -> Callable[[View], View]:
        """Set what is at an address."""
        return self._put("PUT", rule)

    def patch(self, rule: str) -> Callable[[View], View]:
        """Edit what is at an address."""
        return self._put("PATCH", rule)

    def delete(self, rule: str) -> Callable[[View], View]:
        """Take away what is at an address."""
        return self._put("DELETE", rule)

    def _put(self, method: str, rule: str) -> Callable[[View], View]:
        def put(view: View) -> View:
            front = view if getattr(view, "takes_query", False) else _without_query(view)
            operation_docs.describe(front, method, rule)
            self.route(rule, endpoint=f"{method.lower()}_{view.__name__}", methods=[method])(front)
            return view

        return put

    def arguments(self, schema: Schema, *, location: str = "json", **about: Any) -> Callable[[View], View]:
        """Give the view what was sent in the body ("json", "files") or the address ("query"), checked by *schema*."""
        describe = super().arguments(schema, location=location, **about)

        def wrap(view: View) -> View:
            @wraps(view)
            def checked(*args: Any, **kwargs: Any) -> Any:
                return view(request_data.loaded(schema, location), *args, **kwargs)

            checked._apidoc = operation_docs.without_responses(describe(view)._apidoc, "arguments")  # type: ignore[attr-defined]
            if location == "query":
                checked.takes_query = True  # type: ignore[attr-defined]
            return checked

        return wrap

    def response(
        self, status: int, schema: Schema | None = None, *, entity: bool = True, content: str | None = None,
        reads: bool = False, outside: bool = False,
    ) -> Callable[[View], View]:  # fmt: skip
        """Answer with *status* and what the view returns as *schema* shows it; writes are carried out once.

        A view may return (record, headers). *entity*: the answer is the thing itself, and so carries its tag.
        *content*: the view answers with bytes of this type. *reads*: nothing is written, though it is a POST.
        *outside*: see ``once``.
        """
        shown = {"type": "string", "contentMediaType": content} if content else schema
        describe = super().response(
            status, shown, content_type=content, headers=operation_docs.headers(entity and status != 204)
        )

        def wrap(view: View) -> View:
            @wraps(view)
            def answered(*args: Any, **kwargs: Any) -> Response:
                return _answer(view(*args, **kwargs), status, schema, entity)

            @wraps(view)
            def either(*args: Any, **kwargs: Any) -> Response:
                act = answered if reads or request.method in READING else kept
                response: Response = act(*args, **kwargs)
                return response

            kept = once(answered, outside=outside)
            either._apidoc = describe(view)._apidoc  # type: ignore[attr-defined]
            either.reads_only = reads  # type: ignore[attr-defined]
            return either

        return wrap

    def edited(self, schema: Schema, read: Callable[..., Any]) -> Callable[[View], View]:
        """Answer with the edited record. *read* gives the record by its id, to hold its tag against If-Match.

        The view is called with what was sent (if anything), the id, and the version it may change (None: any).
        """

        def wrap(view: View) -> View:
            @wraps(view)
            def guarded(*given: Any, **ids: int) -> Any:
                keys = tuple(ids.values())
                return view(*given, *keys, etags.expected_version(read(*keys), schema))

            answer = self.response(200, schema)(guarded)

            @wraps(answer)
            def needing_tag(*args: Any, **kwargs: Any) -> Any:
                etags.need_tag()
                return answer(*args, **kwargs)

            needing_tag.needs_tag = True  # type: ignore[attr-defined]
            return needing_tag

        return wrap

    def listed(
        self, item: Schema, *, key: Callable[[Any], Any] | None = None, of: Callable[[int], Any] | None = None
    ) -> Callable[[View], View]:
        """Answer with a page of *item*. With *key*, the view returns the whole (short) list, and is cut here.

        *of* reads what the list belongs to, by the id in the address, and so refuses one that does not exist.
        """
        page = page_schema(type(item))

        def wrap(view: View) -> View:
            @wraps(view)
            def paged(asked: dict[str, Any], /, **ids: Any) -> Any:
                if of is not None:
                    of(next(iter(ids.values())))
                if key is None:
                    found: Page = view(asked, **ids)
                else:
                    after, limit = asked.pop("after", None), asked.pop("limit", USUAL)
                    whole: Sequence[Any] = view(asked, **ids)
                    found = cut(whole, after, limit, key)
                return found, next_link(found)

            made = self.response(200, page)(paged)
            operation_docs.add_link(made)
            return made

        return wrap


def _without_query(view: View) -> View:
    @wraps(view)
    def strict(*args: Any, **kwargs: Any) -> Any:
        request_data.refuse_query()
        return view(*args, **kwargs)

    return strict


class _Told(Response):
    """An answer of ours: whole, and with an address (see ``at``) in ASCII, so that nothing of it is to be mended."""

    def get_wsgi_headers(self, environ: WSGIEnvironment) -> Headers:
        """Return the headers to send."""
        return super().get_wsgi_headers(environ) if self.status_code == 304 else self.headers


def _answer(made: Any, status: int, schema: Schema | None, entity: bool) -> Response:
    if isinstance(made, Response):
        return made
    record, headers = made if type(made) is tuple else (made, {})
    if status == 204:
        return Response(status=204, headers=headers)
    text = etags.rendered(schema, record)
    response = _Told(text, status, headers, content_type=JSON)
    return etags.marked(response, etags.tag_of(text, record)) if entity else response


def at(what: str, key: int, below: str = "") -> dict[str, str]:
    """Return the header that says where the thing just made is: ``at("part", 7)``."""
    return {"Location": api_path(what, key) + below}
