"""Reads a page as a browser does: its text, and its forms with what they would send."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

Attributes = dict[str, str]


@dataclass
class PageForm:
    """A form of a page: where it goes, and the fields that it would send untouched."""

    action: str
    method: str
    fields: list[tuple[str, str]] = field(default_factory=list)

    def named(self) -> str:
        """Return the name that tells it from the other forms of its page."""
        return dict(self.fields).get("form", "")


class _FormParser(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[PageForm] = []
        self.words: list[str] = []
        self.tags: list[str] = []
        self._select: tuple[str, list[tuple[str, bool]]] | None = None
        self._area: tuple[str, list[str]] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        fields = {name: value or "" for name, value in attrs}
        self.tags.append(tag)
        if tag == "form":
            self.forms.append(PageForm(fields.get("action", ""), fields.get("method", "get")))
        elif tag == "input" and "name" in fields and self.forms:
            self._input(fields)
        elif tag == "select":
            self._select = (fields.get("name", ""), [])
        elif tag == "option" and self._select:
            self._select[1].append((fields.get("value", ""), "selected" in fields))
        elif tag == "textarea":
            self._area = (fields.get("name", ""), [])

    def _input(self, attributes: Attributes) -> None:
        if attributes.get("type") in ("checkbox", "radio") and "checked" not in attributes:
            return
        self.forms[-1].fields.append((attributes["name"], attributes.get("value", "")))

    def handle_endtag(self, tag: str) -> None:
        if tag == "select" and self._select and self.forms:
            name, options = self._select
            chosen = next((value for value, yes in options if yes), options[0][0] if options else "")
            self.forms[-1].fields.append((name, chosen))
            self._select = None
        elif tag == "textarea" and self._area and self.forms:
            self.forms[-1].fields.append((self._area[0], "".join(self._area[1])))
            self._area = None

    def handle_data(self, data: str) -> None:
        if self._area:
            self._area[1].append(data)
        if data.strip():
            self.words.append(data.strip())


def _parse_page(page: TestResponse) -> _FormParser:
    reader = _FormParser()
    reader.feed(page.get_data(as_text=True))
    return reader


def page_text(page: TestResponse) -> str:
    """Return the text of a page, its white space made single."""
    return " ".join(" ".join(_parse_page(page).words).split())


def element_names(page: TestResponse) -> list[str]:
    """Return the names of the elements of a page."""
    return _parse_page(page).tags


def page_forms(page: TestResponse) -> list[PageForm]:
    """Return the forms of a page."""
    return _parse_page(page).forms


def find_form(page: TestResponse, ending: str = "", named: str = "") -> PageForm:
    """Return the form whose action ends so, or that is called so; fail when the page has none."""
    matches = [form for form in page_forms(page) if form.action.endswith(ending) and named in ("", form.named())]
    assert matches, f"no form to {ending} {named}: {[(form.action, form.named()) for form in page_forms(page)]}"
    return matches[0]


def submit_form(
    client: FlaskClient, page: TestResponse, ending: str = "", named: str = "", /, **typed: Any
) -> TestResponse:  # fmt: skip
    """Send a form of a page with what was typed into it."""
    return send_form(client, find_form(page, ending, named), **typed)


def send_form(client: FlaskClient, found: PageForm, /, **typed: Any) -> TestResponse:
    """Send a form with what was typed into it; a list ticks several boxes of one name."""
    record: list[tuple[str, str]] = [(name, value) for name, value in found.fields if name not in typed]
    for name, value in typed.items():
        record += [(name, str(item)) for item in (value if isinstance(value, list) else [value])]
    data: dict[str, list[str]] = {}
    for name, value in record:
        data.setdefault(name, []).append(value)
    return client.post(found.action, data=data)


def follow_redirect(client: FlaskClient, answer: TestResponse) -> TestResponse:
    """Go where an answer sends the browser on to."""
    assert answer.status_code in (302, 303), (answer.status_code, page_text(answer))
    return client.get(answer.headers["Location"])
