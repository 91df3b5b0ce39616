"""Small questions and answers."""

from __future__ import annotations

from typing import Literal

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QInputDialog,
    QLineEdit,
    QMessageBox,
    QPlainTextEdit,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)


def explain(parent: QWidget, sentence: str) -> None:
    """Say what could not be done."""
    box = QMessageBox(QMessageBox.Icon.NoIcon, "FormSketch", sentence, QMessageBox.StandardButton.Ok, parent)
    box.exec()


def ask_to_save(parent: QWidget, title: str) -> Literal["save", "discard", "cancel"]:
    """Whether changes are to be saved before the design goes."""
    box = QMessageBox(
        QMessageBox.Icon.NoIcon, "FormSketch", f"{title} has changes that are not saved.", parent=parent
    )
    box.setInformativeText("Save them first?")
    box.setStandardButtons(
        QMessageBox.StandardButton.Save
        | QMessageBox.StandardButton.Discard
        | QMessageBox.StandardButton.Cancel
    )
    box.setDefaultButton(QMessageBox.StandardButton.Save)
    answer = box.exec()
    if answer == QMessageBox.StandardButton.Save:
        return "save"
    return "discard" if answer == QMessageBox.StandardButton.Discard else "cancel"


def ask_number(parent: QWidget, title: str, question: str, value: float) -> float | None:
    """A number above 0, or None when the maker thinks better of it."""
    number, given = QInputDialog.getDouble(parent, title, question, value, 5.0, 2000.0, 1)
    return number if given else None


def ask_choice(parent: QWidget, title: str, choices: list[str]) -> int | None:
    """Which of these, by number."""
    numbered = [f"{i + 1}. {choice}" for i, choice in enumerate(choices)]
    chosen, given = QInputDialog.getItem(parent, title, "Which one:", numbered, 0, False)
    return numbered.index(chosen) if given else None


def ask_texts(parent: QWidget, title: str, notes: str) -> tuple[str, str] | None:
    """Title and notes of the design."""
    dialog = QDialog(parent)
    dialog.setWindowTitle("Title and notes")
    form = QFormLayout()
    name, text = QLineEdit(title), QPlainTextEdit(notes)
    name.setMaxLength(200)
    text.setTabChangesFocus(True)
    form.addRow("Title", name)
    form.addRow("Notes", text)
    column = QVBoxLayout(dialog)
    column.addLayout(form)
    column.addWidget(accept_buttons(dialog))
    dialog.resize(480, 300)
    return (name.text().strip(), text.toPlainText()) if dialog.exec() else None


def show_text(parent: QWidget, title: str, html: str) -> None:
    """A page to read."""
    dialog = QDialog(parent)
    dialog.setWindowTitle(title)
    page = QTextBrowser()
    page.setOpenExternalLinks(False)
    page.setHtml(html)
    buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
    buttons.rejected.connect(dialog.reject)
    column = QVBoxLayout(dialog)
    column.addWidget(page)
    column.addWidget(buttons)
    dialog.resize(640, 560)
    page.setFocus(Qt.FocusReason.OtherFocusReason)
    dialog.exec()


def accept_buttons(dialog: QDialog, word: str = "Use") -> QDialogButtonBox:
    """'Use' and 'Cancel' for a dialog."""
    buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
    buttons.button(QDialogButtonBox.StandardButton.Ok).setText(word)
    buttons.accepted.connect(dialog.accept)
    buttons.rejected.connect(dialog.reject)
    return buttons
