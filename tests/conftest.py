"""Shared set-up: no screen is needed, and what hypothesis finds stays out of the tree."""

import gc
import os
import sys

import pytest
from hypothesis import settings

if sys.platform.startswith("linux"):
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

# The same examples each time, so that a rare find of another day fails nobody's change; others when asked.
_EVERY_WAY = bool(os.environ.get("FORMSKETCH_EVERY_WAY"))
settings.register_profile("house", deadline=None, database=None, derandomize=not _EVERY_WAY)
settings.load_profile("house")

# Helpers that assert say as much as tests do.
pytest.register_assert_rewrite("tests.support.asked", "tests.support.commands", "tests.support.desk")


def pytest_collection_finish() -> None:
    """What is loaded by now stays to the end: the collector need not look through it again and again."""
    gc.freeze()
