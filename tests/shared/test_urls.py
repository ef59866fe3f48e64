"""The one table of addresses, and the addresses that the service has."""

from __future__ import annotations

import re

import pytest
from flask import Flask

from shared.urls import API, PATHS, api_path, page_path


def _read_at(app: Flask, pattern: str) -> set[str]:
    """Return below which paths the service lets a thing be read by its number alone."""
    rules = [rule.rule for rule in app.url_map.iter_rules() if "GET" in (rule.methods or ())]
    return {match[1] for match in (re.fullmatch(pattern, rule) for rule in rules) if match}


def test_the_table_has_every_page_of_a_thing_and_no_other(service: Flask) -> None:
    assert {page for page, _ in PATHS.values() if page} == _read_at(service, r"/((?!api/).+)/<int:key>")


def test_the_table_has_every_resource_of_a_thing_and_no_other(service: Flask) -> None:
    assert {below for _, below in PATHS.values() if below} == _read_at(service, rf"{API}/([a-z-]+)/<key:\w+>")


@pytest.mark.parametrize("what", sorted(PATHS))
def test_a_kind_of_thing_leads_to_its_own_view(service: Flask, what: str) -> None:
    addresses = service.url_map.bind("bench.example")
    page, below = PATHS[what]
    if page:
        assert addresses.match(page_path(what, 7), "GET")[1] == {"key": 7}
    if below:
        (key,) = addresses.match(api_path(what, 7), "GET")[1].values()
        assert key == 7
    assert page or below


def test_a_kind_without_a_page_is_told_so() -> None:
    with pytest.raises(KeyError):
        page_path("loan", 1)
    with pytest.raises(KeyError):
        api_path("backup", 1)
