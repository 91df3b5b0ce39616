"""A page of the bench that stays open beside the window and follows the design and the selection."""

from __future__ import annotations

from PySide6.QtCore import QTimer
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QDialogButtonBox, QLabel, QVBoxLayout, QWidget

from formsketch.errors import FormSketchError
from formsketch.ui.live_dialog import LiveDialog
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session

# Changes that come faster than this, as in a pull, are shown once they rest.
_REST_MS = 40


class BenchPage(LiveDialog):
    """Subclasses fill `column` and show the design in `show_design`, which may refuse with an error."""

    def __init__(self, parent: QWidget, session: Session, selection: Selection, title: str) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.session, self.selection = session, selection
        self.column = QVBoxLayout()
        self._fault = QLabel()
        self._fault.setObjectName("caution")
        self._fault.setWordWrap(True)
        self._fault.hide()
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        buttons.button(QDialogButtonBox.StandardButton.Close).setAutoDefault(False)
        outer = QVBoxLayout(self)
        outer.addLayout(self.column, 1)
        outer.addWidget(self._fault)
        outer.addWidget(buttons)
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self.refresh)
        session.changed.connect(self._follow)
        selection.changed.connect(self._follow)

    def _follow(self) -> None:
        if self.isVisible():
            self._rest.start()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.refresh()

    def refresh(self) -> None:
        """Show the numbers of the design as it now is, or why there are none."""
        try:
            self.show_design()
        except FormSketchError as fault:
            self.explain(str(fault))
        else:
            self.explain("")

    def show_design(self) -> None:
        """Show the numbers; raises `FormSketchError` with what is to be told instead."""
        raise NotImplementedError

    def explain(self, sentence: str) -> None:
        """Say what is wrong, '' for nothing."""
        self._fault.setText(sentence)
        self._fault.setVisible(bool(sentence))

    def fault_text(self) -> str:
        """What is said to be wrong, '' for nothing."""
        return self._fault.text()

    def chosen_span(self) -> int | None:
        """The selected span's number, None for none."""
        span = self.selection.span
        return span if span is not None and span < self.session.wire.span_count else None


def words(name: str = "soft") -> QLabel:
    """A label for sentences, that wraps."""
    label = QLabel()
    label.setObjectName(name)
    label.setWordWrap(True)
    return label
