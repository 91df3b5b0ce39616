"""The window: the form above, the straight wire below, the numbers beside; menus made from one table."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QEvent, QSettings, Qt, Signal
from PySide6.QtGui import QAction, QActionGroup, QCloseEvent, QKeyEvent, QKeySequence, QShowEvent
from PySide6.QtWidgets import QApplication, QLabel, QMainWindow, QMenu, QSplitter, QStackedWidget, QWidget

from formsketch.bench.tubes import load_tubes
from formsketch.bench.user_tables import user_tubes_file
from formsketch.design.file_format import load_design
from formsketch.errors import FormSketchError
from formsketch.shipped import demo_design_files
from formsketch.ui import dialogs
from formsketch.ui.bench_commands import BenchCommands
from formsketch.ui.commands import COMMANDS
from formsketch.ui.compare_commands import CompareCommands
from formsketch.ui.design_commands import DesignCommands
from formsketch.ui.file_commands import FileCommands
from formsketch.ui.form_canvas import FormCanvas
from formsketch.ui.help_commands import HelpCommands
from formsketch.ui.later import Later
from formsketch.ui.numbers_panel import NumbersPanel
from formsketch.ui.picture_commands import PictureCommands
from formsketch.ui.screen_match import true_px_per_mm
from formsketch.ui.selection import Selection
from formsketch.ui.session import MOST_STEPS, Session
from formsketch.ui.template_commands import TemplateCommands
from formsketch.ui.theme import use_appearance
from formsketch.ui.view_commands import ViewCommands
from formsketch.ui.wire_strip_view import WireStripView

if TYPE_CHECKING:
    from formsketch.ui.compare_view import CompareView

make_compare_view = Later("formsketch.ui.compare_view", "CompareView")

_MOST_FAULTS_EXPLAINED = 3
_OF_THE_SELECTED = (
    "zoom_to_selected",
    "insert_mark",
    "remove_mark",
    "turn_over",
    "open_row",
    "even_row",
    "repeat_run",
    "join_runs",
    "gather_repeats",
)
_APPEARANCES = (("system", "As the desktop"), ("light", "Light"), ("dark", "Dark"))


class Window(QMainWindow):
    """The one window. It holds a session; commands are methods named in the table of commands."""

    closed = Signal()

    def __init__(self, session: Session, settings: QSettings) -> None:
        super().__init__()
        self.session, self.settings = session, settings
        self._faults_explained = 0
        kept = str(settings.value("appearance", "system", type=str))
        self.use_appearance(kept if kept in dict(_APPEARANCES) else "system")
        self.selection = Selection()
        self._lay_out()
        self.files, self.edits, self.view = FileCommands(self), DesignCommands(self), ViewCommands(self)
        self.pictures, self.comparing = PictureCommands(self), CompareCommands(self)
        bench, templates, helping = BenchCommands(self), TemplateCommands(self), HelpCommands(self)
        self._holders = (
            self.files,
            self.edits,
            self.view,
            self.pictures,
            self.comparing,
            bench,
            templates,
            helping,
        )
        self._make_menus()
        self._told = QLabel()
        self._told.setContentsMargins(14, 0, 0, 0)
        self.statusBar().addWidget(self._told, 1)
        self.statusBar().setSizeGripEnabled(False)
        for part in (self.canvas, self.strip, self.panel):
            part.told.connect(self.tell)
        session.changed.connect(self._design_changed)
        session.steps_changed.connect(self.refresh_commands)
        session.opened.connect(lambda: self.selection.select(None))
        session.steps_joined.connect(self.tell_steps_joined)
        session.file_changed.connect(self.refresh_commands)
        session.opened.connect(self.canvas.fit_when_shown)
        self.selection.changed.connect(self.refresh_commands)
        self._restore()
        self.refresh_commands()

    # --- layout

    def _lay_out(self) -> None:
        # From the window inwards: widgets put in their place when they are full would be dressed twice.
        across = QSplitter(Qt.Orientation.Horizontal)
        across.setHandleWidth(1)
        across.setChildrenCollapsible(False)
        self.setCentralWidget(across)
        self.pages = QStackedWidget()
        across.addWidget(self.pages)
        across.setStretchFactor(0, 1)
        upright = QSplitter(Qt.Orientation.Vertical)
        upright.setHandleWidth(1)
        self.pages.addWidget(upright)
        tubes = load_tubes(user_tubes_file())
        self.canvas = FormCanvas(self.session, self.selection, tubes)
        self.strip = WireStripView(self.session, self.selection)
        self.panel = NumbersPanel(self.session, self.selection, tubes, across)
        upright.addWidget(self.canvas)
        upright.addWidget(self.strip)
        upright.setStretchFactor(0, 1)
        upright.setCollapsible(0, False)
        across.addWidget(self.panel)
        self.setMinimumSize(820, 560)

    def _make_menus(self) -> None:
        self.actions_by_name: dict[str, QAction] = {}
        menus: dict[str, QMenu] = {}
        for command in COMMANDS:
            if command.menu not in menus:
                menus[command.menu] = self.menuBar().addMenu(command.menu)
            menu = menus[command.menu]
            if command.starts_group:
                menu.addSeparator()
            action = QAction(command.text, self)
            action.setShortcuts([QKeySequence(keys) for keys in command.keys])
            action.setStatusTip(command.hint)
            action.setCheckable(command.checkable)
            action.triggered.connect(self._runner(command.name))
            menu.addAction(action)
            self.actions_by_name[command.name] = action
            if command.name == "open_design":
                recent = menu.addMenu("Open &recent")
                recent.aboutToShow.connect(lambda recent=recent: self.files.fill_recent(recent))
                self._add_demo_menu(menu)
        self._add_appearance_menu(menus["&View"])

    def _add_demo_menu(self, menu: QMenu) -> None:
        demos = menu.addMenu("Open a &demo")
        demos.aboutToShow.connect(lambda: self._fill_demo_menu(demos))

    def _fill_demo_menu(self, demos: QMenu) -> None:
        """Their titles stand in their files, which are not read before somebody looks."""
        if demos.isEmpty():
            for file in demo_design_files():
                action = demos.addAction(load_design(file).design.title)
                action.triggered.connect(lambda _=False, file=file: self.files.open_demo(file))

    def _add_appearance_menu(self, menu: QMenu) -> None:
        appearance = menu.addMenu("&Appearance")
        group = QActionGroup(self)
        chosen = self.settings.value("appearance", "system", type=str)
        for key, text in _APPEARANCES:
            action = appearance.addAction(text)
            action.setCheckable(True)
            action.setChecked(key == chosen)
            group.addAction(action)
            action.triggered.connect(lambda _=False, key=key: self.use_appearance(key))

    def _runner(self, name: str):  # type: ignore[no-untyped-def]
        """Runs a command and tells of what it refused; a gesture under way comes first."""
        holders = (self, *self._holders)
        holder = next(part for part in holders if name in type(part).__dict__)

        def run(_checked: bool = False) -> None:
            pulling = self.canvas.is_pulling or self.strip.is_pulling
            if pulling or (self.is_comparing and self.compare_view.is_pulling):
                return
            try:
                getattr(holder, name)()
            except FormSketchError as fault:
                self.refuse(str(fault))
            self.refresh_commands()

        return run

    # --- telling

    def tell(self, sentence: str) -> None:
        """Say something in the status line."""
        self._told.setText(sentence)

    def refuse(self, sentence: str) -> None:
        """Say what could not be done, where it is seen; nothing has changed."""
        self.tell(sentence)
        dialogs.explain(self, sentence)

    def explain_fault(self, sentence: str) -> None:
        """Say that the program met a fault of its own, once what is being pulled is put back."""
        for part in self.findChildren(QWidget):
            if isinstance(part, FormCanvas | WireStripView) and part.is_pulling:
                escape = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Escape, Qt.KeyboardModifier.NoModifier)
                QApplication.sendEvent(part, escape)
        self.tell(sentence)
        if self._faults_explained < _MOST_FAULTS_EXPLAINED and QApplication.activeModalWidget() is None:
            self._faults_explained += 1
            dialogs.explain(self, sentence)

    def tell_steps_joined(self) -> None:
        """Say how far undo reaches, once there are more steps than are kept one by one."""
        self.tell(
            f"Undo keeps the last {MOST_STEPS:,} steps one by one; those before are one step, back to the "
            "opening."
        )

    def refresh_commands(self) -> None:
        """Words and readiness of the commands follow the session and the selection."""
        session, actions = self.session, self.actions_by_name
        actions["undo"].setText(f"&Undo: {session.undo_name}" if session.undo_name else "&Undo")
        actions["undo"].setEnabled(bool(session.undo_name))
        actions["redo"].setText(f"&Redo: {session.redo_name}" if session.redo_name else "&Redo")
        actions["redo"].setEnabled(bool(session.redo_name))
        flare = self.edits.selected_flare
        chosen = self.selection.span is not None
        for name in ("remove_flare", "flare_on_edge", "flare_like_spans", "copy_flare", "uneven_blows"):
            actions[name].setEnabled(flare is not None)
        actions["flare_on_edge"].setChecked(flare is not None and flare.face == "edge")
        for name in _OF_THE_SELECTED:
            actions[name].setEnabled(chosen)
        for name in ("loosen_run", "split_run"):
            actions[name].setEnabled(chosen and self.edits.selected_run_times > 1)
        self.pictures.refresh(actions)
        self.view.refresh(actions)
        self.comparing.refresh(actions)
        self.setWindowTitle(f"{session.title}[*] - FormSketch")
        self.setWindowModified(session.unsaved)

    def _design_changed(self) -> None:
        self.selection.keep_within(self.session.wire.span_count)

    # --- steps

    def undo(self) -> None:
        self.session.undo()

    def redo(self) -> None:
        self.session.redo()

    def list_steps(self) -> None:
        """Go back to any step, or forward again."""
        chosen = dialogs.ask_step(self, self.session.step_names, self.session.step_place)
        if chosen is not None:
            self.session.go_to_step(chosen)

    # --- the form, or forms beside it

    @cached_property
    def compare_view(self) -> CompareView:
        """The page of comparing, made when it is first asked for."""
        view: CompareView = make_compare_view(self.session, self.selection, self.canvas.tubes)
        view.told.connect(self.tell)
        self.comparing.tend(view)
        self.pages.addWidget(view)
        view.show_inches(self.canvas.in_inches)
        view.set_true_scale(*true_px_per_mm(self.screen(), self.settings))
        return view

    @property
    def has_compared(self) -> bool:
        """Whether the page of comparing has been made."""
        return "compare_view" in self.__dict__

    @property
    def is_comparing(self) -> bool:
        """Whether the page of comparing is shown in place of the form."""
        return self.has_compared and self.pages.currentWidget() is self.compare_view

    def show_comparing(self, comparing: bool) -> None:
        """Show the page of comparing, or the form again."""
        self.canvas.take_tool(None)
        self.panel.setVisible(not comparing)
        if comparing:
            self.pages.setCurrentWidget(self.compare_view)
            self.compare_view.take_focus()
        else:
            self.pages.setCurrentIndex(0)
            self.tell("")
            self.canvas.setFocus(Qt.FocusReason.OtherFocusReason)

    def compare_forms(self) -> None:
        """The design beside its variants, or the form again."""
        comparing = not self.is_comparing or self.compare_view.shows_grid
        self.compare_view.show_grid(False)
        self.show_comparing(comparing)
        if comparing:
            self.tell("All at one scale; pull on any. The figures say how each differs from the first.")

    def close_window(self) -> None:
        self.close()

    def use_appearance(self, key: str) -> None:
        """Light, dark, or as the desktop has it."""
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        use_appearance(app, key)
        self.settings.setValue("appearance", key)

    # --- coming and going

    def _restore(self) -> None:
        geometry = self.settings.value("window/geometry", QByteArray(), type=QByteArray)
        if isinstance(geometry, QByteArray) and not geometry.isEmpty():
            self.restoreGeometry(geometry)
        else:
            self.resize(1366, 768)
        self.view.restore()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._use_screen()
        handle = self.windowHandle()
        if handle is not None:
            handle.screenChanged.connect(self._use_screen, Qt.ConnectionType.UniqueConnection)
        self.canvas.setFocus(Qt.FocusReason.OtherFocusReason)

    def _use_screen(self) -> None:
        self.view.use_screen()

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self.files.may_leave_design():
            event.ignore()
            return
        self.settings.setValue("window/geometry", self.saveGeometry())
        file = self.session.file
        self.settings.setValue("last_file", "" if file is None else str(file.resolve()))
        self.panel.settle()
        self.closed.emit()
        event.accept()
