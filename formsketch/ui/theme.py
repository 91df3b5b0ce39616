"""The two palettes, paper light and paper dark, and how they dress the window.

One accent, kept for what is selected or active; blue against vermilion stays apart for every common kind
of colour vision. Widgets are Qt's Fusion style under these colours, with a short style sheet for the rest.
"""

from __future__ import annotations

from string import Template

from msgspec.structs import asdict
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication

from formsketch.values import Value

Scheme = Qt.ColorScheme
APPEARANCES = {"system": Scheme.Unknown, "light": Scheme.Light, "dark": Scheme.Dark}
FUSION_OUTLINE_PERCENT = 140
# What the application carries with it: the palette in use and the appearance asked for.
_PALETTE, _APPEARANCE = "formsketch_palette", "formsketch_appearance"


class Palette(Value, frozen=True):
    """Colours as `#rrggbb`, named by what they are for.

    `outline` bounds what can be typed in or clicked; `rim` and `mark` lie on the metal.
    """

    paper: str
    panel: str
    line: str
    outline: str
    grid_minor: str
    grid_major: str
    ink: str
    ink_soft: str
    accent: str
    accent_wash: str
    caution: str
    caution_wash: str
    handle_fill: str
    rim: str
    mark: str


LIGHT = Palette(
    paper="#f7f6f2",
    panel="#edece6",
    line="#cfcdc4",
    outline="#87857d",
    grid_minor="#ebe9e3",
    grid_major="#dcdad1",
    ink="#22272b",
    ink_soft="#5a6065",
    accent="#255a80",
    accent_wash="#d3e1eb",
    caution="#97390f",
    caution_wash="#f5e2d7",
    handle_fill="#ffffff",
    rim="#3a3228",
    mark="#1d2225",
)
DARK = Palette(
    paper="#1b2023",
    panel="#23292d",
    line="#3b4348",
    outline="#717b81",
    grid_minor="#23292c",
    grid_major="#2d3439",
    ink="#e8e6e0",
    ink_soft="#a2a8ab",
    accent="#80b8dd",
    accent_wash="#21394a",
    caution="#f09a70",
    caution_wash="#44291d",
    handle_fill="#12161a",
    rim="#0c0d0e",
    mark="#101417",
)


def rgb(colour: str) -> tuple[int, int, int]:
    """Red, green and blue, 0 to 255, of a colour of a palette."""
    red, green, blue = bytes.fromhex(colour[1:])
    return red, green, blue


def palette_for(scheme: Qt.ColorScheme | str) -> Palette:
    """The palette for a colour scheme or an appearance; light where neither says."""
    if isinstance(scheme, str):
        scheme = APPEARANCES[scheme]
    return DARK if scheme is Scheme.Dark else LIGHT


def current_palette() -> Palette:
    """The palette the running application is dressed in; light before it is dressed."""
    app = QApplication.instance()
    palette = None if app is None else app.property(_PALETTE)
    return palette if isinstance(palette, Palette) else LIGHT


def use_appearance(app: QApplication, appearance: str) -> None:
    """Dress the application `light` or `dark`, or as the desktop has it (`system`), now and when it changes.

    KeyError for anything else.
    """
    scheme = APPEARANCES[appearance]
    app.setProperty(_APPEARANCE, appearance)
    # Title bars and native dialogs follow too.
    app.styleHints().setColorScheme(scheme)
    _dress(app)


def follow_desktop(app: QApplication) -> None:
    """Dress the application as the desktop has it, and keep to that unless told otherwise; called once."""
    app.setProperty(_APPEARANCE, "system")
    apply_theme(app, palette_for(app.styleHints().colorScheme()))
    app.styleHints().colorSchemeChanged.connect(lambda _: _dress(app))


def _dress(app: QApplication) -> None:
    appearance = app.property(_APPEARANCE)
    palette = palette_for(app.styleHints().colorScheme() if appearance == "system" else appearance)
    if palette != current_palette():
        apply_theme(app, palette)


def apply_theme(app: QApplication, palette: Palette) -> None:
    """Dress the application in a palette: Fusion style, Qt palette and style sheet.

    Every widget is told (`changeEvent`, PaletteChange) and painted anew.
    """
    app.setProperty(_PALETTE, palette)
    app.setStyle("Fusion")
    app.setPalette(_qt_palette(palette))
    # Fusion outlines these in a darker shade of their window colour, which on a dark panel is not seen; they
    # paint no window of their own.
    outlined = _qt_palette(palette)
    outlined.setColor(QPalette.ColorRole.Window, QColor(palette.outline).lighter(FUSION_OUTLINE_PERCENT))
    for name in "QAbstractSpinBox", "QComboBox", "QCheckBox", "QRadioButton", "QSlider":
        app.setPalette(outlined, name)  # type: ignore[arg-type]  # the stub says bytes, the call takes str
    colours = asdict(palette)
    app.setStyleSheet(Template(STYLE_SHEET).substitute(colours))


def _qt_palette(palette: Palette) -> QPalette:
    role = QPalette.ColorRole
    colours = {
        role.Window: palette.panel,
        role.Button: palette.panel,
        role.Base: palette.paper,
        role.AlternateBase: palette.panel,
        role.WindowText: palette.ink,
        role.ButtonText: palette.ink,
        role.Text: palette.ink,
        role.PlaceholderText: palette.ink_soft,
        role.BrightText: palette.caution,
        role.Highlight: palette.accent,
        role.Accent: palette.accent,
        role.HighlightedText: palette.paper,
        role.Link: palette.accent,
        role.LinkVisited: palette.accent,
        role.ToolTipBase: palette.paper,
        role.ToolTipText: palette.ink,
        role.Light: palette.paper,
        role.Midlight: palette.panel,
        role.Mid: palette.line,
        role.Dark: palette.line,
        role.Shadow: palette.rim,
    }
    qt = QPalette()
    for name, colour in colours.items():
        qt.setColor(name, QColor(colour))
    for name in role.WindowText, role.ButtonText, role.Text, role.HighlightedText:
        qt.setColor(QPalette.ColorGroup.Disabled, name, _between(palette.ink_soft, palette.panel))
    qt.setColor(QPalette.ColorGroup.Disabled, role.Highlight, QColor(palette.line))
    return qt


def _between(first: str, second: str) -> QColor:
    return QColor(*((a + b) // 2 for a, b in zip(rgb(first), rgb(second), strict=True)))


# Spin and combo boxes are left to Fusion, which draws their arrows in the palette's colours at any scale.
STYLE_SHEET = """
QMenuBar { background: $panel; border-bottom: 1px solid $line; padding: 2px 6px; }
QMenuBar::item { background: transparent; padding: 5px 10px; border-radius: 3px; }
QMenuBar::item:selected, QMenuBar::item:pressed { background: $accent_wash; color: $ink; }
QMenu { background: $paper; border: 1px solid $line; padding: 4px; }
QMenu::item { padding: 5px 26px 5px 22px; border-radius: 3px; }
QMenu::item:selected { background: $accent_wash; color: $ink; }
QMenu::item:disabled { color: $ink_soft; }
QMenu::separator { height: 1px; background: $line; margin: 4px 8px; }

QToolTip { background: $paper; color: $ink; border: 1px solid $line; padding: 3px 5px; }
QStatusBar { background: $panel; border-top: 1px solid $line; }
QStatusBar::item { border: none; }
QSplitter::handle { background: $line; }
QSplitter::handle:horizontal { width: 1px; }
QSplitter::handle:vertical { height: 1px; }
QDockWidget::title { background: $panel; padding: 6px 10px; border-bottom: 1px solid $line; }
QGroupBox { border: none; border-top: 1px solid $line; margin-top: 20px; padding-top: 6px; }
QGroupBox::title { subcontrol-origin: margin; left: 0; padding: 2px 0; color: $accent; }

QLineEdit, QPlainTextEdit, QTextEdit {
  background: $paper; border: 1px solid $outline; border-radius: 3px; padding: 3px 5px;
  selection-background-color: $accent; selection-color: $paper;
}
QLineEdit:focus, QPlainTextEdit:focus, QTextEdit:focus { border: 1px solid $accent; }
QLineEdit:read-only { background: $panel; }
QPushButton, QToolButton {
  background: $paper; border: 1px solid $outline; border-radius: 3px; padding: 4px 12px;
}
QPushButton:hover, QToolButton:hover { background: $accent_wash; }
QPushButton:pressed, QToolButton:pressed { background: $accent_wash; border-color: $accent; }
QPushButton:checked, QToolButton:checked { background: $accent_wash; border-color: $accent; }
QPushButton:default { border-color: $ink_soft; }
QPushButton:focus, QToolButton:focus { border: 2px solid $accent; padding: 3px 11px; }
QPushButton:disabled, QToolButton:disabled { background: $panel; color: $ink_soft; border-color: $line; }

QWidget#panel { background: $panel; }
QLabel#heading { color: $accent; font-weight: bold; }
QFrame#rule { color: $line; max-height: 1px; }
QLabel#soft { color: $ink_soft; }
QLabel#value { font-weight: bold; }
QLabel#aside, QLabel#note { color: $ink_soft; font-size: 8.5pt; }
QLabel#caution {
  background: $caution_wash; color: $ink; border-left: 3px solid $caution; border-radius: 2px;
  padding: 5px 8px; font-size: 9pt;
}
QWidget#panel QLineEdit { padding: 1px 5px; }
QLineEdit[refused="true"] { border: 1px solid $caution; }

QAbstractItemView { background: $paper; border: 1px solid $line; outline: none; }
QTableView { gridline-color: $grid_major; }
QAbstractItemView::item:selected { background: $accent_wash; color: $ink; }
QAbstractItemView::item:focus { border: 1px solid $accent; }
QHeaderView { background: $panel; }
QHeaderView::section {
  background: $panel; color: $ink_soft; border: none; border-bottom: 1px solid $line; padding: 4px 6px;
}
QTableCornerButton::section { background: $panel; border: none; border-bottom: 1px solid $line; }
QTabBar::tab { padding: 5px 12px; border: none; border-bottom: 2px solid transparent; color: $ink_soft; }
QTabBar::tab:selected { color: $ink; border-bottom-color: $accent; }
QTabBar::tab:focus { color: $accent; }
QTabWidget::pane { border: none; border-top: 1px solid $line; }

QScrollBar { background: transparent; border: none; margin: 0; }
QScrollBar:vertical { width: 11px; }
QScrollBar:horizontal { height: 11px; }
QScrollBar::handle { background: $line; border-radius: 3px; margin: 2px; }
QScrollBar::handle:vertical { min-height: 28px; }
QScrollBar::handle:horizontal { min-width: 28px; }
QScrollBar::handle:hover { background: $ink_soft; }
QScrollBar::add-line, QScrollBar::sub-line { width: 0; height: 0; }
QScrollBar::add-page, QScrollBar::sub-page { background: transparent; }
"""
