"""What the tests of the pages may use besides: people who may only look."""

from __future__ import annotations

import pytest
from flask import Flask

from tests.clients import PageClient, page_client
from tests.making import a_person


@pytest.fixture
def viewer_page(app: Flask) -> PageClient:
    """A browser in which a viewer has signed in."""
    return page_client(app, a_person("viewer"))
