"""What the tests of the pages may use besides: people who may only look."""

from __future__ import annotations

import pytest
from flask import Flask

from tests.factories import a_person
from tests.http_clients import PageClient, page_client


@pytest.fixture
def viewer_page(app: Flask) -> PageClient:
    """A browser in which a viewer has signed in."""
    return page_client(app, a_person("viewer"))
