"""A furnished studio and a client of its pages."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from fixtures.serving import served
from fixtures.studio_for_pages import NOW, PagesStudio, furnish
from keysense.studio.studio import Studio
from keysense.web.app import create_app


@pytest.fixture(scope="session")
def furnished_once(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, PagesStudio]:
    """Furnished once; every test has a copy."""
    folder = tmp_path_factory.mktemp("furnished") / "studio"
    with Studio.open(folder, now=lambda: NOW) as studio:
        return folder, furnish(studio)


@pytest.fixture
def studio(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Studio]:
    """Empty, or a copy of the furnished one where the test asks for what stands in it."""
    folder = tmp_path / "studio"
    if "furnished" in request.fixturenames:
        shutil.copytree(request.getfixturevalue("furnished_once")[0], folder)
    with Studio.open(folder, now=lambda: NOW) as opened:
        yield opened


@pytest.fixture
def furnished(furnished_once: tuple[Path, PagesStudio], studio: Studio) -> PagesStudio:
    return furnished_once[1]


@pytest.fixture
def client(studio: Studio) -> Iterator[httpx.Client]:
    with (
        served(create_app(studio)) as address,
        httpx.Client(base_url=address, follow_redirects=True, timeout=60) as opened,
    ):
        yield opened
