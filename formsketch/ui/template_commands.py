"""Commands of the menu Template: what leaves the program for the bench, the printer and the cutter."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFileDialog

from formsketch.ui import dialogs
from formsketch.ui.later import Later, candidates_of, print_sheets

if TYPE_CHECKING:
    from formsketch.template.drawing import Sheet
    from formsketch.ui.session import Session
    from formsketch.ui.window import Window

load_order = Later("formsketch.bench.working_order", "load_order")
save_order = Later("formsketch.bench.working_order", "save_order")
comparison_sheet = Later("formsketch.template.comparison_sheet", "comparison_sheet")
write_drawing = Later("formsketch.template.output", "write_drawing")
refuse_stopped = Later("formsketch.template.template", "refuse_stopped")
template_sheets = Later("formsketch.template.template", "template_sheets")
sheet_files = Later("formsketch.template.writing", "sheet_files")
write_card = Later("formsketch.template.writing", "write_card")
write_sheets = Later("formsketch.template.writing", "write_sheets")
write_template = Later("formsketch.template.writing", "write_template")
CardDialog = Later("formsketch.ui.card_dialog", "CardDialog")
PlainLinesDialog = Later("formsketch.ui.plain_lines_dialog", "PlainLinesDialog")
TemplateDialog = Later("formsketch.ui.template_dialog", "TemplateDialog")
WorkingOrderDialog = Later("formsketch.ui.working_order_dialog", "WorkingOrderDialog")

_CHECK = "Print it at 100 % and measure the check bar."


class TemplateCommands:
    """Template, bench card, geometry and data, for one window."""

    def __init__(self, window: Window) -> None:
        self._window = window

    @property
    def _session(self) -> Session:
        return self._window.session

    def lay_out_template(self) -> None:
        refuse_stopped(self._session.evaluation)
        TemplateDialog(
            self._window, self._session.evaluation, self._window.settings, self._save_sheets, print_sheets
        ).exec()

    def export_template(self) -> None:
        sheets = template_sheets(self._session.evaluation)
        file = self._output("Template for the bench", "template", ("pdf", "svg"))
        if file is not None:
            write_drawing(sheets, file)
            self._window.tell(f"{file} written. {_CHECK}")

    def export_card(self) -> None:
        refuse_stopped(self._session.evaluation)
        CardDialog(
            self._window,
            self._session.evaluation,
            self._window.settings,
            self._save_card,
            print_sheets,
            self.change_working_order,
        ).exec()

    def _save_card(self, paper: str) -> Path | None:
        """Write the card where the maker says, as PDF or HTML."""
        file = self._output("Bench card", "card", ("pdf", "html"))
        if file is not None:
            write_card(self._session.evaluation, file, paper)
            self._window.tell(f"{file} written.")
        return file

    def change_working_order(self) -> None:
        dialog = WorkingOrderDialog(self._window, load_order())
        if dialog.exec():
            save_order(dialog.order)
            self._window.tell("Order of work kept for every bench card.")

    def export_geometry(self) -> None:
        refuse_stopped(self._session.evaluation)
        dialog = PlainLinesDialog(self._window, self._window.settings)
        if not dialog.exec():
            return
        file = self._output("Plain lines for a cutter or plotter", "lines", ("svg", "dxf"))
        if file is not None:
            write_template(self._session.evaluation, file, layers=dialog.layers)
            self._window.tell(f"{file} written, in millimetres.")

    def export_bends(self) -> None:
        refuse_stopped(self._session.evaluation)
        file = self._output("Bends as data", "bends", ("csv",))
        if file is not None:
            write_template(self._session.evaluation, file)
            self._window.tell(f"{file} written.")

    def export_comparison(self) -> None:
        sheet = comparison_sheet(candidates_of(self._session.design), 0)
        file = self._output("Comparison sheet", "comparison", ("pdf", "svg", "png"))
        if file is not None:
            write_drawing([sheet], file)
            self._window.tell(f"{file} written.")

    def _save_sheets(self, sheets: list[Sheet]) -> Path | None:
        """Write the sheets where the maker says; several as SVG go into numbered files."""
        file = self._output("Template for the bench", "template", ("pdf", "svg"))
        if file is None:
            return None
        taken = [one.name for one in sheet_files(file, len(sheets)) if one != file and one.exists()]
        if taken and not dialogs.ask_to_replace(self._window, ", ".join(taken)):
            return None
        files = write_sheets(sheets, file)
        self._window.tell(f"{', '.join(map(str, files))} written. {_CHECK}")
        return file

    def _output(self, title: str, kind: str, suffixes: tuple[str, ...]) -> Path | None:
        files = self._window.files
        name = f"{files.file_name}-{kind}.{suffixes[0]}"
        kinds = ";;".join(f"{suffix.upper()} (*.{suffix})" for suffix in suffixes)
        chosen, chosen_kind = QFileDialog.getSaveFileName(
            self._window, title, str(Path(files.folder()) / name), kinds
        )
        chosen_suffix = chosen_kind.split(" ")[0].lower() or suffixes[0]
        return files.with_suffix(chosen, tuple(f".{suffix}" for suffix in suffixes), f".{chosen_suffix}")
