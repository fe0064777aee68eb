"""A furnished studio and a client of its pages."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from fixtures.serving import served
from fixtures.studio_for_pages import NOW, PagesStudio, furnish
from keysense.studio.studio import Studio
from keysense.web.app import create_app


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    with Studio.open(tmp_path / "studio", now=lambda: NOW) as opened:
        yield opened


@pytest.fixture
def furnished(studio: Studio) -> PagesStudio:
    return furnish(studio)


@pytest.fixture
def client(studio: Studio) -> Iterator[httpx.Client]:
    with served(create_app(studio)) as address, httpx.Client(base_url=address, follow_redirects=True) as opened:
        yield opened
