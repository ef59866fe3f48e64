"""Turns the OpenAPI document into what its page shows: plain lists of operations, fields and answers."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

METHODS = ("get", "post", "put", "patch", "delete")
MULTIPART = "multipart/form-data"
Schema = Mapping[str, Any]


@dataclass(frozen=True)
class DocField:
    """One field of a body or an answer, or one parameter."""

    name: str
    kind: str  # "whole number", "text", "list of Lot"
    about: str
    needed: bool = False
    place: str = ""  # path, query, header
    link: str = ""  # the schema it is, or is a list of


@dataclass(frozen=True)
class DocResponse:
    """One answer that an operation may give."""

    status: int
    about: str
    link: str = ""


@dataclass(frozen=True)
class DocOperation:
    """One method at one address."""

    method: str
    path: str
    summary: str
    about: str
    role: str
    parameters: tuple[DocField, ...]
    body: tuple[DocField, ...]
    answers: tuple[DocResponse, ...]
    example: str

    @property
    def anchor(self) -> str:
        """A name for links on the page."""
        return f"{self.method}{self.path}".replace("/", "-").replace("{", "").replace("}", "").lower()


@dataclass(frozen=True)
class DocGroup:
    """The operations of one resource."""

    name: str
    about: str
    operations: tuple[DocOperation, ...]


def operation_groups(document: Schema) -> list[DocGroup]:
    """Return every operation of the document, by resource."""
    operations: dict[str, list[DocOperation]] = {tag["name"]: [] for tag in document["tags"]}
    for path, item in document["paths"].items():
        shared = item.get("parameters", [])
        for method in METHODS:
            if method in item:
                operation = _read_operation(document, path, method, item[method], shared)
                operations[item[method]["tags"][0]].append(operation)
    return [
        DocGroup(tag["name"], tag.get("description", ""), tuple(operations[tag["name"]])) for tag in document["tags"]
    ]


def response_schemas(document: Schema) -> dict[str, tuple[DocField, ...]]:
    """Return the fields of every named schema that an answer holds, by name."""
    operations = (item[method] for item in document["paths"].values() for method in METHODS if method in item)
    names = _linked_schemas(document, [operation["responses"] for operation in operations])
    return {name: _read_fields(document, document["components"]["schemas"][name]) for name in sorted(names)}


def _linked_schemas(document: Schema, node: Any) -> set[str]:
    """Return the names of the schemas that *node* refers to, however deep."""
    links: set[str] = set()
    waiting = [node]
    while waiting:
        new = set(re.findall(r'"(#/components/[^"]+)"', json.dumps(waiting.pop()))) - links
        links |= new
        waiting += [_resolve_ref(document, {"$ref": link}) for link in new]
    return {link.rsplit("/", 1)[-1] for link in links if link.startswith("#/components/schemas/")}


def _read_operation(document: Schema, path: str, method: str, operation: Schema, shared: list[Any]) -> DocOperation:
    schema = _body_schema(document, operation)
    responses = sorted(operation["responses"].items())
    summary, about, role = (str(operation.get(key, "")) for key in ("summary", "description", "x-role"))
    return DocOperation(
        method.upper(),
        path,
        summary,
        about,
        role,
        tuple(_read_parameter(document, node) for node in (*shared, *operation.get("parameters", []))),
        _read_fields(document, schema) if schema else (),
        tuple(_read_response(document, int(status), response) for status, response in responses),
        _curl_example(path, method, schema, operation),
    )


def _body_schema(document: Schema, operation: Schema) -> Schema | None:
    content = operation.get("requestBody", {}).get("content", {})
    return _resolve_ref(document, next(iter(content.values()))["schema"]) if content else None


def _resolve_ref(document: Schema, node: Any) -> Any:
    """Follow a reference, if *node* is one."""
    if "$ref" not in node:
        return node
    target: Any = document
    for step in node["$ref"].removeprefix("#/").split("/"):
        target = target[step]
    return target


def _read_parameter(document: Schema, node: Any) -> DocField:
    parameter = _resolve_ref(document, node)
    kind, _ = _describe_type(parameter["schema"])
    about, needed = parameter.get("description", ""), parameter.get("required", False)
    return DocField(parameter["name"], kind, about, needed, parameter["in"])


def _read_fields(document: Schema, schema: Any) -> tuple[DocField, ...]:
    required = set(schema.get("required", ()))
    fields = []
    for name, node in schema.get("properties", {}).items():
        kind, link = _describe_type(node)
        fields.append(DocField(name, kind, node.get("description", ""), name in required, link=link))
    return tuple(fields)


_TYPE_NAMES = {
    "integer": "whole number", "string": "text", "boolean": "true or false", "object": "pairs", "null": "null",
    "number": "number", "array": "list",
}  # fmt: skip


def _describe_type(node: Any) -> tuple[str, str]:
    """Say in words what kind of value a schema node takes, and which named schema it is about."""
    options = node.get("anyOf", [node])
    kinds, link = [], ""
    for option in options:
        if "$ref" in option:
            link = option["$ref"].rsplit("/", 1)[-1]
            kinds.append(link)
        elif option.get("type") == "array":
            inner, link = _describe_type(option.get("items", {}))
            kinds.append(f"list of {inner}")
        else:
            types = option.get("type", "any")
            kinds += [_TYPE_NAMES.get(t, t) for t in (types if isinstance(types, list) else [types])]
    return " or ".join(kinds) + _bounds_text(node), link


def _bounds_text(node: Any) -> str:
    if "enum" in node:
        return ": " + ", ".join("(empty)" if word == "" else str(word) for word in node["enum"] if word is not None)
    if node.get("format") in ("date", "date-time"):
        return ", a day" if node["format"] == "date" else ", a moment in UTC"
    if "maxLength" in node:
        return f", up to {node['maxLength']} characters"
    low, high = node.get("minimum"), node.get("maximum")
    if high is not None and high < 2**31 - 1:
        return f" from {low} to {high}"
    return f", {low} or more" if low is not None else ""


def _read_response(document: Schema, status: int, node: Any) -> DocResponse:
    answer = _resolve_ref(document, node)
    schema = answer.get("content", {}).get("application/json", {}).get("schema", {})
    name = schema.get("$ref", "").rsplit("/", 1)[-1]
    return DocResponse(status, answer.get("description", HTTPStatus(status).phrase), name)


def _curl_example(path: str, method: str, schema: Schema | None, operation: Schema) -> str:
    """Write the operation as a curl command, with the fields that must be there."""
    parameters = operation.get("parameters", [])
    query = "&".join(f"{parameter['name']}=..." for parameter in parameters if _is_required_query(parameter))
    command = f'curl "$BENCH{_with_sample_ids(path)}{"?" if query else ""}{query}" -H "Authorization: Bearer $TOKEN"'
    if method != "get":
        command += f" -X {method.upper()} -H 'Idempotency-Key: '$(uuidgen)"
    if any(parameter.get("$ref", "").endswith("/IfMatch") for parameter in parameters):
        command += " -H 'If-Match: \"3-9f86d081884c7d65\"'"
    if MULTIPART in operation.get("requestBody", {}).get("content", {}):
        command += "".join(f" \\\n  -F {name}=@{name}.jpg" for name in (schema or {}).get("properties", {}))
    elif schema:
        body = json.dumps(_sample_body(schema), ensure_ascii=False)
        command += f" \\\n  --json '{body}'"
    return command


def _is_required_query(parameter: Any) -> bool:
    return parameter.get("in") == "query" and bool(parameter.get("required"))


def _with_sample_ids(path: str) -> str:
    return "/".join("7" if part.startswith("{") else part for part in path.split("/"))


def _sample_body(schema: Schema) -> dict[str, Any]:
    properties = schema.get("properties", {})
    required = list(schema.get("required", ())) or list(properties)[:1]
    return {name: _sample_value(properties[name]) for name in properties if name in required}


def _sample_value(node: Any) -> Any:
    if "example" in node:
        return node["example"]
    if "enum" in node:
        return node["enum"][-1]
    kinds = node.get("type", "object")
    kind = kinds[0] if isinstance(kinds, list) else kinds
    return {"integer": 1, "number": 0.5, "boolean": True, "string": "...", "array": []}.get(kind, {})
