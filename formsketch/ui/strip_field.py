"""A field opened in place on the straight wire, to type how far a mark lies from the start end."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QLabel, QWidget

from formsketch.bench.lengths import parse_length_mm
from formsketch.fitting.typed_marks import slide_mark_from_previous, slide_mark_to
from formsketch.ui.fields import QuantityField
from formsketch.ui.session import Session
from formsketch.ui.strip_gestures import mark_step_name
from formsketch.ui.strip_layout import SIDE_PX, StripLayout
from formsketch.units import length_text

HOW = "Type the distance from the start end; after a + it is that from the mark before."
THE_FIRST = "The first mark lies where the start end of the wire leaves it; Form, Ends changes that."
_FAULT_WIDE_PX = 340


class DistanceField(QuantityField):
    """Takes a distance on Enter or Tab. `left` says that it is done with, and which mark to go on to: 0 none.

    `from_previous` says whether what was read began with a plus.
    """

    left = Signal(int)

    def __init__(self, use: Callable[[float], None]) -> None:
        super().__init__(self._read_distance, use)
        self.from_previous = False
        self.setAccessibleName("Distance from the start end")
        self.setToolTip(HOW)

    def _read_distance(self, text: str) -> float:
        self.from_previous = text.lstrip().startswith("+")
        return parse_length_mm(text)

    def _finish(self, step: int) -> None:
        self._take()
        if not self.property("refused"):
            self.left.emit(step)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._finish(0)
            event.accept()
            return
        super().keyPressEvent(event)
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit(0)

    def focusNextPrevChild(self, forward: bool) -> bool:
        self._finish(1 if forward else -1)
        return True

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if event.reason() not in (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason):
            self.left.emit(0)


class TypedMarks:
    """Opens the field at a mark of a strip and slides the mark; `tell` takes sentences for the status line.

    The field closes when the design changes, its own change included.
    """

    def __init__(
        self, strip: QWidget, session: Session, layout: Callable[[], StripLayout], tell: Callable[[str], None]
    ) -> None:
        self._strip, self._session, self._layout, self._tell = strip, session, layout, tell
        self._mark = 0
        self._field: DistanceField | None = None
        self._fault = QLabel(strip)
        self._fault.setObjectName("caution")
        self._fault.setWordWrap(True)
        self._fault.hide()

    @property
    def field(self) -> DistanceField | None:
        """The open field, if any."""
        return self._field

    def open(self, mark: int) -> None:
        """Type the distance of this mark. The first one is where it is, which is said."""
        self.close()
        if mark == 0:
            self._tell(THE_FIRST)
            return
        layout = self._layout()
        place = float(layout.marks_mm[mark])
        self._mark, self._field = mark, DistanceField(self._slide)
        field = self._field
        field.setParent(self._strip)
        field.refused.connect(self._explain)
        field.left.connect(self._leave)
        field.show_value(length_text(place))
        _put(field, layout.label_rect(place), layout.width_px)
        field.show()
        field.selectAll()
        field.setFocus(Qt.FocusReason.OtherFocusReason)
        self._tell(HOW)

    def close(self) -> None:
        """Leave the field; nothing is taken."""
        field, self._field = self._field, None
        self._fault.hide()
        if field is not None:
            # Losing the focus must not take what is typed, or take it twice.
            field.setModified(False)
            # A field that is hidden with the focus would ask for the next one, as Tab does.
            if field.hasFocus():
                self._strip.setFocus(Qt.FocusReason.OtherFocusReason)
            field.hide()
            field.deleteLater()

    def _leave(self, step: int) -> None:
        following = self._mark + step
        self.close()
        if step and 0 < following <= self._session.wire.span_count:
            self.open(following)

    def _slide(self, distance_mm: float) -> None:
        field, wire, mark = self._field, self._session.wire, self._mark
        if field is not None and field.from_previous:
            pulled = slide_mark_from_previous(wire, mark, distance_mm)
        else:
            pulled = slide_mark_to(wire, mark, distance_mm - float(self._layout().marks_mm[0]))
        self._session.change_pulled(mark_step_name(mark), pulled)

    def _explain(self, sentence: str) -> None:
        self._tell(sentence)
        self._fault.setText(sentence)
        self._fault.setVisible(bool(sentence))
        if sentence and self._field is not None:
            wide = min(_FAULT_WIDE_PX, self._strip.width() - 2 * round(SIDE_PX))
            self._fault.setFixedWidth(wide)
            self._fault.adjustSize()
            left = min(self._field.x(), self._strip.width() - wide - round(SIDE_PX))
            self._fault.move(max(round(SIDE_PX), left), self._field.geometry().bottom() + 3)
            self._fault.raise_()


def _put(field: QWidget, label: QRectF, width_px: float) -> None:
    """Over a mark's label, within the strip."""
    size = field.sizeHint()
    left = label.center().x() - field.width() / 2
    left = min(max(SIDE_PX / 2, left), width_px - field.width() - SIDE_PX / 2)
    field.setGeometry(
        round(left), round(label.center().y() - size.height() / 2), field.width(), size.height()
    )
