"""Turns the OpenAPI document into what its page shows: plain lists of operations, fields and answers."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

METHODS = ("get", "post", "put", "patch", "delete")
FILE = "multipart/form-data"
Schema = Mapping[str, Any]


@dataclass(frozen=True)
class Field:
    """One field of a body or an answer, or one parameter."""

    name: str
    kind: str  # "whole number", "text", "list of Lot"
    about: str
    needed: bool = False
    place: str = ""  # path, query, header
    link: str = ""  # the schema it is, or is a list of


@dataclass(frozen=True)
class Result:
    """One answer that an operation may give."""

    status: int
    about: str
    link: str = ""


@dataclass(frozen=True)
class Operation:
    """One method at one address."""

    method: str
    path: str
    summary: str
    about: str
    role: str
    parameters: tuple[Field, ...]
    body: tuple[Field, ...]
    answers: tuple[Result, ...]
    example: str

    @property
    def anchor(self) -> str:
        """A name for links on the page."""
        return f"{self.method}{self.path}".replace("/", "-").replace("{", "").replace("}", "").lower()


@dataclass(frozen=True)
class Group:
    """The operations of one resource."""

    name: str
    about: str
    operations: tuple[Operation, ...]


def groups(document: Schema) -> list[Group]:
    """Return every operation of the document, by resource."""
    found: dict[str, list[Operation]] = {tag["name"]: [] for tag in document["tags"]}
    for path, item in document["paths"].items():
        shared = item.get("parameters", [])
        for method in METHODS:
            if method in item:
                found[item[method]["tags"][0]].append(_operation(document, path, method, item[method], shared))
    return [Group(tag["name"], tag.get("description", ""), tuple(found[tag["name"]])) for tag in document["tags"]]


def schemas(document: Schema) -> dict[str, tuple[Field, ...]]:
    """Return the fields of every named schema that is answered, by name."""
    return {
        name: _fields(document, schema)
        for name, schema in sorted(document["components"]["schemas"].items())
        if not name.endswith(("In", "Edit"))
    }


def _operation(document: Schema, path: str, method: str, given: Schema, shared: list[Any]) -> Operation:
    schema = _body_schema(document, given)
    return Operation(
        method.upper(), path, given.get("summary", ""), given.get("description", ""), given.get("x-role", ""),
        tuple(_parameter(document, one) for one in (*shared, *given.get("parameters", []))),
        _fields(document, schema) if schema else (),
        tuple(_result(document, int(status), answer) for status, answer in sorted(given["responses"].items())),
        _example(path, method, schema, given),
    )  # fmt: skip


def _body_schema(document: Schema, operation: Schema) -> Schema | None:
    content = operation.get("requestBody", {}).get("content", {})
    return _resolved(document, next(iter(content.values()))["schema"]) if content else None


def _resolved(document: Schema, node: Any) -> Any:
    """Follow a reference, if *node* is one."""
    if "$ref" not in node:
        return node
    found: Any = document
    for step in node["$ref"].removeprefix("#/").split("/"):
        found = found[step]
    return found


def _parameter(document: Schema, node: Any) -> Field:
    one = _resolved(document, node)
    kind, _ = _kind(one["schema"])
    return Field(one["name"], kind, one.get("description", ""), one.get("required", False), one["in"])


def _fields(document: Schema, schema: Any) -> tuple[Field, ...]:
    needed = set(schema.get("required", ()))
    made = []
    for name, node in schema.get("properties", {}).items():
        kind, link = _kind(node)
        made.append(Field(name, kind, node.get("description", ""), name in needed, link=link))
    return tuple(made)


_WORDS = {
    "integer": "whole number", "string": "text", "boolean": "true or false", "object": "pairs", "null": "null",
    "number": "number", "array": "list",
}  # fmt: skip


def _kind(node: Any) -> tuple[str, str]:
    """Say in words what kind of value a schema node takes, and which named schema it is about."""
    options = node.get("anyOf", [node])
    said, link = [], ""
    for one in options:
        if "$ref" in one:
            link = one["$ref"].rsplit("/", 1)[-1]
            said.append(link)
        elif one.get("type") == "array":
            inner, link = _kind(one.get("items", {}))
            said.append(f"list of {inner}")
        else:
            types = one.get("type", "any")
            said += [_WORDS.get(t, t) for t in (types if isinstance(types, list) else [types])]
    return " or ".join(said) + _bounds(node), link


def _bounds(node: Any) -> str:
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


def _result(document: Schema, status: int, node: Any) -> Result:
    answer = _resolved(document, node)
    schema = answer.get("content", {}).get("application/json", {}).get("schema", {})
    name = schema.get("$ref", "").rsplit("/", 1)[-1]
    return Result(status, answer.get("description", HTTPStatus(status).phrase), name)


def _example(path: str, method: str, schema: Schema | None, given: Schema) -> str:
    """Write the operation as a curl command, with the fields that must be there."""
    asked = "&".join(f"{one['name']}=..." for one in given.get("parameters", []) if _must_ask(one))
    command = f'curl "$BENCH{_with_ids(path)}{"?" if asked else ""}{asked}" -H "Authorization: Bearer $TOKEN"'
    if method != "get":
        command += f" -X {method.upper()} -H 'Idempotency-Key: '$(uuidgen)"
    if any(one.get("$ref", "").endswith("/IfMatch") for one in given.get("parameters", [])):
        command += " -H 'If-Match: \"3-9f86d081884c7d65\"'"
    if FILE in given.get("requestBody", {}).get("content", {}):
        command += "".join(f" \\\n  -F {name}=@{name}.jpg" for name in (schema or {}).get("properties", {}))
    elif schema:
        sent = json.dumps(_sample(schema), ensure_ascii=False)
        command += f" \\\n  --json '{sent}'"
    return command


def _must_ask(parameter: Any) -> bool:
    return parameter.get("in") == "query" and bool(parameter.get("required"))


def _with_ids(path: str) -> str:
    return "/".join("7" if part.startswith("{") else part for part in path.split("/"))


def _sample(schema: Schema) -> dict[str, Any]:
    properties = schema.get("properties", {})
    needed = list(schema.get("required", ())) or list(properties)[:1]
    return {name: _value(properties[name]) for name in properties if name in needed}


def _value(node: Any) -> Any:
    if "example" in node:
        return node["example"]
    if "enum" in node:
        return node["enum"][-1]
    kinds = node.get("type", "object")
    kind = kinds[0] if isinstance(kinds, list) else kinds
    return {"integer": 1, "number": 0.5, "boolean": True, "string": "...", "array": []}.get(kind, {})
