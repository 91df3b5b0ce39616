"""A page for something of the maker's own: fields, a result that follows them, to use here or to keep."""

from __future__ import annotations

from PySide6.QtWidgets import (
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from formsketch.errors import FormSketchError
from formsketch.ui.live_dialog import LiveDialog

_FIELD_WIDTH_PX = 110


class OwnPage(LiveDialog):
    """Name, fields and a live result; subclasses say what is told, used and kept."""

    def __init__(self, parent: QWidget | None, title: str, name_hint: str) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.name = QLineEdit()
        self.name.setPlaceholderText(name_hint)
        self.name.setAccessibleName("Name")
        self.result_label, self._words, self._fault = QLabel(), QLabel(), QLabel()
        self.result_label.setObjectName("value")
        self._words.setObjectName("soft")
        self._fault.setObjectName("caution")
        for label in (self._words, self._fault):
            label.setWordWrap(True)
        self._fault.hide()
        self.keep_button = QPushButton("&Keep by name")
        self.keep_button.setToolTip("For other designs too; a name kept before is replaced.")
        self.keep_button.setAutoDefault(False)
        self.keep_button.clicked.connect(self._keep)
        self.kept = False

    def field(self, label: str, text: str) -> QLineEdit:
        """A field whose every change is told."""
        field = QLineEdit(text)
        field.setAccessibleName(label)
        field.setFixedWidth(_FIELD_WIDTH_PX)
        field.textChanged.connect(self.tell)
        return field

    @staticmethod
    def asked_tab(words: str, *rows: tuple[str, QWidget]) -> QWidget:
        """A tab that explains in words and asks for a few fields."""
        page, hint = QWidget(), QLabel(words)
        hint.setWordWrap(True)
        hint.setObjectName("soft")
        form = QFormLayout(page)
        form.addRow(hint)
        for label, field in rows:
            form.addRow(label, field)
        return page

    def lay_out(self, words: str, *parts: QWidget) -> None:
        """Put words, parts, result, name and buttons below one another."""
        above, asked = QLabel(words), QLabel("&Name")
        above.setWordWrap(True)
        asked.setBuddy(self.name)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Close)
        buttons.button(QDialogButtonBox.StandardButton.Ok).setText("&Use for this design")
        buttons.addButton(self.keep_button, QDialogButtonBox.ButtonRole.ActionRole)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        for part in (above, *parts, self.result_label, self._words, asked, self.name, self._fault, buttons):
            column.addWidget(part)

    def show_result(self, result: str, words: str, fault: str) -> None:
        """The result in bold, what is to be said of it, and what is wrong; '' for none."""
        self.result_label.setText(result)
        self._words.setText(words)
        self._fault.setText(_sentence(fault))
        self._fault.setVisible(bool(fault))

    def fault_text(self) -> str:
        """What is said to be wrong, '' for nothing."""
        return self._fault.text()

    def words_text(self) -> str:
        """What is said of the result."""
        return self._words.text()

    def tell(self) -> None:
        """Show what the fields as typed come to."""
        raise NotImplementedError

    def use(self) -> None:
        """Take what is shown for the design; raises `FormSketchError` to refuse."""
        raise NotImplementedError

    def keep(self) -> str:
        """Keep what is shown by its name; returns what to say, raises `FormSketchError` to refuse."""
        raise NotImplementedError

    def accept(self) -> None:
        """Use it, or say what is wrong and stay."""
        try:
            self.use()
        except FormSketchError as fault:
            self._explain(str(fault))
            return
        super().accept()

    def _keep(self) -> None:
        try:
            said = self.keep()
        except FormSketchError as fault:
            self._explain(str(fault))
            return
        self.kept = True
        self._fault.hide()
        self._words.setText(said)

    def _explain(self, sentence: str) -> None:
        self._fault.setText(_sentence(sentence))
        self._fault.show()


def _sentence(text: str) -> str:
    """The text with a full stop, as a sentence on a page has."""
    return f"{text}." if text and not text.endswith((".", "?", "!")) else text
