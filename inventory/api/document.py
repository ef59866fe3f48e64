"""The OpenAPI 3.1 document of the whole API, built once, when somebody first asks for it."""

from __future__ import annotations

from copy import deepcopy
from functools import cache
from typing import Any

from apispec.ext.marshmallow import MarshmallowPlugin
from flask import Flask
from flask_smorest import Api

from inventory.api import fields, operation_docs, resources
from inventory.api.converters import IdConverter, register_converters
from inventory.web.errors import ERROR_EXPLANATIONS

TITLE = "Benchproof"
INTRODUCTION = """
Everything the pages can do, for programs. Send a token with every request (`Authorization: Bearer bp_...`; the owner
makes one with `POST /api/v1/tokens` or `benchproof token add`). Bodies are JSON objects in UTF-8.

- **Quantities** are whole base units of the part (pieces, mg, g, ml, mm), **money** whole minor units of the shop's
  currency (`..._minor`), **times** UTC (`2026-03-31T09:30:00Z`), **days** `2026-03-31`.
- **Once**: send a fresh `Idempotency-Key` with each write. If the connection drops, send the same again: you get the
  first answer, marked `Benchproof-Repeated: true`, and nothing happens twice.
- **Edits** need `If-Match` with the ETag of what you read, so that nobody overwrites somebody else's change.
- **Lists** come in pages: go on with `after` set to the `next` of the page before, until it is null.
- **Refusals** are problem details (RFC 9457): `detail` is a sentence for people, `reason` a fixed word for programs.
""".strip()


class _DocumentApi(Api):  # type: ignore[misc]
    """The document's maker; what goes wrong is answered by ``inventory.errors``, not by it."""

    DEFAULT_ERROR_RESPONSE_NAME = None

    def _register_error_handlers(self) -> None:
        pass


@cache
def openapi_document() -> dict[str, Any]:
    """Return the OpenAPI document. It depends on the code alone, so that every service shares one."""
    app = Flask("inventory")
    register_converters(app)
    api = _DocumentApi(
        app,
        spec_kwargs={
            "title": TITLE, "version": "1", "openapi_version": "3.1.0",
            "info": {"description": INTRODUCTION, "license": {"name": "MIT", "identifier": "MIT"}},
            "servers": [{"url": "/"}],
            "marshmallow_plugin": MarshmallowPlugin(schema_name_resolver=_schema_name),
        },
    )  # fmt: skip
    api.register_converter(IdConverter, lambda _: {"type": "integer", "minimum": 1, "maximum": fields.MAX_ID})
    _add_components(api.spec)
    for resource in resources.RESOURCES:
        api.register_blueprint(resource)
    return _finish_document(api.spec.to_dict())


def _schema_name(schema: Any) -> str:
    """Name a schema in the document: ``PartOut`` is Part there, ``PartIn`` and ``PartEdit`` keep their names."""
    schema_class = schema if isinstance(schema, type) else type(schema)
    return str(schema_class.__name__).removesuffix("Out")


def _add_components(spec: Any) -> None:
    spec.components.schema("Problem", operation_docs.PROBLEM_SCHEMA)
    content = {operation_docs.PROBLEM_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    for status, name in operation_docs.PROBLEM_NAMES.items():
        spec.components.response(name, {"description": ERROR_EXPLANATIONS[status], "content": content})
    for name, parameter in operation_docs.HEADER_PARAMETERS.items():
        spec.components.parameter(name, parameter["in"], deepcopy(parameter))
    spec.components.security_scheme("token", {"type": "http", "scheme": "bearer", "description": "A token: bp_..."})


def _finish_document(document: dict[str, Any]) -> dict[str, Any]:
    document["security"] = [{"token": []}]
    for name, schema in document["components"]["schemas"].items():
        if name.endswith("Edit"):
            schema["minProperties"] = 1
    return document
