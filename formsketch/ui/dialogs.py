"""Small questions and answers."""

from __future__ import annotations

from typing import Literal

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QDoubleSpinBox,
    QFormLayout,
    QInputDialog,
    QLabel,
    QLineEdit,
    QListWidget,
    QMessageBox,
    QPlainTextEdit,
    QSpinBox,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)


def explain(parent: QWidget | None, sentence: str) -> None:
    """Say what could not be done."""
    box = QMessageBox(
        QMessageBox.Icon.NoIcon, "FormSketch", sentence, QMessageBox.StandardButton.Ok, parent=parent
    )
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


def ask_to_replace(parent: QWidget, name: str) -> bool:
    """Whether a file that is there already may be replaced."""
    box = QMessageBox(QMessageBox.Icon.NoIcon, "FormSketch", f"{name} is there already.", parent=parent)
    box.setInformativeText("Replace it?")
    replace = box.addButton("Replace", QMessageBox.ButtonRole.AcceptRole)
    box.setDefaultButton(box.addButton(QMessageBox.StandardButton.Cancel))
    box.exec()
    return box.clickedButton() is replace


def ask_changed_elsewhere(parent: QWidget, name: str, beside: str) -> Literal["beside", "replace", "cancel"]:
    """What to do when a file to be saved holds what another program put there meanwhile."""
    box = QMessageBox(
        QMessageBox.Icon.NoIcon,
        "FormSketch",
        f"{name} was changed by another window or program since it was opened here.",
        parent=parent,
    )
    box.setInformativeText(
        f"Keep both writes your design beside it, as {beside}. Replace writes your design over what is there "
        "now."
    )
    both = box.addButton("Keep both", QMessageBox.ButtonRole.AcceptRole)
    over = box.addButton("Replace", QMessageBox.ButtonRole.DestructiveRole)
    box.addButton(QMessageBox.StandardButton.Cancel)
    box.setDefaultButton(both)
    box.exec()
    if box.clickedButton() is both:
        return "beside"
    return "replace" if box.clickedButton() is over else "cancel"


def ask_to_save_first(parent: QWidget) -> bool:
    """Whether to save a design that has no file yet, so that a picture can be kept beside it."""
    box = QMessageBox(
        QMessageBox.Icon.NoIcon, "FormSketch", "A picture is kept beside the design.", parent=parent
    )
    box.setInformativeText("Save the design first, then choose the picture.")
    save = box.addButton("Save...", QMessageBox.ButtonRole.AcceptRole)
    box.setDefaultButton(save)
    box.addButton(QMessageBox.StandardButton.Cancel)
    box.exec()
    return box.clickedButton() is save


def ask_to_copy_picture(parent: QWidget, name: str, folder: str) -> bool:
    """Whether to copy a picture from elsewhere to beside the design."""
    box = QMessageBox(
        QMessageBox.Icon.NoIcon, "FormSketch", f"{name} does not lie beside the design.", parent=parent
    )
    box.setInformativeText(
        f"A copy of it can be put into {folder}, where the design finds it again. The picture itself stays "
        "where it is."
    )
    copy = box.addButton("Copy it there", QMessageBox.ButtonRole.AcceptRole)
    box.setDefaultButton(copy)
    box.addButton(QMessageBox.StandardButton.Cancel)
    box.exec()
    return box.clickedButton() is copy


def ask_number(parent: QWidget, title: str, question: str, value: float) -> float | None:
    """A number above 0, or None when the maker thinks better of it."""
    number, given = QInputDialog.getDouble(parent, title, question, value, 5.0, 2000.0, 1)
    if not given:
        return None
    # Used as it stands it is what it was, not what the field had room for.
    return value if abs(number - value) <= 0.05 + 1e-9 else number


def ask_repeats(parent: QWidget, times: int, ends_scale: float) -> tuple[int, float] | None:
    """How often a motif is repeated, and the size of its first and last repeat relative to the middle one."""
    dialog = QDialog(parent)
    dialog.setWindowTitle("Repeats and grading")
    count, size = QSpinBox(), QDoubleSpinBox()
    count.setRange(1, 1000)
    count.setValue(times)
    size.setRange(10.0, 500.0)
    size.setSuffix(" %")
    size.setValue(100 * ends_scale)
    as_shown = size.value()
    form = QFormLayout(dialog)
    form.addRow("Repeats", count)
    form.addRow("Size at the ends, of the middle", size)
    form.addRow(accept_buttons(dialog))
    if not dialog.exec():
        return None
    # Used as it stands it is what it was, not what the field had room for.
    return count.value(), ends_scale if size.value() == as_shown else size.value() / 100


def ask_choice(parent: QWidget, title: str, choices: list[str]) -> int | None:
    """Which of these, by number."""
    numbered = [f"{i + 1}. {choice}" for i, choice in enumerate(choices)]
    chosen, given = QInputDialog.getItem(parent, title, "Which one:", numbered, 0, False)
    return numbered.index(chosen) if given else None


def ask_step(parent: QWidget, names: list[str], now: int) -> int | None:
    """Which of the steps taken to go to, the latest at the bottom; None to stay."""
    dialog = QDialog(parent)
    dialog.setWindowTitle("Steps")
    steps = QListWidget()
    steps.setAccessibleName("Steps since the design was opened")
    steps.addItems([f"{i}.  {name}" if i else name for i, name in enumerate(names)])
    steps.setCurrentRow(now)
    steps.itemActivated.connect(dialog.accept)
    column = QVBoxLayout(dialog)
    column.addWidget(QLabel("Go to how the design was after:"))
    column.addWidget(steps)
    column.addWidget(accept_buttons(dialog, "Go there"))
    dialog.resize(360, 420)
    return steps.currentRow() if dialog.exec() and steps.currentRow() >= 0 else None


def ask_recovery(parent: QWidget | None, title: str, file: str) -> Literal["open", "discard", "later"]:
    """What to do with a design left unsaved when the program ended badly."""
    whose = f" of {file}" if file else ""
    box = QMessageBox(
        QMessageBox.Icon.NoIcon,
        "FormSketch",
        f"{title} was not saved when FormSketch last ended.",
        parent=parent,
    )
    box.setInformativeText(f"The unsaved design{whose} was kept. The file itself has not been touched.")
    keep = box.addButton("Open it", QMessageBox.ButtonRole.AcceptRole)
    drop = box.addButton("Give it up", QMessageBox.ButtonRole.DestructiveRole)
    box.addButton("Ask later", QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(keep)
    box.exec()
    if box.clickedButton() is keep:
        return "open"
    return "discard" if box.clickedButton() is drop else "later"


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
    dialog.resize(780, 620)
    page.setFocus(Qt.FocusReason.OtherFocusReason)
    dialog.exec()


def accept_buttons(dialog: QDialog, word: str = "Use") -> QDialogButtonBox:
    """'Use' and 'Cancel' for a dialog."""
    buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
    buttons.button(QDialogButtonBox.StandardButton.Ok).setText(word)
    buttons.accepted.connect(dialog.accept)
    buttons.rejected.connect(dialog.reject)
    return buttons
