"""Shared set-up: no screen is needed, and what hypothesis finds stays out of the tree."""

import os
import sys

if sys.platform.startswith("linux"):
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
