"""Classes and functions that are imported when they are first called, so that the window opens sooner."""

from __future__ import annotations

from importlib import import_module
from typing import Any


class Later:
    """A class or function of a module that is imported when it is first called."""

    def __init__(self, module: str, name: str) -> None:
        self._module, self._name = module, name

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        return getattr(import_module(self._module), self._name)(*args, **kwargs)


# What several menus ask for.
candidates_of = Later("formsketch.comparison.variants", "candidates_of")
print_sheets = Later("formsketch.ui.template_dialog", "print_sheets")
