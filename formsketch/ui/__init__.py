"""The window. Nothing below this layer loads Qt, and importing this package alone does not either."""

from importlib import import_module

from formsketch.errors import FormSketchError

DEBIAN_PACKAGES = (
    "python3-venv libgl1 libegl1 libglib2.0-0 libfontconfig1 libdbus-1-3 libxkbcommon-x11-0 libxcb-cursor0 "
    "libxcb-icccm4 libxcb-keysyms1 libxcb-shape0 libxcb-xkb1"
)
INSTALL_HINT = f"on Debian and Ubuntu install what it needs with: sudo apt install {DEBIAN_PACKAGES}"


def import_qt_or_explain() -> None:
    """Load Qt, or raise `FormSketchError` saying why it cannot be loaded and what to install."""
    try:
        import_module("PySide6.QtWidgets")
    except ImportError as error:
        raise FormSketchError(
            f"the window cannot open, Qt does not load ({error}); {INSTALL_HINT}"
        ) from error
