"""Shared set-up: no screen is needed, and what hypothesis finds stays out of the tree."""

import os
import sys

import pytest
from hypothesis import settings

if sys.platform.startswith("linux"):
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

settings.register_profile("house", deadline=None, database=None)
settings.load_profile("house")

# Helpers that assert say as much as tests do.
pytest.register_assert_rewrite("tests.support.asked", "tests.support.desk")
