"""The window's questions answered by a test: nothing waits for anybody."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from PySide6.QtWidgets import QApplication, QDialog, QFileDialog, QLabel, QWidget

from formsketch.ui import dialogs
from formsketch.ui.window import Window


class Asked:
    """What the window said and asked, and what it is answered. Nothing here waits for anybody."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.explained: list[str] = []
        self.pages: list[tuple[str, str]] = []
        self.to_save: list[str] = []
        self.to_replace: list[str] = []
        self.save_answer, self.replace_answer = "discard", False
        self.number: float | None = None
        self.choice: int | None = None
        self.texts: tuple[str, str] | None = None
        self.file = ("", "")
        self.starts: list[str] = []
        for name in [name for name in vars(dialogs) if name.startswith("ask_")]:
            patch.setattr(dialogs, name, lambda *_: None)  # thought better of
        patch.setattr(dialogs, "explain", lambda parent, sentence: self.explained.append(sentence))
        patch.setattr(dialogs, "show_text", lambda parent, title, html: self.pages.append((title, html)))
        patch.setattr(dialogs, "ask_to_save", self._ask_to_save)
        patch.setattr(dialogs, "ask_to_replace", self._ask_to_replace)
        patch.setattr(dialogs, "ask_number", lambda *_: self.number)
        patch.setattr(dialogs, "ask_choice", lambda *_: self.choice)
        patch.setattr(dialogs, "ask_texts", lambda *_: self.texts)
        for name in ("getOpenFileName", "getSaveFileName"):
            patch.setattr(QFileDialog, name, staticmethod(self._file))
        # A dialog no test drives is put away at once.
        patch.setattr(QDialog, "exec", lambda dialog: QDialog.DialogCode.Rejected.value)
        self._patch = patch

    def _ask_to_save(self, parent: QWidget, title: str) -> str:
        self.to_save.append(title)
        return self.save_answer

    def _ask_to_replace(self, parent: QWidget, name: str) -> bool:
        self.to_replace.append(name)
        return self.replace_answer

    def _file(self, parent: QWidget, title: str, start: str, kinds: str) -> tuple[str, str]:
        self.starts.append(start)
        return self.file

    def drive(self, kind: type[QDialog], act: Callable[[Any], None]) -> None:
        """When a dialog of this kind opens, show it, do this with it, and go on."""

        def opened(dialog: QDialog) -> int:
            dialog.show()
            QApplication.processEvents()
            act(dialog)
            QApplication.processEvents()
            dialog.hide()
            return dialog.result()

        self._patch.setattr(kind, "exec", opened)


def trigger(window: Window, name: str) -> None:
    """As chosen from the menu."""
    action = window.actions_by_name[name]
    assert action.isEnabled(), name
    action.trigger()
    QApplication.processEvents()


def said(window: Window) -> str:
    return " ".join(label.text() for label in window.statusBar().findChildren(QLabel))
