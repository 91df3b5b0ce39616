"""Shared set-up: no screen is needed, and what hypothesis finds stays out of the tree."""

import os
import sys

from hypothesis import settings

if sys.platform.startswith("linux"):
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

settings.register_profile("house", deadline=None, database=None)
settings.load_profile("house")
