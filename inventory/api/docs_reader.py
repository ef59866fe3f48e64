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
    found: dict[str, list[DocOperation]] = {tag["name"]: [] for tag in document["tags"]}
    for path, item in document["paths"].items():
        shared = item.get("parameters", [])
        for method in METHODS:
            if method in item:
                found[item[method]["tags"][0]].append(_read_operation(document, path, method, item[method], shared))
    return [DocGroup(tag["name"], tag.get("description", ""), tuple(found[tag["name"]])) for tag in document["tags"]]


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


def _read_operation(document: Schema, path: str, method: str, given: Schema, shared: list[Any]) -> DocOperation:
    schema = _body_schema(document, given)
    return DocOperation(
        method.upper(), path, given.get("summary", ""), given.get("description", ""), given.get("x-role", ""),
        tuple(_read_parameter(document, one) for one in (*shared, *given.get("parameters", []))),
        _read_fields(document, schema) if schema else (),
        tuple(_read_response(document, int(status), answer) for status, answer in sorted(given["responses"].items())),
        _curl_example(path, method, schema, given),
    )  # fmt: skip


def _body_schema(document: Schema, operation: Schema) -> Schema | None:
    content = operation.get("requestBody", {}).get("content", {})
    return _resolve_ref(document, next(iter(content.values()))["schema"]) if content else None


def _resolve_ref(document: Schema, node: Any) -> Any:
    """Follow a reference, if *node* is one."""
    if "$ref" not in node:
        return node
    found: Any = document
    for step in node["$ref"].removeprefix("#/").split("/"):
        found = found[step]
    return found


def _read_parameter(document: Schema, node: Any) -> DocField:
    one = _resolve_ref(document, node)
    kind, _ = _describe_type(one["schema"])
    return DocField(one["name"], kind, one.get("description", ""), one.get("required", False), one["in"])


def _read_fields(document: Schema, schema: Any) -> tuple[DocField, ...]:
    needed = set(schema.get("required", ()))
    made = []
    for name, node in schema.get("properties", {}).items():
        kind, link = _describe_type(node)
        made.append(DocField(name, kind, node.get("description", ""), name in needed, link=link))
    return tuple(made)


_TYPE_NAMES = {
    "integer": "whole number", "string": "text", "boolean": "true or false", "object": "pairs", "null": "null",
    "number": "number", "array": "list",
}  # fmt: skip


def _describe_type(node: Any) -> tuple[str, str]:
    """Say in words what kind of value a schema node takes, and which named schema it is about."""
    options = node.get("anyOf", [node])
    said, link = [], ""
    for option in options:
        if "$ref" in option:
            link = option["$ref"].rsplit("/", 1)[-1]
            said.append(link)
        elif option.get("type") == "array":
            inner, link = _describe_type(option.get("items", {}))
            said.append(f"list of {inner}")
        else:
            types = option.get("type", "any")
            said += [_TYPE_NAMES.get(t, t) for t in (types if isinstance(types, list) else [types])]
    return " or ".join(said) + _bounds_text(node), link


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


def _curl_example(path: str, method: str, schema: Schema | None, given: Schema) -> str:
    """Write the operation as a curl command, with the fields that must be there."""
    asked = "&".join(f"{one['name']}=..." for one in given.get("parameters", []) if _is_required_query(one))
    command = f'curl "$BENCH{_with_sample_ids(path)}{"?" if asked else ""}{asked}" -H "Authorization: Bearer $TOKEN"'
    if method != "get":
        command += f" -X {method.upper()} -H 'Idempotency-Key: '$(uuidgen)"
    if any(one.get("$ref", "").endswith("/IfMatch") for one in given.get("parameters", [])):
        command += " -H 'If-Match: \"3-9f86d081884c7d65\"'"
    if MULTIPART in given.get("requestBody", {}).get("content", {}):
        command += "".join(f" \\\n  -F {name}=@{name}.jpg" for name in (schema or {}).get("properties", {}))
    elif schema:
        sent = json.dumps(_sample_body(schema), ensure_ascii=False)
        command += f" \\\n  --json '{sent}'"
    return command


def _is_required_query(parameter: Any) -> bool:
    return parameter.get("in") == "query" and bool(parameter.get("required"))


def _with_sample_ids(path: str) -> str:
    return "/".join("7" if part.startswith("{") else part for part in path.split("/"))


def _sample_body(schema: Schema) -> dict[str, Any]:
    properties = schema.get("properties", {})
    needed = list(schema.get("required", ())) or list(properties)[:1]
    return {name: _sample_value(properties[name]) for name in properties if name in needed}


def _sample_value(node: Any) -> Any:
    if "example" in node:
        return node["example"]
    if "enum" in node:
        return node["enum"][-1]
    kinds = node.get("type", "object")
    kind = kinds[0] if isinstance(kinds, list) else kinds
    return {"integer": 1, "number": 0.5, "boolean": True, "string": "...", "array": []}.get(kind, {})
