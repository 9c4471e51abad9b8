"""Tests that need a program outside Python skip with their reason where it is missing; never in CI."""

import os
import shutil

import pytest

PROGRAMS = {
    "libreoffice": ("soffice", "libreoffice"),
    "chromium": ("chromium", "chromium-browser", "google-chrome"),
}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for marker, commands in PROGRAMS.items():
        if os.environ.get("CI") or any(shutil.which(c) for c in commands):
            continue
        skip = pytest.mark.skip(reason=f"{marker} is not installed here")
        for item in items:
            if item.get_closest_marker(marker):
                item.add_marker(skip)
